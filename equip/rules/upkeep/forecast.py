"""What is coming in the next twelve months, and what it costs: each duty played forward.

Every duty is taken to be met on its day. What is overdue is taken to be done today, for it
cannot be done earlier. After a certificate that nobody can foresee the end of, nothing more is
foretold of it than that day.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from msgspec.structs import replace

from equip.rules.days import add_months
from equip.rules.upkeep.due import NO_DAY, BroughtBy, Duty, day_met, next_due
from equip.rules.upkeep.pace import Expected, Pace, expected

MONTHS = 12
_MOST = 400
By = BroughtBy | Literal["overdue"]


@dataclass(frozen=True, slots=True)
class Plan:
    """A duty as it stands: when it falls due, how much is left to count, how fast that goes."""

    duty: Duty
    last_met: date | None
    due_on: date
    by: By
    left: float | None = None
    pace: Pace | None = None


@dataclass(frozen=True, slots=True)
class Coming:
    """One time that a duty falls due. A count's day has an interval about it."""

    day: date
    by: By
    expected: Expected | None = None


@dataclass(frozen=True, slots=True)
class Month:
    """One month: how much falls due, what is known of its cost, how much has no cost told."""

    first: date
    times: int
    cost: Decimal
    uncosted: int


def until(today: date, months: int = MONTHS) -> date:
    """The first day that is not looked at: months are whole, this one among them."""
    return add_months(today.replace(day=1), months)


def coming(plan: Plan, today: date, end: date, moved: Callable[[date], date]) -> list[Coming]:
    """Each time that *plan* falls due before *end*; *moved* takes a day off closed days."""
    if plan.duty.comes_round and not plan.duty.terms.every_count:
        return _by_calendar(plan, today, end, moved)
    found: list[Coming] = []
    last_met, due_on, by, left = plan.last_met, plan.due_on, plan.by, plan.left
    since = today
    while len(found) < _MOST:
        one = _next(due_on, by, left, plan.pace, since, today)
        if one is None or one.day >= end or (found and one.day <= found[-1].day):
            break
        found.append(one)
        if not plan.duty.terms.every_count:
            break
        last_met = day_met(plan.duty, last_met, one.day)
        duty = _without_certificate(plan.duty)
        due_on = moved(next_due(duty, last_met)) if duty.comes_round else NO_DAY
        by = "day"
        left = float(plan.duty.terms.every_count)
        since = one.day
    return found


def _by_calendar(plan: Plan, today: date, end: date, moved: Callable[[date], date]) -> list[Coming]:
    """The same where days alone bring it round: step by step from the anchor."""
    late = plan.due_on < today
    day = max(plan.due_on, today)
    if day >= end:
        return []
    found = [Coming(day, "overdue" if late else plan.by)]
    step = plan.duty.steps_past(day_met(plan.duty, plan.last_met, day))
    while len(found) < _MOST:
        nominal = plan.duty.day(step)
        if nominal >= end:
            break
        day = moved(nominal)
        if found[-1].day < day < end:
            found.append(Coming(day, "day"))
        step += 1
    return found


def _next(
    due_on: date, by: By, left: float | None, known: Pace | None, since: date, today: date
) -> Coming | None:
    if due_on <= today and since == today:
        return Coming(today, "overdue" if due_on < today else by)
    by_count = None
    if left is not None and known is not None:
        by_count = expected(left, known, since)
    if by_count is not None and by_count.day < due_on:
        return Coming(by_count.day, "count", by_count)
    return None if due_on == NO_DAY else Coming(due_on, by)


def _without_certificate(duty: Duty) -> Duty:
    """The same once its certificate was renewed: until when the new one holds, nobody knows."""
    if duty.terms.not_after is None and not duty.terms.certificate:
        return duty
    return replace(duty, terms=replace(duty.terms, not_after=None, certificate=False))


def by_month(
    today: date, rows: Iterable[tuple[Sequence[Coming], Decimal | None]], months: int = MONTHS
) -> list[Month]:
    """The load and the cost of each month, this one first, empty months too."""
    firsts = [add_months(today.replace(day=1), step) for step in range(months)]
    times, costs, uncosted = [0] * months, [Decimal(0)] * months, [0] * months
    for comings, cost in rows:
        for one in comings:
            at = (one.day.year - today.year) * 12 + one.day.month - today.month
            if 0 <= at < months:
                times[at] += 1
                if cost is None:
                    uncosted[at] += 1
                else:
                    costs[at] += cost
    return [
        Month(first, n, cost, open_)
        for first, n, cost, open_ in zip(firsts, times, costs, uncosted, strict=True)
    ]
