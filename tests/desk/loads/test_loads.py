"""A load from open to released, and all that is refused on the way."""

from datetime import date

import msgspec
import pytest

from equip.demo.cycles import steam_log
from equip.desk.act.act import Refused, acting
from equip.desk.loads.end import LogFile, end_load
from equip.desk.loads.release import reject_load, release_load
from equip.desk.register import items
from equip.desk.upkeep import duty_acts
from equip.facts import LoadJudged, LoadRefused, LoadReleased
from equip.rules.loads.load import Load
from equip.store.fold import rebuild
from equip.store.ledger.about import told_about
from equip.store.readings import load_rows
from tests.support.playing import Play


def load_of(play: Play, tag: str) -> Load:
    load = load_rows.load_of(play.clinic.store, tag)
    assert load is not None
    return load


@pytest.mark.parametrize(
    ("code", "packed", "reason"),
    [
        ("hook", True, "wrapped-not-reached"),
        ("suction-tip", False, "hollow-not-reached"),
        ("scope-wiped", False, "not-heat-proof"),
    ],
)
def test_what_the_machine_cannot_sterilise_is_refused_when_it_is_put_in(
    play: Play, code: str, packed: bool, reason: str
) -> None:
    plain, thing = play.add("steriliser-plain"), play.add(code)
    inside = play.packed(thing) if packed else thing

    answer = play.scan("start over", plain, inside)

    assert answer.word == "Not in"
    assert reason in play.codes(answer)
    refused = [e.fact for e in told_about(play.clinic.store, inside)]
    assert isinstance(refused[-1], LoadRefused)


def test_a_perfect_log_of_a_load_the_machine_could_never_have_sterilised_is_held_back(
    play: Play,
) -> None:
    """The type was changed after the load was filled: what is hollow now was solid then."""

    plain, hook, probe = play.add("steriliser-plain"), play.add("hook"), play.add("ring-probe")
    load = play.run(plain, hook, probe)
    with acting(play.clinic, by=play.people["manager"]) as act:
        hollow = msgspec.structs.replace(act.house.types["hook"], hollow=True)
        items.define_type(act, hollow)

    answer = play.scan(load, "release")

    assert load_of(play, load).verdict == "pass"
    assert load_of(play, load).held == (hook,)
    assert "held back" in answer.reasons[0].says
    assert "load-refused" in play.codes(play.scan("start over", "lay up", hook))


def test_a_failed_load_cannot_be_released_by_anybody(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    load = play.run(steriliser, hook, hold_s=140)

    answer = play.scan(load, "release", who="manager")

    assert answer.tone == "no"
    assert "nobody can release it" in answer.what
    assert load_of(play, load).state == "judged"


def test_a_failed_load_is_run_again_with_the_same_contents_in_one_scan(play: Play) -> None:
    steriliser, hook, tip = play.add("steriliser-vacuum"), play.add("hook"), play.add("suction-tip")
    load = play.run(steriliser, hook, tip, hold_s=140)

    play.scan(load, "run again")

    again = load_rows.load_on(play.clinic.store, steriliser)
    assert again is not None
    assert again.covers == (hook, tip)
    assert load_of(play, load).state == "rejected"


def test_whoever_has_no_right_releases_nothing(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    load = play.run(steriliser, hook)

    answer = play.scan(load, "release", who="trainee")

    assert "no right" in answer.what
    assert load_of(play, load).state == "judged"


def test_a_badge_that_lies_about_releases_nothing(play: Play) -> None:
    """The badge of somebody with the right, scanned by somebody signed in without it."""
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    load = play.run(steriliser, hook)

    answer = play.scan(play.people["nurse"], load, "release", who="trainee", at="bench 2")

    assert "The badge of Nell Ash is in hand, and Tam Birch is signed in" in answer.what
    assert "Nell Ash signs in here with badge and PIN" in answer.what


def test_a_sign_in_is_lent_to_no_badge(play: Play) -> None:
    """The badge of somebody without the right, where somebody with it is signed in."""
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    load = play.run(steriliser, hook)

    refused = play.scan(play.people["trainee"], load, "release", at="bench 2")
    released = play.scan(play.people["nurse"], load, "release", at="bench 2")

    assert "The badge of Tam Birch is in hand, and Nell Ash is signed in" in refused.what
    assert released.word == "Released"
    [told] = [
        one.fact
        for one in told_about(play.clinic.store, load)
        if isinstance(one.fact, LoadReleased)
    ]
    assert told.by == play.people["nurse"]


def test_running_it_again_rejects_a_load_and_takes_the_right_to(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    load = play.run(steriliser, hook, hold_s=60)

    refused = play.scan("start over", load, "run again", who="trainee")
    with (
        pytest.raises(Refused, match=r"no right to decide about loads\. Ask Mo Reed or Nell Ash"),
        acting(play.clinic, by=play.people["trainee"]) as act,
    ):
        reject_load(act, load_of(play, load), play.people["trainee"], "cut short")
    again = play.scan("start over", load, "run again")

    assert "no right to reject a load" in refused.what
    assert again.word in ("Again", "Not read")


def test_where_two_people_are_needed_the_loader_does_not_release(play: Play) -> None:

    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, "release.two-people", "true", "our policy", date(2026, 1, 1))
    load = play.run(steriliser, hook)

    alone = play.scan(load, "release")
    second = play.scan(load, "release", who="manager")

    assert "second person" in alone.what
    assert second.word == "Released"


def test_all_but_a_named_pack_is_released(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    hooks = [play.add("hook"), play.add("hook")]
    play.cleaned(*hooks)
    packs = [play.packed(hook) for hook in hooks]
    load = play.run(steriliser, *packs)

    with acting(play.clinic, by=play.people["nurse"]) as act:
        held = release_load(act, load_of(play, load), play.people["nurse"], [packs[1]])

    assert held == [packs[1]]
    assert play.scan("start over", "lay up", packs[0]).tone == "yes"
    assert play.codes(play.scan(packs[1]))[0] == "load-refused"


def test_one_cycle_number_belongs_to_one_load(play: Play) -> None:
    steriliser, hook, probe = (
        play.add("steriliser-vacuum"),
        play.add("hook"),
        play.add("ring-probe"),
    )
    play.run(steriliser, hook)
    play.scan("start over", steriliser, probe, "start the load")
    load = load_rows.load_on(play.clinic.store, steriliser)
    assert load is not None

    with pytest.raises(Refused, match="belongs to load"), acting(play.clinic, by="") as act:
        end_load(act, load, LogFile(steam_log(9)), cycle_no="1")

    assert load_of(play, load.load).state == "running"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"\x00\x01\x02" * 50, "no text"),
        (b"seconds,celsius\n", "no reading"),
        (b"seconds,celsius,kpa\n0,nan,100\n1,20,100\n", "nan"),
        (b"seconds,celsius,kpa\n1,20,100\n0,20,100\n", "time"),
    ],
)
def test_a_log_that_cannot_be_read_is_one_sentence_and_the_load_stays_as_it_was(
    play: Play, data: bytes, says: str
) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.scan("start over", steriliser, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, steriliser)
    assert load is not None

    with pytest.raises(Refused, match=f"(?i){says}"), acting(play.clinic, by="") as act:
        end_load(act, load, LogFile(data), cycle_no="7")

    assert load_of(play, load.load).state == "running"


