"""A due day moved off closed days: laws, and where there is no way out."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.desk.fitness.closed_days import closed_in
from equip.rules.days import Moves, working_day

DAYS = st.dates(date(2000, 1, 1), date(2090, 12, 31))


def weekend(day: date) -> bool:
    return day.weekday() >= 5


@given(DAYS, st.sampled_from(["before", "after"]))
def test_it_lands_on_the_nearest_open_day_of_its_side(day: date, moves: Moves) -> None:
    found = working_day(day, moves, weekend)

    assert not weekend(found)
    assert abs((found - day).days) <= 2
    assert (found <= day) if moves == "before" else (found >= day)
    assert working_day(found, moves, weekend) == found


@given(DAYS)
def test_where_nothing_moves_the_day_stays(day: date) -> None:
    assert working_day(day, "none", weekend) == day


@pytest.mark.parametrize("day", [date(2026, 2, 28), date.max, date.min])
@pytest.mark.parametrize("moves", ["before", "after"])
def test_a_house_that_is_always_closed_leaves_the_day(day: date, moves: Moves) -> None:
    assert working_day(day, moves, lambda _: True) == day


@pytest.mark.parametrize(("moves", "way"), [("before", -1), ("after", 1)])
def test_a_row_of_thirteen_closed_days_is_looked_past_and_of_fourteen_is_not(
    moves: Moves, way: int
) -> None:
    day = date(2026, 6, 15)

    def closed_for(length: int) -> Callable[[date], bool]:
        return lambda other: 0 <= (other - day).days * way < length

    assert working_day(day, moves, closed_for(13)) == day + timedelta(days=13 * way)
    assert working_day(day, moves, closed_for(14)) == day


# Common knowledge of English and New South Wales calendars, not looked up.
@pytest.mark.parametrize(
    ("country", "day", "closed"),
    [
        ("GB-ENG", date(2026, 4, 3), True),  # Good Friday
        ("GB-ENG", date(2026, 12, 28), True),  # in place of Boxing Day, a Saturday
        ("GB-ENG", date(2026, 11, 26), False),
        ("US", date(2026, 11, 26), True),  # the fourth Thursday
        ("AU-NSW", date(2026, 1, 26), True),
    ],
)
def test_a_country_keeps_its_own_holidays(country: str, day: date, closed: bool) -> None:
    assert closed_in(country)(day) is closed
