"""Due days against a calendar that is not ours.

Sources: python-dateutil, `relativedelta(months=k)`, whose documentation promises that a day
which the month lacks becomes the month's last ("adding months never crosses the boundary of
the month"; paraphrased). The leap years are those of the Gregorian calendar as ISO 8601 takes it.
The rule itself, skipping back to the last of the month, is SKIP=BACKWARD of RFC 7529 (*memory*).
"""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from equip.cli.check.kinds import check
from equip.rules.days import add_months
from equip.rules.upkeep.due import Duty, next_due

ANCHORS = st.dates(date(1980, 1, 1), date(2060, 12, 31))


# Source: python-dateutil, relativedelta(months=k).
@given(ANCHORS, st.integers(-600, 600))
def test_months_are_added_as_dateutil_adds_them(anchor: date, months: int) -> None:
    assert add_months(anchor, months) == anchor + relativedelta(months=months)


# Source: the same, counted from one anchor.
@given(ANCHORS, st.integers(1, 36), st.integers(0, 200))
def test_the_due_day_after_the_kth_is_the_anchor_and_k_more_steps(
    anchor: date, months: int, k: int
) -> None:
    duty = Duty(anchor, every_months=months)

    kth = anchor + relativedelta(months=k * months)
    assert next_due(duty, kth) == anchor + relativedelta(months=(k + 1) * months)


# Source: the Gregorian calendar as ISO 8601 takes it.
@pytest.mark.parametrize(
    ("year", "last"), [(1900, 28), (2000, 29), (2024, 29), (2025, 28), (2028, 29), (2100, 28)]
)
def test_february_ends_when_the_gregorian_calendar_says(year: int, last: int) -> None:
    assert add_months(date(year, 1, 31), 1) == date(year, 2, last)


# Source: python-dateutil, relativedelta, walked step by step from the anchor.
@given(
    ANCHORS,
    st.integers(1, 36),
    st.none() | st.integers(-400, 9000),
    st.integers(-400, 9000),
    st.none() | st.integers(-400, 9000),
)
def test_the_check_finds_the_day_and_standing_that_dateutil_walks_to(
    anchor: date, months: int, met: int | None, today: int, bound: int | None
) -> None:
    last_met, not_after = (None if n is None else anchor + timedelta(n) for n in (met, bound))
    now, step = anchor + timedelta(today), 0
    while last_met and anchor + relativedelta(months=step * months) <= last_met:
        step += 1
    due = anchor + relativedelta(months=step * months)
    due = due if not_after is None else min(due, not_after)
    days = {"anchor": anchor, "last_met": last_met, "today": now, "not_after": not_after}

    told = {name: day and str(day) for name, day in days.items()}
    answer = check("due", {**told, "every_months": months})

    assert answer["next_due"] == str(due)
    assert answer["standing"] == ("overdue" if now > due else "due" if now == due else "ok")


# Source: HICPAC 2016: two stamps for each instrument; from 10:10 to 11:20 are 70 minutes.
@pytest.mark.parametrize("started", ["11:20:00+00:00", "12:20:00+01:00", "05:50:00-05:30"])
def test_a_wait_is_counted_over_the_offsets_of_its_stamps(started: str) -> None:
    asked = {"ended": "2026-03-02T10:10:00Z", "cleaning_started": f"2026-03-02T{started}"}

    assert check("wait", asked)["minutes"] == 70
