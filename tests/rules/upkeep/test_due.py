"""When a duty falls due: month-ends, jumps, certificates, counts, and bad input."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.facts import DutyTerms
from equip.rules.days import add_months
from equip.rules.upkeep.due import Duty, checked, day_met, next_due, standing
from equip.rules.upkeep.due_check import check_due

ANCHORS = st.dates(date(1990, 1, 1), date(2060, 12, 31))
DAYS = st.dates(date(1985, 1, 1), date(2080, 12, 31))
MONTHLY = st.builds(Duty, anchor=ANCHORS, every_months=st.integers(1, 60))
DAILY = st.builds(Duty, anchor=ANCHORS, every_days=st.integers(1, 800))
DUTIES = MONTHLY | DAILY


def monthly(anchor: date, months: int = 1) -> Duty:
    return Duty(anchor, every_months=months)


def row_of(duty: Duty, how_many: int) -> list[date]:
    """The first due days, each found from the one before it, as a clinic that is on time does."""
    days = [next_due(duty, None)]
    while len(days) < how_many:
        days.append(next_due(duty, days[-1]))
    return days


def walked(duty: Duty, last_met: date) -> date:
    """The slow, obvious loop."""
    step = 0
    while duty.day(step) <= last_met:
        step += 1
    return duty.day(step)


def test_month_ends_do_not_drift_after_a_short_february() -> None:
    days = row_of(monthly(date(2026, 1, 31)), 5)

    assert days == [
        date(2026, 1, 31),
        date(2026, 2, 28),
        date(2026, 3, 31),
        date(2026, 4, 30),
        date(2026, 5, 31),
    ]


def test_a_yearly_duty_of_29_february_comes_back_to_it_in_leap_years() -> None:
    days = row_of(monthly(date(2024, 2, 29), 12), 5)

    assert [str(day) for day in days] == [
        "2024-02-29",
        "2025-02-28",
        "2026-02-28",
        "2027-02-28",
        "2028-02-29",
    ]


def test_what_was_never_met_falls_due_on_the_anchor() -> None:
    assert next_due(monthly(date(2026, 3, 5)), None) == date(2026, 3, 5)


def test_a_day_met_before_the_anchor_leaves_the_anchor_as_the_first() -> None:
    assert next_due(monthly(date(2026, 3, 5)), date(2025, 11, 20)) == date(2026, 3, 5)


def test_a_weekly_duty_keeps_its_day_of_the_week() -> None:
    duty = Duty(date(2026, 1, 5), every_days=7)

    assert {day.weekday() for day in row_of(duty, 60)} == {0}


@given(DUTIES, DAYS)
def test_the_jump_lands_where_the_slow_loop_lands(duty: Duty, last_met: date) -> None:
    assert next_due(duty, last_met) == walked(duty, last_met)


@given(DUTIES, DAYS)
def test_the_next_due_day_is_after_the_day_met(duty: Duty, last_met: date) -> None:
    assert next_due(duty, last_met) > last_met


@given(DUTIES, DAYS, DAYS)
def test_meeting_a_later_day_never_brings_the_next_forward(
    duty: Duty, one: date, two: date
) -> None:
    earlier, later = sorted((one, two))

    assert next_due(duty, earlier) <= next_due(duty, later)


@given(MONTHLY, DAYS)
def test_a_due_day_is_the_anchors_day_of_the_month_or_the_months_last(
    duty: Duty, last_met: date
) -> None:
    day = next_due(duty, last_met)

    assert day.day == duty.anchor.day or (
        day.day < duty.anchor.day and (day + timedelta(days=1)).day == 1
    )


@given(DUTIES, DAYS, DAYS)
def test_a_certificates_day_governs_when_it_is_the_earlier(
    duty: Duty, last_met: date, not_after: date
) -> None:
    bound = Duty(duty.anchor, duty.every_months, duty.every_days, DutyTerms(not_after=not_after))

    assert next_due(bound, last_met) == min(next_due(duty, last_met), not_after)


def test_a_certificate_alone_falls_due_on_its_day_whatever_was_met() -> None:
    duty = Duty(date(2026, 1, 1), terms=DutyTerms(not_after=date(2027, 3, 1)))

    assert next_due(duty, None) == next_due(duty, date(2027, 3, 1)) == date(2027, 3, 1)


@pytest.mark.parametrize(
    ("done", "met"),
    [
        (date(2026, 2, 27), date(2026, 2, 28)),
        (date(2026, 2, 28), date(2026, 2, 28)),
        (date(2026, 3, 30), date(2026, 2, 28)),
        (date(2026, 5, 2), date(2026, 4, 30)),
    ],
)
def test_late_work_satisfies_all_days_up_to_it_and_early_work_the_next(
    done: date, met: date
) -> None:
    duty = monthly(date(2026, 1, 31))

    assert day_met(duty, date(2026, 1, 31), done) == met


@given(DUTIES, st.none() | DAYS, DAYS)
def test_after_the_work_nothing_is_overdue(duty: Duty, last_met: date | None, done: date) -> None:
    met = day_met(duty, last_met, done)

    assert next_due(duty, met) > max(done, met)
    assert met == next_due(duty, met - timedelta(days=1))


def test_work_for_a_certificate_satisfies_the_certificates_day() -> None:
    duty = Duty(date(2026, 1, 1), terms=DutyTerms(not_after=date(2027, 3, 1)))

    assert day_met(duty, None, date(2027, 2, 20)) == date(2027, 3, 1)


DUE = date(2026, 6, 10)


@pytest.mark.parametrize(
    ("days", "count", "stands"),
    [
        (-1, None, "ok"),
        (-1, 499, "ok"),
        (-1, 500, "due"),
        (-1, 900, "due"),
        (0, None, "due"),
        (0, 1, "due"),
        (1, 0, "overdue"),
        (1, 500, "overdue"),
    ],
)
def test_it_is_ok_before_due_on_and_overdue_after_the_day_and_due_at_the_count(
    days: int, count: int | None, stands: str
) -> None:
    assert standing(DUE, DUE + timedelta(days=days), count=count, every_count=500) == stands


def test_a_count_without_a_limit_is_not_judged() -> None:
    assert standing(DUE, DUE - timedelta(days=1), count=10**6) == "ok"


@pytest.mark.parametrize("name", ["every_months", "every_days"])
@pytest.mark.parametrize("number", [0, -3, True, 1.5])
def test_an_interval_that_is_none_is_refused_with_what_was_read(name: str, number: Any) -> None:
    with pytest.raises(ValueError, match=f"{name} must be a whole number from 1 up; {number!r}"):
        checked(Duty(DUE, **{name: number}))


@pytest.mark.parametrize("number", [-3, True, 1.5])
def test_a_count_that_is_none_is_refused_with_what_was_read(number: Any) -> None:
    with pytest.raises(ValueError, match=f"every_count must be a whole number .*{number!r}"):
        checked(Duty(DUE, every_months=1, terms=DutyTerms(every_count=number, counts="uses")))


def test_months_and_days_together_are_refused() -> None:
    with pytest.raises(ValueError, match="not both: every_months 1 and every_days 30 were read"):
        checked(Duty(DUE, every_months=1, every_days=30))


def test_a_duty_that_never_comes_round_is_refused() -> None:
    with pytest.raises(ValueError, match="give every_months or every_days"):
        checked(Duty(DUE, terms=DutyTerms(every_count=500)))


@pytest.mark.parametrize("interval", [{"every_months": 10**9}, {"every_days": 10**300}])
def test_an_interval_without_a_second_day_in_the_calendar_is_refused(
    interval: dict[str, Any],
) -> None:
    with pytest.raises(ValueError, match="give a shorter interval"):
        checked(Duty(DUE, **interval))


def test_months_can_be_counted_back() -> None:
    assert add_months(date(2026, 3, 31), -1) == date(2026, 2, 28)


# --- check due ------------------------------------------------------------------------------

GIVEN = {"anchor": "2026-01-31", "every_months": 1, "last_met": "2026-01-31", "today": "2026-02-27"}


def codes(answer: dict[str, Any]) -> list[str]:
    return [reason["code"] for reason in answer["reasons"]]


def test_the_check_answers_the_day_the_standing_and_why() -> None:
    answer = check_due(GIVEN)

    assert answer == {
        "next_due": "2026-02-28",
        "standing": "ok",
        "reasons": [{"code": "day-ahead", "says": "It falls due on 2026-02-28, in 1 day."}],
    }


@pytest.mark.parametrize(
    ("more", "next_day", "stands", "why"),
    [
        ({"today": "2026-02-28"}, "2026-02-28", "due", ["day-reached"]),
        ({"today": "2026-03-01"}, "2026-02-28", "overdue", ["day-passed"]),
        ({"last_met": None}, "2026-01-31", "overdue", ["day-passed"]),
        (
            {"not_after": "2026-02-10"},
            "2026-02-10",
            "overdue",
            ["day-passed", "certificate-governs"],
        ),
        ({"not_after": "2026-12-01"}, "2026-02-28", "ok", ["day-ahead"]),
        (
            {"count": 500, "every_count": 500},
            "2026-02-28",
            "due",
            ["day-ahead", "count-reached"],
        ),
        ({"count": 499, "every_count": 500}, "2026-02-28", "ok", ["day-ahead", "count-ahead"]),
        ({"count": 499}, "2026-02-28", "ok", ["day-ahead", "count-not-judged"]),
        ({"every_count": 499}, "2026-02-28", "ok", ["day-ahead", "count-not-judged"]),
        ({"every_months": None, "every_days": 28}, "2026-02-28", "ok", ["day-ahead"]),
        ({"every_months": 1.0}, "2026-02-28", "ok", ["day-ahead"]),
        (
            {"every_months": None, "not_after": "2026-02-27"},
            "2026-02-27",
            "due",
            ["day-reached", "certificate-governs"],
        ),
    ],
)
def test_the_check_follows_its_contract(
    more: dict[str, Any], next_day: str, stands: str, why: list[str]
) -> None:
    answer = check_due(GIVEN | more)

    assert (answer["next_due"], answer["standing"]) == (next_day, stands)
    assert codes(answer) == why


def test_what_was_never_met_may_be_left_out() -> None:
    given = {name: value for name, value in GIVEN.items() if name != "last_met"}

    assert check_due(given) == check_due(GIVEN | {"last_met": None})


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"anchor": None}, "anchor is missing: give a day as YYYY-MM-DD"),
        ({"today": None}, "today is missing"),
        ({"anchor": "2026-02-30"}, "anchor must be a day of the calendar .* '2026-02-30' was read"),
        ({"anchor": "20260131"}, "'20260131' was read"),
        ({"anchor": "2026-W05-6"}, "'2026-W05-6' was read"),
        ({"anchor": "2026-01-31\n"}, "anchor must be a day"),
        ({"today": "２０２６-01-31"}, "today must be a day"),
        ({"last_met": 20260131}, "last_met must be a day .* 20260131 was read"),
        ({"not_after": ""}, "not_after must be a day"),
        ({"every_months": 0}, "every_months must be a whole number from 1 up; 0 was read"),
        ({"every_months": "1"}, "'1' was read"),
        ({"every_months": 1.5}, "1.5 was read"),
        ({"every_months": float("nan")}, "nan was read"),
        ({"every_months": True}, "True was read"),
        ({"every_months": [1] * 99}, "… was read"),
        ({"every_months": None}, "How often is missing"),
        ({"every_days": 30}, "not both"),
        ({"every_count": 0}, "every_count must be a whole number from 1 up; 0 was read"),
        ({"every_count": -3}, "every_count must be a whole number from 1 up; -3 was read"),
        ({"every_count": True}, "every_count must be a whole number from 1 up; True was read"),
        ({"every_count": 1.5}, "every_count must be a whole number from 1 up; 1.5 was read"),
        ({"every_months": 1e300}, "shorter interval"),
        ({"last_met": "9999-12-31"}, "outside the calendar"),
        ({"count": -1, "every_count": 5}, "count must be a whole number from 0 up; -1 was read"),
        ({"counts": 3}, "Unknown: counts. Known are anchor, "),
    ],
)
def test_bad_input_to_the_check_gets_one_sentence(more: dict[str, Any], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        check_due(GIVEN | more)
