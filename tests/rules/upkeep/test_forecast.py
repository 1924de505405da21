"""Duties played forward: the same days as one after the other, counts by their pace, the cost."""

from datetime import date
from decimal import Decimal
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from equip.facts import DutyTerms
from equip.rules.upkeep.due import NO_DAY, Duty, day_met, next_due
from equip.rules.upkeep.forecast import Coming, Plan, by_month, coming, until
from equip.rules.upkeep.pace import pace

TODAY = date(2026, 3, 4)
END = until(TODAY)


def played(plan: Plan, end: date = END) -> list[Coming]:
    return coming(plan, TODAY, end, lambda day: day)


def test_twelve_months_are_whole_months_from_this_one_on() -> None:
    assert date(2027, 3, 1) == END


@given(st.dates(date(2020, 1, 1), date(2027, 2, 28)), st.integers(1, 24))
def test_a_duty_by_the_calendar_falls_due_on_the_days_it_would_if_each_was_met(
    anchor: date, months: int
) -> None:
    duty = Duty(anchor, every_months=months)
    due_on = next_due(duty, TODAY)
    walked, day = [], due_on
    while day < END:
        walked.append(day)
        day = next_due(duty, day)

    found = played(Plan(duty, TODAY, due_on, "day"))

    assert [one.day for one in found] == walked


def test_what_is_overdue_is_done_today_and_then_goes_on_from_its_anchor() -> None:
    duty = Duty(date(2026, 2, 28), every_months=6)

    found = played(Plan(duty, None, date(2026, 2, 28), "day"))

    assert [(one.day, one.by) for one in found] == [
        (TODAY, "overdue"),
        (date(2026, 8, 28), "day"),
        (date(2027, 2, 28), "day"),
    ]


def test_a_duty_by_count_falls_due_again_and_again_at_the_pace_of_real_use() -> None:
    known = pace(91, 91)
    duty = Duty(TODAY, terms=DutyTerms(every_count=100, counts="uses"))

    found = played(Plan(duty, None, NO_DAY, "day", left=40, pace=known))

    days = [one.day for one in found]
    assert days[0] == date(2026, 4, 13)
    assert [(b - a).days for a, b in pairwise(days)] == [100, 100, 100]
    assert found[0].expected is not None and found[0].expected.earliest < days[0]


def test_a_count_without_a_pace_has_no_day() -> None:
    duty = Duty(TODAY, terms=DutyTerms(every_count=100, counts="uses"))

    assert played(Plan(duty, None, NO_DAY, "day", left=40)) == []


def test_whichever_comes_first_is_played_and_doing_it_satisfies_both() -> None:
    known = pace(91, 91)
    duty = Duty(date(2026, 9, 1), 6, terms=DutyTerms(every_count=150, counts="uses"))

    found = played(Plan(duty, None, date(2026, 9, 1), "day", left=20, pace=known))

    assert [(str(one.day), one.by) for one in found] == [
        ("2026-03-24", "count"),
        ("2026-08-21", "count"),
        ("2027-01-18", "count"),
    ]


def test_after_a_certificate_nobody_can_foresee_nothing_more_is_foretold() -> None:
    duty = Duty(TODAY, terms=DutyTerms(not_after=date(2026, 6, 1), certificate=True))

    assert [one.day for one in played(Plan(duty, None, date(2026, 6, 1), "certificate"))] == [
        date(2026, 6, 1)
    ]


@given(st.lists(st.tuples(st.dates(TODAY, date(2027, 2, 28)), st.none() | st.integers(0, 500))))
def test_the_months_together_hold_everything_once(rows: list[tuple[date, int | None]]) -> None:
    listed = [([Coming(day, "day")], None if cost is None else Decimal(cost)) for day, cost in rows]

    months = by_month(TODAY, listed)

    assert len(months) == 12
    assert sum(month.times for month in months) == len(rows)
    assert sum(month.uncosted for month in months) == sum(cost is None for _, cost in rows)
    assert sum(month.cost for month in months) == sum(cost or 0 for _, cost in rows)


@given(
    st.dates(date(2024, 1, 1), date(2027, 2, 28)),
    st.integers(1, 40),
    st.none() | st.dates(date(2026, 1, 1), TODAY),
)
def test_steps_from_the_anchor_are_the_days_that_meeting_each_leads_to(
    anchor: date, every: int, last_met: date | None
) -> None:
    duty = Duty(anchor, every_days=every)
    walked, met, day = [], last_met, max(next_due(duty, last_met), TODAY)
    while day < END:
        walked.append(day)
        met = day_met(duty, met, day)
        day = next_due(duty, met)

    assert [one.day for one in played(Plan(duty, last_met, next_due(duty, last_met), "day"))] == (
        walked
    )
