"""One duty as the command line answers with it."""

from collections.abc import Sequence
from typing import Any

from equip.desk.upkeep.due_line import Due


def answered(one: Due, names: Sequence[str]) -> dict[str, Any]:
    """Its standing, what it stops and does not stop, who may override, every reason.

    *next_due* is null where only a count brings it round and no day can be told.
    """
    expects = one.expected
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
        "counted": one.row.counted if one.row is not None and one.row.counts else None,
        "every_count": one.row.every_count or None if one.row is not None else None,
        "counts": one.row.counts or None if one.row is not None else None,
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
        codes = {"certificate": "certificate-governs", "count": "count-reached", "move": "moved"}
        found.append({"code": codes[one.brought_by], "says": one.why})
    return found
