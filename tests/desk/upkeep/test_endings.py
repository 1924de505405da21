"""Competences that end: in the list of what is due, in letters, in calendars, for whom they are."""

from datetime import date, timedelta
from pathlib import Path

import icalendar
import pytest

from equip.desk.act.act import acting
from equip.desk.act.links import Links
from equip.desk.people import competence
from equip.desk.post import calendars, readers, tick
from equip.desk.register import items
from equip.desk.upkeep.due_json import answered
from equip.desk.upkeep.due_line import Due
from equip.desk.upkeep.duties import due, how_many, may_override
from equip.store.database import Store
from equip.store.post import agenda
from tests.support.playing import Play
from tests.support.stopped import StoppedClock

TODAY = date(2026, 3, 4)
LINKS = Links("https://book.clinic.example", b"secret of the tests")


@pytest.fixture
def play(store: Store, clock: StoppedClock, tmp_path: Path) -> Play:
    """Two nurses, a trainee and a manager, each with an address of their own."""
    play = Play.begin(store, clock, tmp_path / "house")
    for role in ("nurse", "trainee", "manager"):
        address = f"{role}@clinic.example"
        readers.keep(play.clinic, play.people[role], address, (), first=True)
    return play


def assess(
    play: Play, task: str, until: date | None, outcome: str = "competent", who: str = "nurse"
) -> None:
    since = min(TODAY, until or TODAY) - timedelta(days=1)
    with acting(play.clinic, by=play.people["manager"]) as act:
        competence.assess(
            act, play.people[who], task, outcome, since, until=until, outside="A trainer, invented"
        )


def the(play: Play, on: date = TODAY) -> Due:
    (found,) = due(play.clinic, on)
    return found


def test_a_competence_is_due_on_its_last_day_and_overdue_the_day_after(play: Play) -> None:
    assess(play, "release", date(2026, 3, 31))

    one = the(play)
    assert (one.label, one.duty) == ("Nell Ash", "competence to release loads")
    assert (one.item, one.next_due) == (play.people["nurse"], date(2026, 3, 31))
    standings = [the(play, date(2026, 3, day)).standing for day in (30, 31)]
    assert [*standings, the(play, date(2026, 4, 1)).standing] == ["ok", "due", "overdue"]
    assert how_many(play.clinic, TODAY) == 1


def test_a_lapsed_right_to_release_stops_releases_and_names_who_gives_leave(play: Play) -> None:
    assess(play, "release", TODAY - timedelta(days=1))

    says = answered(the(play), may_override(play.clinic))

    assert says["stops"] == "Who it is about releases no load until it is assessed again."
    assert says["does_not_stop"] == "What was done before it lapsed stands."
    assert says["may_override"] == "Leave for some days, with a reason: Mo Reed."
    assert not says["stops_use"]  # of a thing


def test_away_from_a_release_it_asks_and_stops_nothing(play: Play) -> None:
    assess(play, "clean", TODAY - timedelta(days=1))

    one = the(play)

    assert not one.stops and "is asked why" in one.says
    assert one.who_may(may_override(play.clinic)) == ""


def test_leave_lets_a_release_through_and_is_told_of(play: Play) -> None:
    assess(play, "release", TODAY - timedelta(days=1))
    with acting(play.clinic, by=play.people["manager"]) as act:
        competence.allow(act, play.people["nurse"], "release", TODAY, "assessed on Friday")

    one = the(play)

    assert (one.standing, one.stops) == ("overdue", False)
    assert one.why == "Leave was given until 2026-03-04."


def test_it_is_over_once_assessed_again_or_found_not_competent_or_gone(play: Play) -> None:
    assess(play, "release", TODAY - timedelta(days=1))
    assess(play, "clean", TODAY - timedelta(days=1))
    assess(play, "run", TODAY - timedelta(days=1), who="trainee")

    assess(play, "release", TODAY + timedelta(days=300))
    assess(play, "clean", None, "not-competent")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.add_person(act, "Tam Birch", "nurse", [], tag=play.people["trainee"], active=False)

    assert the(play).next_due == TODAY + timedelta(days=300)


def test_its_letter_goes_to_the_person_and_to_managers_and_to_nobody_else(play: Play) -> None:
    assess(play, "release", TODAY + timedelta(days=40))  # the rule: told 42 days ahead

    written = tick.plan(play.clinic, play.clock.now, LINKS)
    letters = agenda.waiting(play.clinic.store)
    again = tick.plan(play.clinic, play.clock.now, LINKS)

    assert (written, again) == (2, 0)
    assert {one.address for one in letters} == {"nurse@clinic.example", "manager@clinic.example"}
    for one in letters:
        assert "Nell Ash: competence to release loads, due on Mon 13 Apr 2026." in one.payload


def test_a_letter_says_what_a_lapse_means_and_not_that_a_thing_may_not_be_used(
    play: Play,
) -> None:
    assess(play, "release", TODAY - timedelta(days=1))

    tick.plan(play.clinic, play.clock.now, LINKS)

    for one in agenda.waiting(play.clinic.store):
        assert "releases no load until it is assessed again" in one.payload
        assert "may not be used until" not in one.payload and "may still be used" not in one.payload


def test_it_stands_in_the_calendars_of_the_person_and_of_managers_not_in_a_sites(
    play: Play,
) -> None:
    assess(play, "release", TODAY + timedelta(days=40))

    assert {who: len(feed(play, who)) for who in ("nurse", "manager", "trainee", "site")} == {
        "nurse": 1,
        "manager": 1,
        "trainee": 0,
        "site": 0,
    }
    [event] = feed(play, "nurse")
    assert str(event["SUMMARY"]) == "Competence to release loads: Nell Ash"
    assert "lapsed" in str(event["DESCRIPTION"]) and event["DTSTART"].dt == date(2026, 4, 13)


def feed(play: Play, who: str) -> list[icalendar.Event]:
    subject = "site-TEST" if who == "site" else play.people[who]
    calendars.change(play.clinic, subject, is_open=True)
    (mine,) = (
        one
        for one in calendars.addresses(play.clinic, LINKS, play.people.get(who, ""))
        if one.subject == subject
    )
    signature = mine.link.rsplit("/", 1)[1].removesuffix(".ics")
    written = calendars.read(play.clinic, LINKS, subject, signature, play.clock.now)
    assert written is not None
    return list(icalendar.Calendar.from_ical(written).events)
