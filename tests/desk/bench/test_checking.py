"""Checks ahead of a session: by scan and by page, what they stop, and when they end."""

from datetime import datetime, timedelta
from decimal import Decimal

import msgspec
import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.act.answer import Answer
from equip.desk.bench import session_acts
from equip.desk.lookback import history
from equip.desk.register import items, stock
from equip.facts import AskedCheck, Checked, ChecksOver, Quarantined
from equip.store.fold import rebuild
from equip.store.ledger.about import told_about
from equip.store.readings import item_rows
from tests.desk.people.test_competence import assess, lapse
from tests.desk.people.test_competence import told as every
from tests.support.playing import Play


@pytest.fixture
def morning(play: Play) -> Play:
    """Nobody checks anything by themselves here."""
    play.keeps_checks = False
    return play


def told(play: Play, item: str, kind: type[facts.Fact]) -> list[facts.Fact]:
    entries = told_about(play.clinic.store, item)
    return [entry.fact for entry in entries if isinstance(entry.fact, kind)]


def recorded(
    play: Play, item: str, check: str, *, at: datetime | None = None, **more: object
) -> Checked:
    with acting(play.clinic, by=play.people["nurse"], at=at) as act:
        return session_acts.record(act, item, check, **more)  # type: ignore[arg-type]


def limited(play: Play, code: str, *checks: AskedCheck) -> None:
    kind = msgspec.structs.replace(play.clinic.house.types[code], checks=checks)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.define_type(act, kind)


def same_when_folded_again(play: Play) -> bool:
    return rebuild.differences(play.clinic.store, play.clinic.settings.data) == []


# --- by scan ------------------------------------------------------------------------------------


def test_without_a_check_it_is_no_with_the_way_on_and_with_one_it_is_yes(morning: Play) -> None:
    pump = morning.add("suction-pump")

    refused = morning.scan("lay up", pump)

    assert (refused.tone, morning.codes(refused)) == ("no", ["check-missing"])
    assert refused.reasons[0].says == "Its suction vacuum has not been checked for this session."
    assert refused.next.startswith("Say “check”, check it, then scan it again.")

    question = morning.scan("check", pump)
    assert question.word == "Suction vacuum"
    assert "with the end of the tube closed" in question.what
    assert question.options == ("not good", "leave it out")
    checked = morning.scan("-450 mmHg")
    assert (checked.tone, checked.word) == ("note", "Checked")
    assert checked.reasons[0].says == "In force until 17:00."

    assert morning.scan("start over", "lay up", pump).tone == "yes"
    (fact,) = told(morning, pump, Checked)
    assert isinstance(fact, Checked)
    assert (fact.value, fact.unit, fact.passed) == (Decimal("450"), "mmHg", True)
    assert [rule.id for rule in fact.rules] == ["check.vacuum.hours", "check.vacuum.failed"]
    assert same_when_folded_again(morning)


def test_what_is_looked_at_is_one_question_and_the_rest_comes_one_by_one(morning: Play) -> None:
    irrigator = morning.add("irrigator")

    first = morning.scan("check", irrigator)
    second = morning.scan("good")
    third = morning.scan("37,2")
    last = morning.scan("1")

    assert first.options == ("good", "waterline not good", "leave it out")
    assert second.word == "Water temperature"
    assert second.reasons[0].says == "Allowed: 36 to 38 °C."
    assert "makes people dizzy" in second.reasons[1].says
    assert third.word == "Pressure setting"
    assert (last.word, len(told(morning, irrigator, Checked))) == ("Checked", 3)


def test_cold_water_makes_it_unfit_until_it_is_warm_and_keeps_nothing_back(morning: Play) -> None:
    irrigator = morning.add("irrigator")
    morning.watered(irrigator)

    morning.scan("check", irrigator, "good", "33.5")
    answer = morning.scan("1")

    assert (answer.tone, answer.word) == ("no", "Not good")
    assert answer.reasons[0].says == (
        "Its water temperature failed its check 12:00. "
        "The water temperature is 33.5 °C; the rule book's limits: 36 to 38 °C."
    )
    refused = morning.scan("start over", "123456", "start a use", irrigator)
    assert morning.codes(refused) == ["check-failed"]
    assert told(morning, irrigator, Quarantined) == []
    with_right = morning.scan("used anyway", who="manager")
    assert "Nobody can set this aside" in with_right.what

    morning.scan("start over", "check", irrigator, "37")
    assert morning.scan("start over", "123456", "start a use", irrigator).tone == "yes"