def test_the_judgement_keeps_rules_book_version_and_the_logs_hash(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")

    load = play.run(steriliser, hook)

    judged = [e.fact for e in told_about(play.clinic.store, load) if isinstance(e.fact, LoadJudged)]
    assert judged[0].judge == "steam-2"
    assert judged[0].book == play.clinic.house.book.digest
    assert len(judged[0].log) == 64
    assert {rule.id for rule in judged[0].rules} >= {"steam-134.low", "steam-134.hold"}


def test_a_load_used_before_its_release_is_a_breach_and_not_released_by_use(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.cleaned(hook)
    pack = play.packed(hook)
    play.run(steriliser, pack)

    answer = play.scan("start over", "123456", pack)

    assert "load-not-released" in play.codes(answer)
    assert answer.tone == "no"


def test_a_started_load_takes_nothing_more(play: Play) -> None:
    steriliser, hook, probe = (
        play.add("steriliser-vacuum"),
        play.add("hook"),
        play.add("ring-probe"),
    )
    play.scan("start over", steriliser, hook, "start the load")

    answer = play.scan(probe)

    assert answer.tone == "no"
    assert "started" in answer.what


def test_an_empty_load_is_not_started(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")

    answer = play.scan(steriliser, "start the load")

    assert "Nothing is in this load" in answer.what


def test_a_machine_whose_service_grounds_it_opens_no_load(play: Play) -> None:

    steriliser = play.add("steriliser-vacuum")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(
            act, steriliser, "validation", date(2026, 3, 1), every_months=12, grounds=True
        )

    answer = play.scan(steriliser)

    assert "may not run" in answer.what


# --- an opening taken back ----------------------------------------------------------------------


def test_a_load_whose_opening_is_taken_back_is_none_and_nothing_goes_into_it(play: Play) -> None:
    machine, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.scan("start over", machine)

    back = play.scan("undo", "undo")
    after = play.scan(hook)

    store = play.clinic.store
    assert back.what == "1 line is withdrawn and stays visible in the book."
    assert after.word != "In"
    assert load_rows.open_loads(store) == []
    assert load_rows.load_on(store, machine) is None
    assert rebuild.differences(store, play.clinic.settings.data) == []
    assert play.scan("start over", machine, hook).tone != "unread"


@pytest.mark.parametrize("out_again", ["undo", "take out"])
def test_an_opening_is_not_taken_back_while_something_is_in_it_that_another_bench_put_in(
    play: Play, out_again: str
) -> None:
    machine, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.cleaned(hook)
    play.scan("start over", machine)
    play.scan("start over", machine, hook, at="bench 2")

    answer = play.scan("undo")

    load = load_rows.load_on(play.clinic.store, machine)
    assert answer.tone == "no"
    assert "has gone on since" in answer.what
    assert load is not None and [one.item for one in load.inside] == [hook]
    play.scan(out_again, *(["undo"] if out_again == "undo" else [hook]), at="bench 2")
    assert play.scan("undo", "undo").word == "Taken back"
    assert load_rows.load_on(play.clinic.store, machine) is None


def test_an_older_book_forgets_loads_that_were_never_opened(play: Play) -> None:
    play.scan("start over", play.add("steriliser-vacuum"), "undo", "undo")
    store = play.clinic.store
    with store.writing():
        store.run(
            "INSERT INTO load (tag, machine, cycle_no, at, stage, verdict, state)"
            " VALUES ('L00000001E', '', '', NULL, 'filling', '', ?)",
            b'{"load":"L00000001E"}',
        )
        store.run("DELETE FROM schema_migration WHERE name = '0029_loads_never_opened'")

    rebuild.migrated(store)

    assert load_rows.open_loads(store) == []
    assert rebuild.differences(store, play.clinic.settings.data) == []
