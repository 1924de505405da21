"""`check due`: one duty as a JSON object, judged; no database, no clock."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from equip.facts import DutyTerms
from equip.rules.upkeep.due import Duty, checked, falls, next_due, shown, standing, whole
from equip.rules.verdict import Reason
from equip.typed import calendar_day

_GIVEN = (
    "anchor",
    "every_months",
    "every_days",
    "last_met",
    "today",
    "count",
    "every_count",
    "not_after",
    "tolerance_days",
)


def check_due(given: Mapping[str, Any]) -> dict[str, Any]:
    """`check due`: next due day, standing and reasons, for a JSON object.

    In: *anchor*, *every_months* or *every_days*, *last_met* or null, *today*; optional *count*,
    *every_count*, *not_after*, *tolerance_days*. `ValueError` with a sentence for anything else.
    """
    if unknown := sorted(str(name) for name in given if name not in _GIVEN):
        raise ValueError(f"Unknown: {', '.join(unknown)}. Known are {', '.join(_GIVEN)}.")
    every_count = _number(given, "every_count", least=1)
    duty = checked(
        Duty(
            anchor=_day_needed(given, "anchor"),
            every_months=_number(given, "every_months", least=1),
            every_days=_number(given, "every_days", least=1),
            terms=DutyTerms(
                every_count=every_count or 0,
                not_after=_day_read(given, "not_after"),
                tolerance_days=_number(given, "tolerance_days", least=0) or 0,
            ),
        )
    )
    count = _number(given, "count", least=0)
    today = _day_needed(given, "today")
    due_on = next_due(duty, _day_read(given, "last_met"))
    last = falls(due_on, today, duty.terms).last_day
    stands = standing(due_on, today, count=count, every_count=every_count, last_day=last)
    reasons = (
        *_of_the_day(due_on, today, duty.terms.not_after),
        *_of_the_count(count, every_count),
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
    return whole(name, value, least=least)


def _day_needed(given: Mapping[str, Any], name: str) -> date:
    day = _day_read(given, name)
    if day is None:
        raise ValueError(f"{name} is missing: give a day as YYYY-MM-DD.")
    return day


def _day_read(given: Mapping[str, Any], name: str) -> date | None:
    value = given.get(name)
    if value is None:
        return None
    found = calendar_day(value) if isinstance(value, str) else None
    if found is not None:
        return found
    raise ValueError(
        f"{name} must be a day of the calendar as YYYY-MM-DD; {shown(value)} was read."
    )