def test_with_a_patient_in_hand_it_is_checked_and_the_patient_stays(morning: Play) -> None:
    pump = morning.add("suction-pump")

    morning.scan("123456", "start a use", pump)
    question = morning.scan("check")
    checked = morning.scan("60")
    used = morning.scan(pump)

    assert question.word == "Suction vacuum"
    assert checked.next == "Scan it again to use it."
    assert used.tone == "yes"
    assert len(told(morning, pump, facts.Used)) == 1


def test_told_after_the_patient_it_is_a_use_with_its_reason_and_nothing_is_kept_back(
    morning: Play,
) -> None:
    pump = morning.add("suction-pump")

    answer = morning.scan("123456", pump)

    assert (answer.tone, answer.word) == ("warn", "Used")
    assert "check it before it is used on anybody else" in answer.next
    (use,) = told(morning, pump, facts.Used)
    assert isinstance(use, facts.Used)
    assert [why.code for why in use.reasons] == ["check-missing"]
    assert told(morning, pump, Quarantined) == []


def test_a_named_authority_may_let_it_be_used_unchecked_with_a_reason(morning: Play) -> None:
    pump = morning.add("suction-pump")

    morning.scan("123456", "start a use", pump, who="manager")
    answer = morning.scan("used anyway", "the gauge is at its calibration", who="manager")

    assert answer.word == "Allowed"
    assert len(told(morning, pump, facts.Overridden)) == 1


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ("warm enough", "“warm enough” is no reading of the water temperature"),
        ("371", "371 °C was read: water is between 0 and 100 °C"),
        ("good", "Type what the water temperature reads."),
    ],
)
def test_an_answer_that_cannot_be_one_is_asked_for_again(
    morning: Play, said: str, says: str
) -> None:
    irrigator = morning.add("irrigator")
    morning.scan("check", irrigator, "good")

    refused = morning.scan(said)

    assert (refused.tone, says in refused.what) == ("unread", True)
    assert morning.scan("37").word == "Pressure setting"


def test_one_of_several_that_is_not_good_is_named(morning: Play) -> None:
    scope = morning.add("scope-wiped")

    morning.scan("check", scope)
    unclear = morning.scan("not good")
    answer = morning.scan("light not good")

    assert "say “good”, or which is not" in unclear.what
    assert morning.codes(answer) == ["check-failed", "check-missing"]
    assert [(f.check, f.passed) for f in told(morning, scope, Checked)] == [("light", False)]  # type: ignore[attr-defined]
    assert told(morning, scope, Quarantined) == []


def test_an_edge_that_is_not_whole_keeps_the_scope_back_once_and_says_so(morning: Play) -> None:
    scope = morning.add("scope-wiped")

    morning.scan("check", scope)
    answer = morning.scan("edge not good")
    morning.scan("check", scope, "edge not good")

    assert morning.codes(answer) == ["check-failed", "check-missing"]
    assert answer.next == "It is in quarantine now: leave it there, and tell the practice manager."
    (kept,) = told(morning, scope, Quarantined)
    assert isinstance(kept, Quarantined)
    assert kept.why.says == "its edge was not good ahead of a session"
    mails = morning.clinic.store.rows("SELECT payload FROM agenda WHERE what = 'alert'")
    assert len([row for row in mails if "edge was not good" in str(row[0])]) == 1


def test_what_is_left_out_stays_to_be_done(morning: Play) -> None:
    irrigator = morning.add("irrigator")

    answer = morning.scan("check", irrigator, "good", "leave it out", "1")

    assert (answer.tone, answer.word) == ("no", "Not all")
    assert morning.scan(irrigator).word == "Water temperature"


