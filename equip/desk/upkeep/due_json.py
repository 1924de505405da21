"""One duty as the command line answers with it."""

from collections.abc import Sequence
from typing import Any

from equip.desk.upkeep.due_line import Due
from equip.facts import DutyTerms
from equip.rules.upkeep.words import BROUGHT


def answered(one: Due, names: Sequence[str]) -> dict[str, Any]:
    """Its standing, what it stops and does not stop, who may override, every reason.

    *next_due* is null where only a count brings it round and no day can be told.
    """
    expects = one.expected
    terms = DutyTerms() if one.row is None else one.row.terms
    return {
        "item": one.item,
        "label": one.label,
        "place": one.place,
        "duty": one.duty,
        "next_due": one.next_due.isoformat() if one.has_day else None,
        "last_day": one.last_day.isoformat() if one.has_day and expects is None else None,
        "standing": one.standing,
        "stops_use": one.stops and one.sort != "competence",
        "stops": one.says if one.standing == "overdue" else "",
        "does_not_stop": one.leaves if one.standing == "overdue" else "",
        "may_override": one.who_may(names) if one.standing == "overdue" else "",
        "reasons": _reasons(one),
        "counted": one.row.so_far.counted if one.row is not None and terms.counts else None,
        "every_count": terms.every_count or None,
        "counts": terms.counts or None,
        "expected": None
        if expects is None
        else {
            "day": expects.day.isoformat(),
            "earliest": expects.earliest.isoformat(),
            "latest": None if expects.latest is None else expects.latest.isoformat(),
            "per_day": round(expects.pace.per_day, 4),
            "per_day_low": round(expects.pace.low, 4),
            "per_day_high": round(expects.pace.high, 4),
        },
    }


def _reasons(one: Due) -> list[dict[str, str]]:
    code = {"ok": "day-ahead", "due": "day-reached", "overdue": "day-passed"}[one.standing]
    if not one.has_day:
        says = f"No day can be told: {one.counted_says} were counted."
        return [{"code": "count-ahead", "says": says}]
    if one.expected is not None:
        return [{"code": "count-expected", "says": one.why}]
    says = {
        "ok": f"It falls due on {one.next_due}.",
        "due": f"It is due since {one.next_due}; the last day is {one.last_day}.",
        "overdue": f"It was due on {one.next_due}; the last day was {one.last_day}.",
    }[one.standing]
    found = [{"code": code, "says": says}]
    if one.brought_by != "day":
        found.append({"code": BROUGHT[one.brought_by].code, "says": one.why})
    return found
