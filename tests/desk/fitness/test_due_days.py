"""What is due, and what was done about it."""

from datetime import date
from pathlib import Path

import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.upkeep import duties, duty_acts
from equip.store.database import Store
from tests.support.playing import Play
from tests.support.stopped import StoppedClock


@pytest.fixture
def play(store: Store, clock: StoppedClock, tmp_path: Path) -> Play:
    return Play.begin(store, clock, tmp_path / "house")


def test_a_duty_comes_round_from_its_anchor_and_month_ends_never_drift(play: Play) -> None:
    pump = play.add("suction-pump")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, pump, "Filter", date(2026, 1, 31), every_months=1)
    days = []
    for done in (date(2026, 1, 30), date(2026, 2, 28), date(2026, 3, 4)):
        play.clock.now = play.clock.now.replace(month=4)
        with acting(play.clinic, by=play.people["manager"]) as act:
            duty_acts.meet_duty(act, pump, "filter", done)
        days.append(duties.due(play.clinic, date(2026, 4, 1))[0].next_due)

    assert days == [date(2026, 2, 28), date(2026, 3, 31), date(2026, 4, 30)]


def test_what_is_overdue_comes_first_and_says_what_it_stops(play: Play) -> None:
    pump, scope = play.add("suction-pump"), play.add("microscope")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, scope, "cleaning", date(2026, 3, 4), every_months=6)
        duty_acts.set_duty(act, pump, "service", date(2026, 3, 1), every_months=12, grounds=True)

    found = duties.due(play.clinic, date(2026, 3, 4))

    assert [(d.standing, d.stops) for d in found] == [("overdue", True), ("due", False)]
    assert play.codes(play.scan("lay up", pump)) == ["service-overdue"]
    assert play.scan(scope).tone == "yes"


def test_work_in_the_future_is_refused(play: Play) -> None:
    pump = play.add("suction-pump")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, pump, "service", date(2026, 3, 1), every_months=12)

    with pytest.raises(Refused, match="not come yet"), acting(play.clinic, by="") as act:
        duty_acts.meet_duty(act, pump, "service", date(2026, 3, 5))


@pytest.mark.parametrize(("months", "days"), [(0, 0), (1, 1), (10**6, 0)])
def test_an_interval_that_is_none_is_refused(play: Play, months: int, days: int) -> None:
    pump = play.add("suction-pump")

    with pytest.raises(Refused), acting(play.clinic, by="") as act:
        duty_acts.set_duty(
            act, pump, "service", date(2026, 3, 1), every_months=months, every_days=days
        )
