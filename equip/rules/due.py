"""When a duty that comes round falls due next, and how it stands today.

Due days are counted from an anchor, never from the day before them, so a month-end does not
drift: from 31 January, monthly, they are the last of February, 31 March, 30 April. What moves a
duty on is the due day that was satisfied, not the day of doing; work done a day early would
otherwise fall due again tomorrow. All days are calendar days of the site.
"""

import re
from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from equip.rules.verdict import Reason

Standing = Literal["ok", "due", "overdue"]

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_OUTSIDE = "The next due day is outside the calendar (1 to 9999): give a shorter interval."
_GIVEN = (
    "anchor",
    "every_months",
    "every_days",
    "last_met",
    "today",
    "count",
    "every_count",
    "not_after",
)


@dataclass(frozen=True, slots=True)
class Duty:
    """What comes round, and how often.

    *anchor* is the first due day; the others follow every so many months or days, one of the
    two, or none where a certificate's *not_after* alone governs. *every_count* are uses or
    cycles since it was last met. *grounds* says that the item may not be used once it is
    overdue. `ValueError` for an interval that is none.
    """

    duty: str
    anchor: date
    every_months: int | None = None
    every_days: int | None = None
    not_after: date | None = None
    every_count: int | None = None
    grounds: bool = False

    def __post_init__(self) -> None:
        for name in ("every_months", "every_days", "every_count"):
            _whole(name, getattr(self, name), least=1)
        if self.every_months is not None and self.every_days is not None:
            raise ValueError(
                "A duty comes round in months or in days, not both:"
                f" every_months {self.every_months} and every_days {self.every_days} were read."
            )
        if self.comes_round:
            self.day(1)
        elif self.not_after is None:
            raise ValueError(
                "How often is missing: give every_months or every_days,"
                " or the not_after of a certificate."
            )

    @property
    def comes_round(self) -> bool:
        return self.every_months is not None or self.every_days is not None

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


def add_months(day: date, months: int) -> date:
    """*day* moved by whole months, on the last of the month where the month is too short."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not date.min.year <= year <= date.max.year:
        raise ValueError(_OUTSIDE)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def _on(ordinal: int) -> date:
    if ordinal > date.max.toordinal():
        raise ValueError(_OUTSIDE)
    return date.fromordinal(ordinal)


def next_due(duty: Duty, last_met: date | None) -> date:
    """The first due day after *last_met*, the due day last satisfied; the anchor if none was.

    A *last_met* before the anchor, as after a change of interval, leaves the anchor as the
    first. A certificate's *not_after* that comes earlier governs, whatever was met: only a new
    certificate moves it.
    """
    days = (_next_of_interval(duty, last_met), duty.not_after)
    return min(day for day in days if day is not None)


def _next_of_interval(duty: Duty, last_met: date | None) -> date | None:
    if not duty.comes_round:
        return None
    return duty.anchor if last_met is None else duty.day(duty.steps_past(last_met))


def day_met(duty: Duty, last_met: date | None, done: date) -> date:
    """The due day that work finished on *done* satisfies: what goes into the ledger as met.

    Done late, it satisfies every due day up to then, so the latest of them; done early, the
    next one. For a certificate alone it is the certificate's day.
    """
    first = _next_of_interval(duty, last_met)
    if first is None:
        return next_due(duty, last_met)
    return max(first, duty.day(max(0, duty.steps_past(done) - 1)))


def standing(
    due_on: date, today: date, *, count: int | None = None, every_count: int | None = None
) -> Standing:
    """Overdue after the day; due on it, or when the count is reached; before that ok.

    A count that is passed is due and not overdue: only a day can be missed.
    """
    if today > due_on:
        return "overdue"
    return "due" if today == due_on or _counted_out(count, every_count) else "ok"


def _counted_out(count: int | None, every_count: int | None) -> bool:
    return count is not None and every_count is not None and count >= every_count


def check_due(given: Mapping[str, Any]) -> dict[str, Any]:
    """`check due`: next due day, standing and reasons, for a JSON object.

    In: *anchor*, *every_months* or *every_days*, *last_met* or null, *today*; optional *count*,
    *every_count*, *not_after*. `ValueError` with a sentence for anything else.
    """
    if unknown := sorted(str(name) for name in given if name not in _GIVEN):
        raise ValueError(f"Unknown: {', '.join(unknown)}. Known are {', '.join(_GIVEN)}.")
    duty = Duty(
        duty="duty",
        anchor=_day_needed(given, "anchor"),
        every_months=_number(given, "every_months", least=1),
        every_days=_number(given, "every_days", least=1),
        not_after=_day_read(given, "not_after"),
        every_count=_number(given, "every_count", least=1),
    )
    count = _number(given, "count", least=0)
    today = _day_needed(given, "today")
    due_on = next_due(duty, _day_read(given, "last_met"))
    stands = standing(due_on, today, count=count, every_count=duty.every_count)
    reasons = (
        *_of_the_day(due_on, today, duty.not_after),
        *_of_the_count(count, duty.every_count),
    )
    return {
        "next_due": due_on.isoformat(),
        "standing": stands,
        "reasons": [{"code": reason.code, "says": reason.says} for reason in reasons],
    }


def _of_the_day(due_on: date, today: date, not_after: date | None) -> list[Reason]:
    days = abs((due_on - today).days)
    span = "1 day" if days == 1 else f"{days} days"
    if today > due_on:
        said = [Reason("day-passed", f"It was due on {due_on}, {span} before {today}.")]
    elif today == due_on:
        said = [Reason("day-reached", f"It is due today, {due_on}.")]
    else:
        said = [Reason("day-ahead", f"It falls due on {due_on}, in {span}.", spoils="pass")]
    if due_on == not_after:
        says = f"The date on the certificate, {not_after}, governs."
        said.append(Reason("certificate-governs", says, spoils="pass"))
    return said


def _of_the_count(count: int | None, every_count: int | None) -> list[Reason]:
    if every_count is None and count is None:
        return []
    if every_count is None:
        says = f"{count} were counted, but no every_count was given: only the day was judged."
        return [Reason("count-not-judged", says, spoils="pass")]
    if count is None:
        says = f"It falls due every {every_count}, but no count was given: only the day was judged."
        return [Reason("count-not-judged", says, spoils="pass")]
    if count >= every_count:
        return [Reason("count-reached", f"{count} were counted; it falls due at {every_count}.")]
    says = f"{count} of {every_count} were counted."
    return [Reason("count-ahead", says, spoils="pass")]


def _number(given: Mapping[str, Any], name: str, *, least: int) -> int | None:
    """A whole number, whichever way it is spelt: JSON's 12 and 12.0 are the same number."""
    value = given.get(name)
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return _whole(name, value, least=least)


def _whole(name: str, value: object, *, least: int) -> int | None:
    if value is None or (isinstance(value, int) and type(value) is not bool and value >= least):
        return value
    raise ValueError(f"{name} must be a whole number from {least} up; {_read(value)} was read.")


def _day_needed(given: Mapping[str, Any], name: str) -> date:
    day = _day_read(given, name)
    if day is None:
        raise ValueError(f"{name} is missing: give a day as YYYY-MM-DD.")
    return day


def _day_read(given: Mapping[str, Any], name: str) -> date | None:
    value = given.get(name)
    if value is None:
        return None
    if isinstance(value, str) and _DAY.fullmatch(value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            pass
    raise ValueError(
        f"{name} must be a day of the calendar as YYYY-MM-DD; {_read(value)} was read."
    )


def _read(value: object) -> str:
    """What was read, short enough for a sentence."""
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:39]}…"
