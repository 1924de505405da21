"""The nurse's day by scans: what the bench answers and what the book holds afterwards."""

import pytest

from equip import facts
from equip.desk.act.act import acting
from equip.desk.bench import scanning
from equip.desk.lookback import history
from equip.desk.register import items
from equip.scan import show_tag
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.post import agenda
from equip.store.readings import item_rows, load_rows, use_rows
from tests.support.playing import Play


def test_a_hook_goes_round_and_may_be_used_again(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook)

    answer = play.scan("start over", "lay up", pack)

    assert (answer.tone, answer.word) == ("yes", "Yes")
    assert "Sterilised" in answer.reasons[0].says


def test_laying_up_asks_and_a_no_is_kept_with_every_reason(play: Play) -> None:
    hook = play.add("hook")

    answer = play.scan("lay up", hook)

    assert answer.tone == "no"
    asked = told_about(play.clinic.store, hook)[-1].fact
    assert isinstance(asked, facts.Asked)
    assert not asked.allowed
    assert [reason.code for reason in asked.reasons] == ["never-processed"]


def test_a_refused_thing_is_answered_with_another_of_its_type_and_where_it_is(play: Play) -> None:
    new = play.add("hook")
    declared = play.add("hook", "go-live", place=play.places["shelf"])

    answer = play.scan("lay up", new)

    assert f"Take hook {declared[0]} {declared[1:5]}" in answer.next
    assert "Shelf" in answer.next


def test_with_the_patient_in_the_chair_a_no_is_no_use(play: Play) -> None:
    hook = play.add("hook")

    play.scan("123456", "start a use", hook)

    assert use_rows.touches_of(play.clinic.store, hook) == []


def test_after_the_patient_a_scan_is_always_a_use_and_what_was_unfit_is_kept_back(
    play: Play,
) -> None:
    hook = play.add("hook")

    answer = play.scan("123456", hook)

    stands = item_rows.standing_of(play.clinic.store, hook)
    assert answer.word == "Used, not fit"
    assert stands is not None
    assert stands.uses == 1
    assert [kept.how for kept in stands.quarantines] == ["clean-it-now"]
    told = [job.key.split(":")[0] for job in agenda.waiting(play.clinic.store)]
    assert told == ["alert", "traceable"]  # it was unfit, and nothing known stands before it


def test_an_expired_pack_that_was_used_is_not_the_instruments_fault(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook)
    play.clock.passes(days=366)

    answer = play.scan("123456", pack)

    stands = item_rows.standing_of(play.clinic.store, hook)
    assert play.codes(answer) == ["shelf-life-over"]
    assert answer.tone == "warn"
    assert stands is not None
    assert stands.quarantines == ()


def test_opening_a_pack_on_a_patient_soils_all_of_it(play: Play) -> None:
    hook, tip = play.add("hook"), play.add("suction-tip")
    steriliser = play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook, tip)

    play.scan("123456", "start a use", pack, "finish", "start over")

    for item in (hook, tip):
        assert play.codes(play.scan("lay up", item)) == ["soiled"]


def test_an_instrument_told_from_a_sealed_pack_opens_that_pack(play: Play) -> None:
    hook, tip = play.add("hook"), play.add("suction-tip")
    steriliser = play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook, tip)

    answer = play.scan("123456", hook)

    assert (answer.tone, answer.word) == ("note", "Used")
    assert play.codes(play.scan("start over", "lay up", pack)) == [
        "pack-opened",
        "soiled",
        "soiled",
    ]
    assert play.codes(play.scan("lay up", tip)) == ["soiled"]


def test_a_set_is_opened_used_and_cleaned_by_one_scan(play: Play) -> None:
    tray, hook, probe = play.add("set"), play.add("hook"), play.add("ring-probe")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.join(act, tray, hook)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.join(act, tray, probe)

    play.scan("123456", tray, "finish", "start over", "clean", tray)

    for item in (hook, probe):
        stands = item_rows.standing_of(play.clinic.store, item)
        assert stands is not None
        assert [done.steps for done in stands.done] == [("clean",)]