def test_what_is_in_force_is_checked_anew_where_somebody_wants_to(morning: Play) -> None:
    pump = morning.add("suction-pump")
    morning.scan("check", pump, "60")

    again = morning.scan(pump)
    morning.scan("not good")

    assert again.word == "Suction vacuum"
    assert [one.passed for one in told(morning, pump, Checked)] == [True, False]  # type: ignore[attr-defined]


def test_another_thing_or_another_card_leaves_the_question(morning: Play) -> None:
    pump, other, hook = (
        morning.add("suction-pump"),
        morning.add("suction-pump"),
        morning.add("hook"),
    )
    morning.scan("check", pump)

    assert other[1:5] in morning.scan(other).what.replace(" ", "")
    assert "nothing of it is checked ahead of a session" in morning.scan(hook).what
    morning.scan(pump)
    assert morning.scan("clean").word == "Clean"
    assert morning.scan("60").tone == "unread"
    assert told(morning, pump, Checked) == []


def test_cards_out_of_place_say_so(morning: Play) -> None:
    assert "Nothing is being checked" in morning.scan("good").what
    assert "Nothing was scanned before" in morning.scan("123456", "check").what
    assert "No check is in force" in morning.scan("start over", "session over").what


# --- how long -----------------------------------------------------------------------------------


def test_a_check_runs_out_with_no_new_entry_and_the_day_ends_it(morning: Play) -> None:
    pump = morning.add("suction-pump")
    morning.scan("check", pump, "60")

    def fit() -> bool:
        found = stock.thing(morning.clinic, pump, morning.clock.now)
        assert found is not None
        assert found.round == "ready"
        return found.fit

    assert fit()
    morning.clock.passes(hours=4, minutes=59)
    assert fit()
    morning.clock.passes(minutes=2)
    assert not fit()
    assert morning.codes(morning.scan("start over", "lay up", pump)) == ["check-missing"]


def test_the_session_over_ends_the_checks_of_its_place_and_can_be_taken_back(
    morning: Play,
) -> None:
    here = morning.add("suction-pump", place=morning.places["room"])
    there = morning.add("suction-pump", place=morning.places["shelf"])
    morning.checked(here, there)

    answer = morning.scan(morning.places["room"], "session over")

    assert answer.what == "The session in Room 1 has ended."
    assert morning.codes(morning.scan("start over", here)) == ["check-missing"]
    assert morning.scan(there).tone == "yes"
    (over,) = told(morning, here, ChecksOver)
    assert isinstance(over, ChecksOver)
    assert over.covers == (here,)
    assert same_when_folded_again(morning)


def test_a_check_taken_back_is_no_check(morning: Play) -> None:
    pump = morning.add("suction-pump")
    morning.scan("check", pump, "60")

    assert morning.scan("undo", "undo").word == "Taken back"

    assert morning.codes(morning.scan("start over", "lay up", pump)) == ["check-missing"]
    assert same_when_folded_again(morning)


def test_a_session_s_end_taken_back_lets_the_checks_hold_again(morning: Play) -> None:
    pump = morning.add("suction-pump")
    morning.checked(pump)
    morning.scan("session over", "undo", "undo")

    assert morning.scan("lay up", pump).tone == "yes"


def test_a_check_told_late_counts_from_when_it_happened(morning: Play) -> None:
    pump = morning.add("suction-pump")
    morning.clock.passes(hours=4)
    earlier = morning.clock.now - timedelta(hours=2)

    recorded(morning, pump, "vacuum", read="60", good=True, at=earlier)

    with acting(morning.clinic, by=morning.people["nurse"], at=earlier) as act:
        assert act.why_not_use(act.standing(pump)) == []
    with acting(morning.clinic, by="", at=earlier - timedelta(seconds=1)) as act:
        assert [why.code for why in act.why_not_use(act.standing(pump))] == ["check-missing"]
    morning.clock.passes(hours=3)
    assert morning.codes(morning.scan("lay up", pump)) == ["check-missing"]


def test_what_fell_is_looked_at_anew(morning: Play) -> None:
    scope = morning.add("scope-wiped", "go-live")
    morning.checked(scope)
    assert morning.scan("lay up", scope).tone == "yes"

    morning.scan("image fault")

    (over,) = told(morning, scope, ChecksOver)
    assert isinstance(over, ChecksOver)
    assert over.why == "mark"
    assert "check-missing" in morning.codes(morning.scan("start over", "lay up", scope))


