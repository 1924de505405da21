"""When a duty that comes round falls due next, and how it stands today.

Due days are counted from an anchor, never from the day before them, so a month-end does not
drift: from 31 January, monthly, they are the last of February, 31 March, 30 April. What moves a
duty on is the due day that was satisfied, not the day of doing; work done a day early would
otherwise fall due again tomorrow. All days are calendar days of the site.
"""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from equip.rules.days import OUTSIDE, add_months

Standing = Literal["ok", "due", "overdue"]

BroughtBy = Literal["day", "certificate", "count", "move"]

NO_DAY = date.max
"""Stands for the day of a duty that only a count brings round."""


@dataclass(frozen=True, slots=True)
class Duty:
    """What comes round, and how often.

    *anchor* is the first due day; the others follow every so many months or days, one of the
    two, or none where a certificate's *not_after* alone governs. *every_count* are uses or
    cycles since it was last met. *grounds* says that the item may not be used once it is
    overdue. With *counts* or a *certificate* that is needed it may go without an interval.
    `ValueError` for an interval that is none.
    """

    duty: str
    anchor: date
    every_months: int | None = None
    every_days: int | None = None
    not_after: date | None = None
    every_count: int | None = None
    grounds: bool = False
    counts: bool = False
    certificate: bool = False

    def __post_init__(self) -> None:
        for name in ("every_months", "every_days", "every_count"):
            whole(name, getattr(self, name), least=1)
        if self.every_months is not None and self.every_days is not None:
            raise ValueError(
                "A duty comes round in months or in days, not both:"
                f" every_months {self.every_months} and every_days {self.every_days} were read."
            )
        if self.comes_round:
            self.day(1)
        elif self.not_after is None and not self.without_interval:
            raise ValueError(
                "How often is missing: give every_months or every_days,"
                " or the not_after of a certificate."
            )

    @property
    def comes_round(self) -> bool:
        return self.every_months is not None or self.every_days is not None

    @property
    def without_interval(self) -> bool:
        """Whether something else than months or days may bring it round."""
        return self.certificate or (self.counts and self.every_count is not None)

    def day(self, step: int) -> date:
        """The due day that many steps after the anchor."""
        if self.every_months is not None:
            return add_months(self.anchor, step * self.every_months)
        return _on(self.anchor.toordinal() + step * (self.every_days or 0))

    def steps_past(self, day: date) -> int:
        """How many steps from the anchor the first due day after *day* stands, without a walk."""
        if self.every_months is None:
            return max(0, (day - self.anchor).days // (self.every_days or 1) + 1)
        months = (day.year - self.anchor.year) * 12 + day.month - self.anchor.month
        step = max(0, months // self.every_months)
        # Within the month the day decides; before the anchor the anchor is the first.
        return step + 1 if self.day(step) <= day else step


def _on(ordinal: int) -> date:
    if ordinal > date.max.toordinal():
        raise ValueError(OUTSIDE)
    return date.fromordinal(ordinal)


def next_due(duty: Duty, last_met: date | None) -> date:
    """The first due day after *last_met*, the due day last satisfied; the anchor if none was.

    A *last_met* before the anchor, as after a change of interval, leaves the anchor as the
    first. A certificate's *not_after* that comes earlier governs, whatever was met: only a new
    certificate moves it.
    """
    days = (_next_of_interval(duty, last_met), _end_of_certificate(duty))
    return min((day for day in days if day is not None), default=NO_DAY)


def _end_of_certificate(duty: Duty) -> date | None:
    """A certificate that is needed and was never handed in is missing from the anchor on."""
    if duty.not_after is None and duty.certificate:
        return duty.anchor
    return duty.not_after


def _next_of_interval(duty: Duty, last_met: date | None) -> date | None:
    if not duty.comes_round:
        return None
    return duty.anchor if last_met is None else duty.day(duty.steps_past(last_met))


def day_met(duty: Duty, last_met: date | None, done: date) -> date:
    """The due day that work finished on *done* satisfies: what goes into the ledger as met.

    Done late, it satisfies every due day up to then, so the latest of them; done early, the
    next one. For a certificate alone it is the certificate's day, for a count alone that of
    doing.
    """
    first = _next_of_interval(duty, last_met)
    if first is None:
        day = next_due(duty, last_met)
        return done if day == NO_DAY else day
    return max(first, duty.day(max(0, duty.steps_past(done) - 1)))


def standing(
    due_on: date,
    today: date,
    *,
    count: int | None = None,
    every_count: int | None = None,
    last_day: date | None = None,
) -> Standing:
    """Overdue after the day; due on it, or when the count is reached; before that ok.

    A count that is passed is due and not overdue: only a day can be missed. A *last_day* that is
    later than the due day is how long it may run over.
    """
    if today > (due_on if last_day is None else last_day):
        return "overdue"
    return "due" if today >= due_on or _counted_out(count, every_count) else "ok"


@dataclass(frozen=True, slots=True)
class Falls:
    """When a duty falls due and the last day it may be left, what brings it, how it stands."""

    due_on: date
    last_day: date
    brought_by: BroughtBy
    standing: Standing


def falls(
    day: date,
    today: date,
    *,
    not_after: date | None = None,
    reached: date | None = None,
    move_by: date | None = None,
    tolerance_days: int = 0,
) -> Falls:
    """The earliest of the day of the interval, the certificate's, the day on which the count
    was reached, and the one by which it has to be done after a move.

    A tolerance never outlasts a certificate: nobody here may lengthen what a report says.
    """
    due_on, brought_by = day, "day"
    if reached is not None and reached <= due_on:
        due_on, brought_by = reached, "count"
    if move_by is not None and move_by < due_on:
        due_on, brought_by = move_by, "move"
    if not_after is not None and not_after <= due_on:
        due_on, brought_by = not_after, "certificate"
    last = due_on
    if tolerance_days and due_on < NO_DAY:
        last = _on(min(due_on.toordinal() + tolerance_days, NO_DAY.toordinal()))
        if not_after is not None and not_after < last:
            last = max(due_on, not_after)
    stands: Standing = "overdue" if today > last else "due" if today >= due_on else "ok"
    return Falls(due_on, last, brought_by, stands)  # type: ignore[arg-type]


def _counted_out(count: int | None, every_count: int | None) -> bool:
    return count is not None and every_count is not None and count >= every_count


def whole(name: str, value: object, *, least: int) -> int | None:
    """*value* if it is a whole number from *least* up or None; else `ValueError`."""
    if value is None or (isinstance(value, int) and type(value) is not bool and value >= least):
        return value
    raise ValueError(f"{name} must be a whole number from {least} up; {shown(value)} was read.")


def shown(value: object) -> str:
    """What was read, short enough for a sentence."""
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:39]}…"