def test_the_use_to_clean_clock_runs_from_the_end_of_the_use(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("123456", "start a use", hook, "finish")
    play.clock.passes(minutes=31)

    answer = play.scan("clean", hook)

    assert answer.tone == "warn"
    assert "more than the 30 min allowed (31 min" in answer.reasons[0].says


def test_a_single_use_thing_is_stopped_at_the_wash(play: Play) -> None:
    tip = play.add("single-use-tip")
    play.scan("123456", tip, "finish")

    answer = play.scan("clean", tip)

    assert answer.word == "Stop"
    assert answer.next == "Throw it away."


def test_opened_but_not_used_counts_no_use_and_still_goes_round(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("123456", "start a use", hook)

    answer = play.scan("opened, not used")

    stands = item_rows.standing_of(play.clinic.store, hook)
    assert answer.word == "Opened"
    assert stands is not None
    assert stands.uses == 0
    assert play.codes(play.scan("start over", "lay up", hook)) == ["soiled"]
    assert [t.what for t in use_rows.touches_of(play.clinic.store, hook)] == ["opened"]


def test_what_was_scanned_is_used_and_what_was_in_it_is_opened(play: Play) -> None:
    hook, tip, of = play.add("hook"), play.add("suction-tip"), play.add("set")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.join(act, of, tip)

    play.scan("123456", hook, of)

    store = play.clinic.store
    assert [touch.what for touch in use_rows.touches_of(store, hook)] == ["used"]
    assert [touch.what for touch in use_rows.touches_of(store, tip)] == ["opened"]


def test_undo_takes_back_a_whole_act_and_it_stays_visible(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("123456", hook)

    answer = play.scan("undo", "undo")

    page = history.page(play.clinic, hook)
    assert answer.word == "Taken back"
    assert [line.withdrawn for line in page.lines if line.kind == "used"] == [True]
    assert use_rows.touches_of(play.clinic.store, hook) == []


def test_what_was_used_stays_used_when_its_use_is_taken_back(play: Play) -> None:
    hook = play.add("hook", "go-live")
    assert play.scan("lay up", hook).tone == "yes"
    play.scan("start over", "123456", hook)

    answer = play.scan("undo", "undo")
    asked = play.scan("start over", "lay up", hook)

    assert "stays used: send it round again" in " ".join(one.says for one in answer.reasons)
    assert play.codes(asked) == ["soiled"]
    assert "It was opened or used, and that was taken back" in asked.reasons[0].says
    assert differences(play.clinic.store, play.clinic.settings.data) == []


@pytest.mark.parametrize("scanned", ["the pack", "what is inside"])
def test_an_opened_pack_stays_opened_when_its_use_is_taken_back(play: Play, scanned: str) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook)
    play.scan("start over", "123456", pack if scanned == "the pack" else hook)

    answer = play.scan("undo", "undo")

    assert "stays opened: pack its contents anew" in " ".join(one.says for one in answer.reasons)
    assert "pack-spoilt" in play.codes(play.scan("start over", "lay up", pack))
    assert play.codes(play.scan("start over", "lay up", hook)) == ["soiled"]
    assert use_rows.touches_of(play.clinic.store, hook) == []


def test_a_single_use_tip_goes_to_the_bin_when_its_use_is_taken_back(play: Play) -> None:
    tip = play.add("single-use-tip")
    play.scan("123456", tip)

    answer = play.scan("undo", "undo")

    assert "stays used: throw it away" in " ".join(one.says for one in answer.reasons)
    assert play.codes(play.scan("start over", "lay up", tip)) == ["single-use-again"]


def test_what_was_used_again_since_is_left_as_it_is_when_a_use_is_taken_back(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("123456", hook, at="bench 2")
    play.scan("start over", "234567", hook)

    answer = play.scan("undo", "undo", at="bench 2")

    assert "has gone on since" in " ".join(one.says for one in answer.reasons)
    stands = item_rows.standing_of(play.clinic.store, hook)
    assert stands is not None
    assert stands.soiling is not None
    assert stands.soiling.how == "used"


def test_scans_of_the_wrong_patient_are_moved_in_one_act(play: Play) -> None:
    hook = play.add("hook", "go-live")
    tip = play.add("suction-tip", "go-live")
    play.scan("123456", hook, tip)

    play.scan("move to another patient", "654321")

    right = play.clinic.vault.find("654321")
    touched = [t for item in (hook, tip) for t in use_rows.touches_of(play.clinic.store, item)]
    assert [touch.patient for touch in touched] == [right, right]
    wrong = str(play.clinic.vault.find("123456"))
    assert use_rows.touches_on(play.clinic.store, wrong) == []
    kinds = [type(entry.fact) for entry in told_about(play.clinic.store, wrong)]
    assert kinds.count(facts.MovedToPatient) == 1


def test_a_bent_instrument_is_kept_back(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("123456", hook)

    answer = play.scan("bent")

    assert answer.tone == "warn"
    assert "quarantined" in play.codes(play.scan("start over", "lay up", hook))


def test_a_tube_that_touched_a_scope_marks_both(play: Play) -> None:
    scope = play.add("scope-wiped", "go-live")
    tip = play.add("suction-tip", "go-live")
    play.scan("123456", scope, tip)

    play.scan("tube touched scope")

    marked = [item_rows.standing_of(play.clinic.store, item) for item in (scope, tip)]
    assert [one.inspect for one in marked if one] == ["tube-touched-scope"] * 2


def test_somebody_hurt_gets_the_patients_it_may_carry_and_nobody_cleans_it(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook)
    play.scan("111111", pack, "finish", "start over")
    play.scan("222222", hook, "finish", "start over", hook)

    answer = play.scan("I was hurt")

    carried = {str(play.clinic.vault.find(r)) for r in ("111111", "222222")}
    says = " ".join(reason.says for reason in answer.reasons)
    assert all(token in says for token in carried)
    assert play.scan("clean", hook).word == "Stop"


def test_what_was_idle_is_in_hand_no_longer(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("123456")
    play.clock.passes(minutes=21)

    play.scan(hook)

    assert use_rows.touches_of(play.clinic.store, hook) == []


def test_the_same_id_again_answers_the_same_and_writes_nothing(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("123456")
    first = play.reply(hook, act="0001-a-scan-of-the-bench")

    again = play.reply(hook, act="0001-a-scan-of-the-bench")

    assert again.replayed
    assert (again.answer, again.seq) == (first.answer, first.seq)
    assert len(use_rows.touches_of(play.clinic.store, hook)) == 1


def test_the_same_id_with_another_text_is_refused(play: Play) -> None:
    play.reply("123456", act="0001-a-scan-of-the-bench")

    with pytest.raises(scanning.OtherText):
        play.reply("654321", act="0001-a-scan-of-the-bench")


def test_a_scanner_that_fires_twice_scans_once(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("123456")

    play.reply(hook, seconds=2)
    play.reply(hook, seconds=0.4)

    told = [e.fact for e in told_about(play.clinic.store, hook)]
    assert len([fact for fact in told if isinstance(fact, facts.Used)]) == 1


@pytest.mark.parametrize(
    "text",
    ["", "   ", "\x1d", "hello there", "E000000018", "E99999999", "x" * 300, "E000000019\x00"],
)
def test_what_makes_no_sense_gets_one_sentence_and_changes_nothing(play: Play, text: str) -> None:
    play.scan("123456")
    before = play.clinic.store.rows("SELECT COUNT(*) FROM ledger")

    reply = play.reply(text)

    is_a_tag_of_nothing = text.startswith("E000000019")
    assert reply.answer.tone == ("no" if is_a_tag_of_nothing else "unread")
    assert reply.answer.what.endswith((".", "!"))
    assert play.clinic.store.rows("SELECT COUNT(*) FROM ledger") == before
    assert reply.context.patient


def test_a_patient_where_a_thing_is_expected_is_refused(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    play.scan(steriliser)

    answer = play.scan("123456")

    assert answer.tone == "no"
    assert "load is being filled" in answer.what


def test_an_item_that_is_not_on_the_register_is_said_so(play: Play) -> None:
    answer = play.scan("E999999999")

    assert answer.tone == "no"
    assert "not on the register" in answer.what


def test_a_french_keyboard_is_undone_and_mentioned(play: Play) -> None:
    hook = play.add("hook", "go-live")
    digits = dict(zip("0123456789", "à&é\"'(-è_ç", strict=True))
    typed = "".join(digits.get(mark, mark) for mark in hook)

    answer = play.scan("lay up", typed)

    assert answer.item == hook
    assert answer.reasons[-1].code == "scanner-layout"


def test_no_patient_reference_stands_anywhere_but_in_the_vault(play: Play) -> None:
    hook = play.add("hook", "go-live")

    play.scan("REF-7731905", hook, "left ear", "finish", "move to another patient", "REF-4410062")

    for table in ("ledger", "act", "standing", "touch", "use", "about", "agenda"):
        text = repr(
            [
                [bytes(c) if isinstance(c, memoryview) else c for c in row]
                for row in play.clinic.store.rows(f'SELECT * FROM "{table}"')
            ]
        )
        assert "7731905" not in text, table
        assert "4410062" not in text, table


def test_used_anyway_needs_the_right_a_reason_and_nothing_fixed(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook)
    play.clock.passes(days=400)
    play.scan("123456", "start a use", pack)

    refused = play.scan("used anyway")
    allowed = play.scan(pack, "used anyway", "no other hook in the house", who="manager")

    assert refused.tone == "no"
    assert allowed.word == "Allowed"
    told = [e.fact for e in told_about(play.clinic.store, pack)]
    assert [f.reason for f in told if isinstance(f, facts.Overridden)] == [
        "no other hook in the house"
    ]
    assert use_rows.touches_of(play.clinic.store, hook)[-1].use


def test_whom_it_is_known_to_carry_is_said_before_a_refusal_is_set_aside(play: Play) -> None:
    hook, steriliser = play.add("hook", "go-live"), play.add("steriliser-vacuum")
    play.scan("123456", hook, "finish")
    pack = play.sterile_pack(steriliser, hook)
    play.clock.passes(days=400)
    play.scan("start over", "234567", "start a use", pack)

    proven = play.scan("used anyway", who="manager")
    load = load_rows.last_load(play.clinic.store, steriliser)

    assert load is not None
    assert [one.says for one in proven.reasons][1:] == [
        f"Last effective decontamination: load {show_tag(load.load)}, Wed 4 Mar 2026 12:25.",
        "Nobody is recorded on it since then.",
    ]


def test_nobody_sets_aside_what_nobody_may(play: Play) -> None:
    hook = play.add("hook")
    play.scan("123456", "start a use", hook)

    answer = play.scan("used anyway", who="manager")

    assert answer.what.startswith("Nobody can set this aside")


def test_the_agent_is_rinsed_off_a_wiped_scope_before_it_may_be_used(play: Play) -> None:
    scope = play.add("scope-wiped")
    play.scan("clean", scope)
    play.wiped(scope)

    before = play.scan("start over", "lay up", scope)
    after = play.scan("rinse", scope, "lay up", scope)

    assert [reason.says for reason in before.reasons] == [
        "Nobody recorded the step “rinse” since it was last used."
    ]
    assert after.tone == "yes"


def test_what_was_sterilised_unwrapped_may_be_packed_after_it(play: Play) -> None:
    """A steriliser without a vacuum: things go in bare and are packed when they come out."""
    plain, hook = play.add("steriliser-plain"), play.add("hook")
    play.cleaned(hook)
    play.released(plain, hook)
    pack = play.packed(hook)
    play.clock.passes(days=300)

    answer = play.scan("start over", "lay up", pack)

    assert answer.tone == "yes"
    assert "Sterilised" in answer.reasons[0].says
    play.clock.passes(days=66)
    assert play.codes(play.scan("lay up", pack)) == ["shelf-life-over"]


def test_a_pack_that_ran_out_is_unpacked_and_its_things_go_round_again(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    old = play.sterile_pack(steriliser, hook)
    play.clock.passes(days=400)
    play.scan("start over", old, "unpack")

    pack = play.packed(hook)
    play.released(steriliser, pack)

    assert play.scan("start over", "lay up", pack).tone == "yes"
    assert "pack-spoilt" in play.codes(play.scan("lay up", old))


def test_what_fell_during_a_use_is_asked_anew(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("123456", "start a use", hook, "dropped")

    answer = play.scan(hook)

    assert play.codes(answer) == ["soiled"]


def test_a_use_may_be_taken_back_after_the_next_patient_was_scanned(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("123456", hook, "654321")

    play.scan("undo", "other patients too", "undo")

    assert use_rows.touches_of(play.clinic.store, hook) == []


def test_a_pack_that_was_used_counts_a_use_of_each_thing_in_it(play: Play) -> None:
    hook, probe = play.add("hook"), play.add("ring-probe")
    steriliser = play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook, probe)
    play.scan("start over", "123456", "start a use", pack, hook, "finish")

    used = [item_rows.standing_of(play.clinic.store, item) for item in (hook, probe)]

    assert [stands.uses for stands in used if stands] == [1, 1]


def test_a_running_load_is_ended_though_the_bench_forgot_it(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.scan(steriliser, hook, "start the load")
    play.clock.passes(minutes=40)

    answer = play.scan("end the load", "77")

    assert answer.word == "Ended"