def test_a_thing_of_a_set_that_was_not_checked_is_said_of_the_set(morning: Play) -> None:
    scope = morning.add("scope-wiped", "go-live")
    with acting(morning.clinic, by=morning.people["manager"]) as act:
        tray = items.add_item(act, act.house.types["set"], "go-live")
    with acting(morning.clinic, by=morning.people["manager"]) as act:
        items.join(act, tray, scope)

    refused = morning.scan("lay up", tray)

    (why,) = [one for one in refused.reasons if one.code == "check-missing"]
    assert why.says.startswith("Rigid scope, wiped ")
    assert why.says.endswith("its picture, edge and light have not been checked for this session.")


def test_stock_says_of_a_set_what_its_own_page_says(morning: Play) -> None:
    scope = morning.add("scope-wiped", "go-live")
    with acting(morning.clinic, by=morning.people["manager"]) as act:
        tray = items.add_item(act, act.house.types["set"], "go-live")
    with acting(morning.clinic, by=morning.people["manager"]) as act:
        items.join(act, tray, scope)

    def listed(tag: str) -> stock.Thing:
        shelves = stock.stock(morning.clinic, morning.clock.now).shelves
        return next(one for shelf in shelves for one in shelf.things if one.tag == tag)

    for tag in (tray, scope):
        assert listed(tag) == stock.thing(morning.clinic, tag, morning.clock.now)
        assert "check-missing" in [why.code for why in listed(tag).reasons]
    morning.checked(scope)
    assert "check-missing" not in [why.code for why in listed(tray).reasons]


def test_what_lies_sealed_is_not_asked_for_and_is_once_its_pack_is_opened(morning: Play) -> None:
    limited(morning, "scope-steamed", AskedCheck(check="picture"))
    steriliser, scope = morning.add("steriliser-vacuum"), morning.add("scope-steamed")
    pack = morning.sterile_pack(steriliser, scope)

    assert morning.scan("start over", "lay up", pack).tone == "yes"
    assert morning.codes(morning.scan(scope)) == ["in-a-pack"]
    found = stock.thing(morning.clinic, scope, morning.clock.now)
    assert found is not None
    assert found.fit

    morning.scan("start over", "123456", "start a use", pack, "finish", "start over")
    assert "check-missing" in morning.codes(morning.scan("lay up", scope))


def test_another_is_offered_only_if_it_was_checked_too(morning: Play) -> None:
    first, second = morning.add("suction-pump"), morning.add("suction-pump")

    assert "Take suction pump" not in morning.scan("lay up", first).next
    morning.checked(second)
    assert "Take suction pump" in morning.scan(first).next


# --- written down -------------------------------------------------------------------------------


def test_the_maker_s_limits_are_what_counts_where_they_are_known(morning: Play) -> None:
    limits = AskedCheck(check="vacuum", low=Decimal(200), high=Decimal(400), unit="mmHg")
    limited(morning, "suction-pump", limits)
    pump = morning.add("suction-pump")

    good, strong = (recorded(morning, pump, "vacuum", read=read) for read in ("300", "60 kPa"))

    assert (good.passed, good.unit) == (True, "mmHg")
    assert not strong.passed
    assert strong.reasons[0].says == (
        "The suction vacuum is 60 kPa (450.0 mmHg); its maker's limits: 200 to 400 mmHg."
    )


def test_a_reader_may_say_no_to_a_reading_within_its_limits(morning: Play) -> None:
    irrigator = morning.add("irrigator")

    assert not recorded(morning, irrigator, "water-temperature", read="37", good=False).passed
    assert recorded(morning, irrigator, "water-temperature", read="37").passed


