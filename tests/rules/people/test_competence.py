"""Competence is judged by the day: what came later changes no day before it."""

from datetime import date, timedelta
from typing import get_args

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from equip.facts import competence as facts_competence
from equip.rules.people.competence import (
    OWN_REASON,
    STEP_TASKS,
    TASKS,
    Assessment,
    held,
    lapsing,
    last_day,
    may_supervise,
    why_not,
)

DAYS = st.dates(date(2020, 1, 1), date(2030, 1, 1))
OUTCOMES = st.sampled_from(["competent", "trainee", "not-competent"])
DAY = date(2026, 3, 4)


def found(outcome: str = "competent", since: date = DAY, until: date | None = None) -> Assessment:
    return Assessment("B1", "clean", outcome, since, until)


@st.composite
def assessments(draw: st.DrawFn) -> Assessment:
    outcome = draw(st.one_of(OUTCOMES, st.just("allowed")))
    since = draw(DAYS)
    until = since + timedelta(days=draw(st.integers(0, 500)))
    return found(outcome, since, until if outcome in ("competent", "allowed") else None)


TOLD = st.lists(assessments(), max_size=6)


def code(told: list[Assessment], day: date, *, record_needed: bool = False) -> str:
    its = held(told, "B1", "clean", day)
    reason = why_not(its, "Nell", "clean", record_needed=record_needed)
    return reason.code if reason else ""


@given(TOLD, DAYS, assessments())
def test_what_is_found_later_changes_no_day_before_it(
    told: list[Assessment], day: date, later: Assessment
) -> None:
    assume(later.since > day)

    assert held([*told, later], "B1", "clean", day) == held(told, "B1", "clean", day)


@given(TOLD, DAYS, st.randoms())
def test_assessments_of_different_days_may_be_told_in_any_order(
    told: list[Assessment], day: date, random: object
) -> None:
    firsts = list({one.since: one for one in told if one.outcome != "allowed"}.values())
    mixed = list(firsts)
    random.shuffle(mixed)  # type: ignore[attr-defined]

    assert held(mixed, "B1", "clean", day) == held(firsts, "B1", "clean", day)


@given(TOLD, DAYS)
def test_what_was_found_of_one_person_or_task_says_nothing_of_another(
    told: list[Assessment], day: date
) -> None:
    assert held(told, "B2", "clean", day).state == "unrecorded"
    assert held(told, "B1", "use", day).state == "unrecorded"


@given(DAYS, st.integers(0, 5000))
def test_what_has_no_last_day_never_lapses(since: date, days: int) -> None:
    assert code([found(since=since)], since + timedelta(days=days)) == ""


@given(DAYS, st.integers(0, 900), st.integers(0, 900))
def test_a_competence_counts_on_its_last_day_and_not_after(
    since: date, lasts: int, days: int
) -> None:
    told = [found(since=since, until=since + timedelta(days=lasts))]

    assert code(told, since + timedelta(days=days)) == ("competence-lapsed" if days > lasts else "")


@given(TOLD, DAYS)
def test_a_competence_of_that_day_sets_everything_right(told: list[Assessment], day: date) -> None:
    assert code([*told, found(since=day, until=day)], day, record_needed=True) == ""


@given(TOLD, DAYS)
def test_leave_helps_only_what_lapsed_or_was_never_recorded(
    told: list[Assessment], day: date
) -> None:
    before = held([one for one in told if one.outcome != "allowed"], "B1", "clean", day)
    after = held([*told, found("allowed", day, day)], "B1", "clean", day)

    helped = before.state in ("lapsed", "unrecorded")
    assert (after.state == "allowed") == helped
    assert helped or after.state == before.state


@given(TOLD, DAYS, st.integers(0, 400))
def test_what_is_listed_as_lapsing_has_lapsed_by_the_edge_and_is_listed_once(
    told: list[Assessment], on: date, within: int
) -> None:
    listed = lapsing(told, on, within)

    assert len(listed) <= 1
    its = held(told, "B1", "clean", on)
    ends = its.until is not None and its.until <= on + timedelta(days=within)
    assert bool(listed) == ends


@given(DAYS, st.integers(1, 36))
def test_the_last_day_lies_after_the_assessment_and_longer_periods_end_no_sooner(
    since: date, months: int
) -> None:
    assert since < last_day(since, months) < last_day(since, months + 1)


def test_a_year_ends_on_the_day_before_the_same_day() -> None:
    assert last_day(date(2026, 3, 4), 12) == date(2027, 3, 3)


@pytest.mark.parametrize(
    ("since", "months", "last"),
    [
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2028, 2, 29), 48, date(2032, 2, 28)),
        (date(2027, 2, 28), 12, date(2028, 2, 27)),
        (date(2027, 3, 1), 12, date(2028, 2, 29)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2026, 1, 31), 2, date(2026, 3, 30)),
        (date(2026, 8, 31), 1, date(2026, 9, 30)),
    ],
)
def test_the_29_of_february_and_the_31_lose_no_day(since: date, months: int, last: date) -> None:
    assert last_day(since, months) == last


def test_nothing_recorded_is_no_fault_unless_the_house_says_so() -> None:
    assert code([], DAY) == ""
    assert code([], DAY, record_needed=True) == "competence-unrecorded"


def test_only_what_lapsed_or_was_never_recorded_is_for_oneself_to_explain() -> None:
    assert code([found(until=DAY)], DAY + timedelta(days=1)) in OWN_REASON
    assert code([found("trainee")], DAY) not in OWN_REASON
    assert code([found("not-competent")], DAY) not in OWN_REASON


def test_the_assessment_told_last_holds_of_two_on_one_day() -> None:
    assert code([found(), found("not-competent")], DAY) == "competence-withdrawn"


def test_only_who_holds_it_on_that_day_supervises() -> None:
    def supervises(*told: Assessment, needed: bool = False) -> bool:
        return may_supervise(held(told, "B1", "clean", DAY), record_needed=needed)

    assert supervises(found()) and supervises()
    assert not supervises(needed=True)
    assert not supervises(found("trainee"))
    assert not supervises(found(since=DAY - timedelta(days=9), until=DAY - timedelta(days=1)))
    gone = found(since=DAY - timedelta(days=9), until=DAY - timedelta(days=1))
    assert not supervises(gone, found("allowed", DAY, DAY))


def test_each_task_can_be_written_in_the_ledger_and_each_step_belongs_to_one() -> None:
    assert set(get_args(facts_competence.Task)) == set(TASKS)
    assert set(STEP_TASKS.values()) <= set(TASKS)
