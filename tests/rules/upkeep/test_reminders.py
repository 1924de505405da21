"""Reminders: told in order, never earlier than asked, never at a quiet hour."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.upkeep.due import standing
from equip.rules.upkeep.reminders import (
    Timing,
    after_quiet,
    check_rule,
    last_working_day,
    step_reached,
    stop_reached,
    working_days,
)

DUE = date(2026, 3, 18)
ZONE = ZoneInfo("Europe/London")
TIMINGS = st.builds(Timing, st.integers(0, 60), st.integers(0, 30), st.integers(1, 40))


def step(days_from: int, timing: Timing, *, first: bool = True) -> int | None:
    today = DUE + timedelta(days=days_from)
    return step_reached(DUE, today, timing, standing(DUE, today), first=first)


@pytest.mark.parametrize(
    ("days_from", "reached"),
    [(-15, None), (-14, -14), (-1, -14), (0, 0), (1, 1), (7, 1), (8, 8), (15, 15), (16, 15)],
)
def test_steps_are_ahead_on_the_day_once_over_and_again(days_from: int, reached: int) -> None:
    assert step(days_from, Timing(14, 7, 7)) == reached


@given(TIMINGS, st.integers(-90, 400), st.integers(0, 60), st.booleans())
def test_a_step_never_falls_back_and_never_lies_ahead_of_its_day(
    timing: Timing, days_from: int, later: int, first: bool
) -> None:
    now, then = step(days_from, timing, first=first), step(days_from + later, timing, first=first)

    assert now is None or now <= days_from
    assert now is None or (then is not None and then >= now)


@given(TIMINGS, st.integers(-90, 400))
def test_who_is_told_late_is_never_told_before_it_is_late_for_that_long(
    timing: Timing, days_from: int
) -> None:
    late = step(days_from, timing, first=False)

    assert (late is not None) == (days_from >= timing.escalate_days)


def test_a_count_that_is_reached_ahead_of_its_day_is_told_as_due() -> None:
    early = DUE - timedelta(days=90)

    assert step_reached(DUE, early, Timing(14, 7, 7), "due", first=True) == 0


def test_what_stops_on_a_sunday_is_told_on_the_friday_before() -> None:
    def works(day: date) -> bool:
        return day.weekday() < 5

    sunday = date(2026, 3, 8)

    assert last_working_day(sunday, works) == date(2026, 3, 6)
    assert stop_reached(sunday, date(2026, 3, 5), works) is None
    assert stop_reached(sunday, date(2026, 3, 6), works) == 0
    assert stop_reached(sunday, date(2026, 3, 9), works) == 1
    assert last_working_day(sunday, lambda day: False) == sunday


@given(
    st.floats(0, 730),
    st.integers(0, 95),
    st.integers(0, 95),
)
def test_what_comes_after_the_quiet_hours_is_not_quiet_and_less_than_a_day_on(
    days: float, start: int, end: int
) -> None:
    moment = datetime(2025, 1, 1, tzinfo=UTC) + timedelta(days=days)
    hours = [time(quarter // 4, quarter % 4 * 15) for quarter in (start, end)]

    after = after_quiet(moment, *hours, ZONE)

    assert moment <= after <= moment + timedelta(hours=25)
    assert after == moment or after.astimezone(ZONE).time() >= hours[1]
    assert after_quiet(after, *hours, ZONE) == after


@pytest.mark.parametrize(
    ("at", "ends"),
    [
        ("2026-03-29T00:45Z", "2026-03-29T01:30Z"),  # 01:30 is left out: an hour on it is 02:30
        ("2026-03-29T01:05Z", "2026-03-29T01:05Z"),  # 02:05, and 01:30 would be over
        ("2026-10-25T00:10Z", "2026-10-25T00:30Z"),  # 01:30 comes twice: the first of them
        ("2026-10-25T01:10Z", "2026-10-25T01:10Z"),  # 01:10 for the second time: it has ended
    ],
)
def test_quiet_hours_end_once_on_the_nights_the_clocks_change(at: str, ends: str) -> None:
    moment = datetime.fromisoformat(at)

    end = after_quiet(moment, time(22), time(1, 30), ZoneInfo("Europe/London"))

    assert end == datetime.fromisoformat(ends)


def test_an_unknown_day_of_the_week_is_named() -> None:
    assert working_days("mon, Sat") == {0, 5}
    with pytest.raises(ValueError, match="“frei” is no day of the week"):
        working_days("mon frei")


@pytest.mark.parametrize(
    ("rule", "value"),
    [
        ("remind.quiet-from", "8 in the evening"),
        ("remind.quiet-until", "7:00"),
        ("remind.quiet-until", "24:00"),
        ("remind.working-days", "every day"),
    ],
)
def test_a_rule_that_the_tick_could_not_read_is_refused(rule: str, value: str) -> None:
    with pytest.raises(ValueError, match="is no"):
        check_rule(rule, value)


def test_a_rule_of_reminding_that_can_be_read_is_taken() -> None:
    check_rule("remind.quiet-until", "06:30")
    check_rule("remind.working-days", "tue, thu")
    check_rule("pin.tries", "every day")
