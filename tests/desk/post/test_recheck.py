"""Letters that waited while what they tell of was done: withdrawn, or they say so; never twice."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from equip.deliver.post.mail import Mailer
from equip.desk.act.act import Refused, acting
from equip.desk.act.links import Links
from equip.desk.post import readers, send, tick
from equip.desk.upkeep import duty_acts
from equip.store.database import Store
from equip.store.post import agenda
from tests.support.playing import Play
from tests.support.post_office import PostOffice
from tests.support.stopped import StoppedClock

TODAY = date(2026, 3, 4)
LINKS = Links("https://book.clinic.example", b"secret of the tests")
NO = "451 come back later"


@pytest.fixture
def play(store: Store, clock: StoppedClock, tmp_path: Path) -> Play:
    play = Play.begin(store, clock, tmp_path / "house")
    readers.keep(play.clinic, play.people["nurse"], "nurse@clinic.example", (), first=True)
    return play


def duties(play: Play, *names: str, grounds: bool = False, on: date = TODAY) -> str:
    pump = play.add("suction-pump")
    with acting(play.clinic, by=play.people["manager"]) as act:
        for name in names:
            duty_acts.set_duty(act, pump, name, on, every_months=12, grounds=grounds)
    return pump


def meet(play: Play, pump: str, *names: str) -> None:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        for name in names:
            duty_acts.meet_duty(act, pump, name, TODAY)


def beat(play: Play, mailer: Mailer, **span: float) -> int:
    play.clock.passes(**span)
    return tick.tick(play.clinic, mailer, lambda now: None, LINKS)


def text(office: PostOffice) -> str:
    return office.taken[-1].get_content().replace("\r\n", "\n")


@pytest.mark.parametrize("grounds", [False, True])
def test_a_letter_whose_duties_were_all_met_is_withdrawn_and_never_leaves(
    play: Play, mailer: Mailer, office: PostOffice, grounds: bool
) -> None:
    pump = duties(play, "service", "filter", grounds=grounds)
    office.answer = NO
    assert beat(play, mailer) == 0
    waited = len(agenda.waiting(play.clinic.store))
    meet(play, pump, "service", "filter")
    office.answer = "250 OK"

    later = [beat(play, mailer, minutes=10) for _ in range(3)]

    assert waited == (2 if grounds else 1)  # the digest, and what stops at once
    assert later == [0, 0, 0] and office.taken == []
    assert agenda.waiting(play.clinic.store) == [] and agenda.stuck(play.clinic.store) == []
    withdrawn = agenda.withdrawn(play.clinic.store)
    assert len(withdrawn) == waited
    assert {one.error for one in withdrawn} == {"Withdrawn: what it told of is no longer due."}


def test_a_letter_of_which_a_part_was_done_says_so_first_and_leaves_once(
    play: Play, mailer: Mailer, office: PostOffice
) -> None:
    pump = duties(play, "service", "filter", "battery")
    office.answer = NO
    beat(play, mailer)
    meet(play, pump, "filter")
    beat(play, mailer, minutes=10)
    meet(play, pump, "battery")
    office.answer = "250 OK"

    later = [beat(play, mailer, minutes=10) for _ in range(3)]

    assert sorted(later) == [0, 0, 1]
    first, second, rest = text(office).split("\n\n", 2)
    assert first.startswith("No longer due since this letter was written:")
    assert first.endswith(": battery") and second.endswith(": filter")
    assert "service, due on Wed 4 Mar 2026" in rest


def test_a_letter_that_may_have_arrived_goes_again_with_the_same_bytes(
    play: Play, mailer: Mailer, office: PostOffice
) -> None:
    pump = duties(play, "service", "filter")
    office.breaks_off = True
    beat(play, mailer)
    meet(play, pump, "filter")
    office.breaks_off = False

    assert beat(play, mailer, minutes=10) == 1

    one, other = office.taken
    assert one["Message-ID"] == other["Message-ID"]
    assert one.get_content() == other.get_content()


def test_one_that_may_have_arrived_and_is_all_done_is_withdrawn_and_says_both(
    play: Play, mailer: Mailer, office: PostOffice
) -> None:
    pump = duties(play, "service")
    office.breaks_off = True
    beat(play, mailer)
    meet(play, pump, "service")
    office.breaks_off = False

    assert beat(play, mailer, minutes=10) == 0
    [one] = agenda.withdrawn(play.clinic.store)
    assert one.error.endswith("An earlier try may have arrived.") and len(office.taken) == 1


def test_a_letter_that_somebody_claimed_and_fell_over_with_keeps_its_bytes(
    play: Play, mailer: Mailer, office: PostOffice
) -> None:
    pump = duties(play, "service", "filter")
    tick.plan(play.clinic, play.clock.now, LINKS)
    [written] = agenda.waiting(play.clinic.store)
    agenda.claim(
        play.clinic.store, play.clock.now, lease=timedelta(minutes=5), holder="gone", limit=1
    )
    meet(play, pump, "filter")

    assert beat(play, mailer, minutes=10) == 1
    assert text(office) == written.payload


def test_the_houses_letter_has_the_seals_and_leaves_whatever_was_done(
    store: Store, clock: StoppedClock, tmp_path: Path, mailer: Mailer, office: PostOffice
) -> None:
    play = Play.begin(store, clock, tmp_path / "house", mail_to=("house@clinic.example",))
    pump = duties(play, "service")
    office.answer = NO
    beat(play, mailer)
    meet(play, pump, "service")
    office.answer = "250 OK"

    assert beat(play, mailer, minutes=10) == 1
    assert text(office).startswith("No longer due since this letter was written:")
    assert "Seals of the ledger" in text(office)


def test_whoever_never_got_it_is_told_anew_if_it_falls_due_again_on_the_same_day(
    play: Play, mailer: Mailer, office: PostOffice
) -> None:
    pump = duties(play, "service", on=TODAY + timedelta(days=9))
    office.answer = NO
    beat(play, mailer)
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.drop_duty(act, "service", "it was leased", tag=pump)
    office.answer = "250 OK"
    assert beat(play, mailer, minutes=10) == 0

    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, pump, "service", TODAY + timedelta(days=9), every_months=12)

    assert beat(play, mailer, days=1) == 1
    assert "service, due on Fri 13 Mar 2026" in text(office)


def test_a_withdrawn_letter_is_not_tried_again_by_hand(
    play: Play, mailer: Mailer, office: PostOffice
) -> None:
    pump = duties(play, "service")
    office.answer = NO
    beat(play, mailer)
    meet(play, pump, "service")
    beat(play, mailer, minutes=10)
    [one] = agenda.withdrawn(play.clinic.store)

    with pytest.raises(Refused, match="was withdrawn"):
        send.again(play.clinic, one.key, play.clock.now)
