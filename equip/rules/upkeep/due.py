"""When a duty that comes round falls due next, and how it stands today.

Due days are counted from an anchor, never from the day before them, so a month-end does not
drift: from 31 January, monthly, they are the last of February, 31 March, 30 April. What moves a
duty on is the due day that was satisfied, not the day of doing; work done a day early would
otherwise fall due again tomorrow. All days are calendar days of the site.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Literal, Self

import msgspec
from msgspec.structs import replace

from equip.facts import DutyTerms, DutyTold
from equip.rules.days import OUTSIDE, add_months

Standing = Literal["ok", "due", "overdue"]

BroughtBy = Literal["day", "certificate", "count", "move"]

_DAY: BroughtBy = "day"
NO_DAY = date.max
"""Stands for the day of a duty that only a count brings round."""


OF_ONE_ITEM = ("already", "not_after")
"""Terms that only a duty of one item can have: a whole type has no past of its own."""


class Duty(msgspec.Struct, frozen=True):
    """All that a duty goes by.

    *anchor* is the first due day; the others follow every so many months or days, one of the
    two, or none where the *terms* bring it round: a count, or the end of a certificate. *grounds*
    says that the item may not be used once it is overdue. It is `checked` before it is told, and
    not again each time it is read.
    """

    anchor: date
    every_months: int | None = None
    every_days: int | None = None
    terms: DutyTerms = DutyTerms()
    grounds: bool = False

    @classmethod
    def told(cls, fact: DutyTold) -> Self:
        """As the ledger tells it."""
        return cls(
            fact.anchor,
            fact.every_months or None,
            fact.every_days or None,
            fact.terms or DutyTerms(),
            fact.grounds,
        )

    @property
    def comes_round(self) -> bool:
        """Whether an interval of the calendar brings it round."""
        return self.every_months is not None or self.every_days is not None

    @property
    def without_interval(self) -> bool:
        """Whether something else than an interval of the calendar may bring it round."""
        return self.terms.certificate or bool(self.terms.counts and self.terms.every_count)

    @property
    def watches(self) -> bool:
        """Whether what the item does, or what is done with it, bears on when it falls due."""
        return bool(self.terms.counts) or self.terms.after_move_days is not None

    @property
    def timing(self) -> "Duty":
        """The same without what no day depends on, so that those of the same days are equal."""
        if not (self.grounds or self.terms.source or self.terms.cost is not None):
            return self
        return replace(self, grounds=False, terms=replace(self.terms, cost=None, source=""))

    def begun(self, day: date) -> "Duty":
        """The same with another first due day."""
        return replace(self, anchor=day)

    def met(self, not_after: date | None) -> "Duty":
        """The same after it was met: counted anew, by the new certificate if there is one."""
        end = self.terms.not_after if not_after is None else not_after
        return replace(self, terms=replace(self.terms, already=0, not_after=end))

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


def checked(duty: Duty) -> Duty:
    """*duty* if it comes round at all; `ValueError` for an interval that is none."""
    months, days, terms = duty.every_months, duty.every_days, duty.terms
    whole("every_months", months, least=1)
    whole("every_days", days, least=1)
    whole("every_count", terms.every_count, least=0)
    if months is not None and days is not None:
        raise ValueError(
            "A duty comes round in months or in days, not both:"
            f" every_months {months} and every_days {days} were read."
        )
    if duty.comes_round:
        duty.day(1)
    elif terms.not_after is None and not duty.without_interval:
        raise ValueError(
            "How often is missing: give every_months or every_days,"
            " or the not_after of a certificate."
        )
    return duty


class SoFar(msgspec.Struct, frozen=True, omit_defaults=True):
    """What an item did since its duty was last met, as far as the duty watches it.

    How many were *counted*; when that *reached* what it falls due at, and when the item was
    *moved* first: moments in microseconds.
    """

    counted: int = 0
    reached: int | None = None
    moved: int | None = None

    @property
    def early(self) -> int | None:
        """The first moment that may bring the duty ahead of its day, None if nothing does."""
        moments = (self.reached, self.moved)
        return min((one for one in moments if one is not None), default=None)


NOTHING = SoFar()


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
    if duty.terms.not_after is None and duty.terms.certificate:
        return duty.anchor
    return duty.terms.not_after


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
    terms: DutyTerms,
    so_far: SoFar = NOTHING,
    day_of: Callable[[int], date] | None = None,
) -> Falls:
    """The earliest of *day*, its next of the interval or the certificate's, the day on which the
    count was reached, and the one by which it has to be done after a move.

    *day_of* gives the day of the site for a moment. A tolerance never outlasts a certificate:
    nobody here may lengthen what a report says.
    """
    due_on, brought_by = day, _DAY
    if so_far.early is not None and day_of is not None:
        due_on, brought_by = _brought(due_on, terms, so_far, day_of)
    not_after = terms.not_after
    if not_after is not None and not_after <= due_on:
        due_on, brought_by = not_after, "certificate"
    last = due_on
    if terms.tolerance_days and due_on < NO_DAY:
        last = _later(due_on, terms.tolerance_days)
        if not_after is not None and not_after < last:
            last = max(due_on, not_after)
    stands: Standing = "overdue" if today > last else "due" if today >= due_on else "ok"
    return Falls(due_on, last, brought_by, stands)


def _brought(
    due_on: date, terms: DutyTerms, so_far: SoFar, day_of: Callable[[int], date]
) -> tuple[date, BroughtBy]:
    """The day that something else than the calendar brings, where it is the earlier one."""
    brought_by = _DAY
    if so_far.reached is not None and (reached := day_of(so_far.reached)) <= due_on:
        due_on, brought_by = reached, "count"
    if so_far.moved is not None and terms.after_move_days is not None:
        move_by = _later(day_of(so_far.moved), terms.after_move_days)
        if move_by < due_on:
            due_on, brought_by = move_by, "move"
    return due_on, brought_by


def _later(day: date, days: int) -> date:
    """So many days later, at most the last of the calendar."""
    return date.fromordinal(min(day.toordinal() + days, NO_DAY.toordinal()))


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
