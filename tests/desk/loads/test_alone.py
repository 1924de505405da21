"""One person releases by rule: a photo, and a second look by somebody else within a set time."""

from datetime import date

import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.loads import second_look, second_reader
from equip.desk.loads.end import ReadOff, end_load
from equip.desk.loads.release import release_load, why_not_release
from equip.desk.register import items
from equip.rules.loads.load import Load
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.readings import load_rows
from tests.support import pictures
from tests.support.playing import Play

STEAM = {"lowest_c": "134.4", "highest_c": "135.1", "hold_min": "3.5", "completed": "yes"}


def load_of(play: Play, tag: str) -> Load:
    load = load_rows.load_of(play.clinic.store, tag)
    assert load is not None
    return load


def decide(play: Play, rule: str, value: str) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, rule, value, "one nurse on Fridays", date(2026, 1, 1))


def typed(play: Play, *, photo: bool = True, machine: str = "") -> str:
    """A load of one hook, whose nurse typed what the steriliser showed."""
    machine = machine or play.add("steriliser-vacuum")
    play.scan("start over", machine, play.add("hook"), "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    kept = second_reader.looked_at(play.clinic, pictures.jpeg(), "strip.jpg") if photo else None
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, ReadOff(STEAM, kept))
    return load.load


def release(play: Play, tag: str, who: str = "nurse") -> None:
    with acting(play.clinic, by=play.people[who]) as act:
        release_load(act, load_of(play, tag), play.people[who])


def look(play: Play, tag: str, who: str = "manager", **values: str) -> bool:
    play.clock.passes(minutes=1)
    with acting(play.clinic, by=play.people[who]) as act:
        return second_look.look(act, load_of(play, tag), {**STEAM, **values})


def why_not(play: Play, tag: str, who: str = "nurse") -> list[str]:
    found = why_not_release(play.clinic, load_of(play, tag), play.people[who], play.clock.now)
    return [one.code for one in found]


@pytest.mark.parametrize(
    ("by_rule", "photo", "verdict"),
    [("true", True, "pass"), ("true", False, "undecided"), ("false", True, "undecided")],
)
def test_one_reading_is_enough_only_by_the_rule_and_with_a_photo(
    play: Play, by_rule: str, photo: bool, verdict: str
) -> None:
    decide(play, "release.alone", by_rule)

    load = load_of(play, typed(play, photo=photo))

    assert load.verdict == verdict
    assert ("one-reader-alone" in {one.code for one in load.reasons}) == (verdict == "pass")
    assert load.wants_reader == (verdict == "undecided")
    kept = {rule.id for rule in load.rules}
    assert ("release.alone-look-days" in kept) == (by_rule == "true")


def test_a_lone_nurse_releases_it_and_it_waits_for_somebody_else_to_look(play: Play) -> None:
    decide(play, "release.alone", "true")
    tag = typed(play)

    release(play, tag)

    load = load_of(play, tag)
    assert (load.state, load.alone, load.wants_look) == ("released", True, True)
    [(waits, until)] = second_look.waiting(play.clinic)
    assert (waits.load, (until - play.clinic.house.today(play.clock.now)).days) == (tag, 7)
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_whoever_released_it_is_not_the_somebody_else_and_neither_is_an_auditor(
    play: Play,
) -> None:
    decide(play, "release.alone", "true")
    tag = typed(play)
    release(play, tag)

    for who in ("nurse", "auditor"):
        with pytest.raises(Refused, match="Somebody else must look at it"):
            look(play, tag, who)

    assert look(play, tag, "trainee"), "anybody else who works here may"
    assert not load_of(play, tag).wants_look
    assert second_look.waiting(play.clinic) == []
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_a_look_that_differs_stays_written_down_and_the_load_still_waits(play: Play) -> None:
    decide(play, "release.alone", "true")
    tag = typed(play)
    release(play, tag)

    assert not look(play, tag, lowest_c="133.1")

    told = [entry.fact for entry in told_about(play.clinic.store, tag)]
    [read] = [fact for fact in told if isinstance(fact, facts.EvidenceConfirmed)]
    assert read.differs == ("lowest_c",)
    assert load_of(play, tag).wants_look


def test_once_a_look_is_overdue_nobody_releases_alone_and_two_still_may(play: Play) -> None:
    decide(play, "release.alone", "true")
    machine = play.add("steriliser-vacuum")
    first = typed(play, machine=machine)
    release(play, first)
    play.clock.passes(days=7)
    in_time = typed(play, machine=machine)
    assert why_not(play, in_time) == []

    play.clock.passes(days=1)

    assert why_not(play, in_time) == ["look-overdue"]
    with pytest.raises(Refused, match="somebody else looks at that first"):
        release(play, in_time)
    look(play, first)
    assert why_not(play, in_time) == []


def test_where_two_people_release_the_rule_lets_a_lone_one_with_evidence(play: Play) -> None:
    decide(play, "release.two-people", "true")
    hook, machine = play.add("hook"), play.add("steriliser-vacuum")
    play.cleaned(hook)
    tag = play.run(machine, hook)
    assert why_not(play, tag) == ["same-person"]

    decide(play, "release.alone", "true")

    assert why_not(play, tag) == [], "its log can be looked at later"
    release(play, tag)
    assert load_of(play, tag).wants_look
    with acting(play.clinic, by=play.people["manager"]) as act:
        assert second_look.look(act, load_of(play, tag), {})
    assert second_look.waiting(play.clinic) == []


def test_what_somebody_else_releases_needs_no_look(play: Play) -> None:
    decide(play, "release.two-people", "true")
    decide(play, "release.alone", "true")
    hook, machine = play.add("hook"), play.add("steriliser-vacuum")
    play.cleaned(hook)
    tag = play.run(machine, hook)

    release(play, tag, "manager")

    assert not load_of(play, tag).alone
    assert second_look.waiting(play.clinic) == []
