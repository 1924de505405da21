"""Due days against a calendar that is not ours.

Sources: python-dateutil, `relativedelta(months=k)`, whose documentation promises that a day
which the month lacks becomes the month's last ("adding months never crosses the boundary of
the month"; paraphrased). The leap years are those of the Gregorian calendar as ISO 8601 takes it.
The rule itself, skipping back to the last of the month, is SKIP=BACKWARD of RFC 7529 (*memory*).
"""

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.due import Duty, add_months, next_due

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
    duty = Duty("service", anchor, every_months=months)

    kth = anchor + relativedelta(months=k * months)
    assert next_due(duty, kth) == anchor + relativedelta(months=(k + 1) * months)


# Source: the Gregorian calendar as ISO 8601 takes it.
@pytest.mark.parametrize(
    ("year", "last"), [(1900, 28), (2000, 29), (2024, 29), (2025, 28), (2028, 29), (2100, 28)]
)
def test_february_ends_when_the_gregorian_calendar_says(year: int, last: int) -> None:
    assert add_months(date(year, 1, 31), 1) == date(year, 2, last)