@pytest.mark.parametrize(
    ("code", "check", "more", "says"),
    [
        ("hook", "light", {"good": True}, "Nothing of this thing is checked ahead of a session"),
        (
            "suction-pump",
            "light",
            {"good": True},
            "“light” is no check of this thing: canister",
        ),
        ("suction-pump", "vacuum", {"good": True}, "Type what the suction vacuum reads."),
        ("suction-pump", "vacuum", {"read": "60"}, "Say whether the suction vacuum is good."),
        ("suction-pump", "vacuum", {"read": "450", "good": True}, "450 kPa was read"),
        ("microscope", "light", {}, "Say whether the light is good."),
    ],
)
def test_what_cannot_be_written_down_is_a_sentence(
    morning: Play, code: str, check: str, more: dict[str, object], says: str
) -> None:
    item = morning.add(code)

    with pytest.raises(Refused) as problem:
        recorded(morning, item, check, **more)

    assert says in str(problem.value)
    assert told(morning, item, Checked) == []


def test_a_clinic_s_own_rule_keeps_back_what_failed(morning: Play) -> None:
    with acting(morning.clinic, by=morning.people["manager"]) as act:
        today = act.house.today(act.at)
        items.set_rule(act, "check.vacuum.failed", "quarantine", "weak pumps are sent away", today)
        items.set_rule(act, "check.vacuum.hours", "2", "short lists", today)
    pump = morning.add("suction-pump")

    recorded(morning, pump, "vacuum", read="5", good=False)

    stands = item_rows.standing_of(morning.clinic.store, pump)
    assert stands is not None
    assert [kept.why.code for kept in stands.quarantines] == ["check-failed"]


def test_the_logbook_tells_what_was_read_and_when_it_ended(morning: Play) -> None:
    irrigator = morning.add("irrigator")
    morning.scan("check", irrigator, "good", "33.5", "1", "session over")

    said = [line.text for line in history.page(morning.clinic, irrigator).lines]

    assert any("water temperature of" in one and "33.5 °C, not good." in one for one in said)
    assert any(one.startswith("The session is over") for one in said)


def test_an_answer_is_kept_and_given_again(morning: Play) -> None:
    pump = morning.add("suction-pump")
    morning.scan("check", pump)
    first = morning.reply("60", act="1b4e28ba-2fa1-41d2-883f-0016d3cca427")

    again = morning.reply("60", act="1b4e28ba-2fa1-41d2-883f-0016d3cca427")

    assert isinstance(again.answer, Answer)
    assert (again.replayed, again.answer) == (True, first.answer)
    assert len(told(morning, pump, Checked)) == 1


# --- by whom ------------------------------------------------------------------------------------


def checks_of_all(play: Play) -> list[Checked]:
    return [fact for fact in every(play, Checked) if isinstance(fact, Checked)]


def test_whoever_is_competent_no_longer_is_asked_why_once_before_the_first_check(
    morning: Play,
) -> None:
    pump, irrigator = morning.add("suction-pump"), morning.add("irrigator")
    lapse(morning, "nurse", "check")

    asked = morning.scan("check", pump)
    before = checks_of_all(morning)
    morning.scan("alone until Friday", pump, "60")
    morning.scan(irrigator, "good", "37", "1")

    assert (asked.tone, asked.word) == ("no", "Why?")
    assert before == []
    assert [[each.code for each in one.lapses] for one in checks_of_all(morning)] == [
        ["competence-lapsed", "competence-reason"]
    ] * 4


def test_somebody_in_training_checks_with_a_supervisor_who_is_named(morning: Play) -> None:
    pump = morning.add("suction-pump")
    assess(morning, "nurse", "check")
    assess(morning, "trainee", "check", "trainee")

    asked = morning.scan("check", pump, who="trainee")
    morning.scan(morning.people["nurse"], pump, "60", who="trainee")

    assert asked.word == "With whom?"
    (one,) = checks_of_all(morning)
    assert (one.by, one.supervisor) == (morning.people["trainee"], morning.people["nurse"])
    said = [line.text for line in history.page(morning.clinic, pump).lines]
    assert any("Supervised by" in line for line in said)


def test_with_a_patient_in_the_chair_nothing_is_asked_but_it_is_written_down(
    morning: Play,
) -> None:
    pump = morning.add("suction-pump")
    lapse(morning, "nurse", "check")

    morning.scan("123456", "start a use", pump, "check", "60")

    (one,) = checks_of_all(morning)
    assert [each.code for each in one.lapses] == ["competence-lapsed"]
    assert morning.scan(pump).tone == "yes"
