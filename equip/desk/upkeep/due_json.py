"""One duty as the command line answers with it."""

from collections.abc import Sequence
from typing import Any

from equip.desk.upkeep.due_line import Due
from equip.facts import DutyTerms
from equip.rules.upkeep.words import BROUGHT


def answered(line: Due, names: Sequence[str]) -> dict[str, Any]:
    """Its standing, what it stops and does not stop, who may override, every reason.

    *next_due* is null where only a count brings it round and no day can be told.
    """
    expects = line.expected
    terms = DutyTerms() if line.row is None else line.row.terms
    return {
        "item": line.item,
        "label": line.label,
        "place": line.place,
        "duty": line.duty,
        "next_due": line.next_due.isoformat() if line.has_day else None,
        "last_day": line.last_day.isoformat() if line.has_day and expects is None else None,
        "standing": line.standing,
        "stops_use": line.stops and line.sort != "competence",
        "stops": line.says if line.standing == "overdue" else "",
        "does_not_stop": line.leaves if line.standing == "overdue" else "",
        "may_override": line.who_may(names) if line.standing == "overdue" else "",
        "reasons": _reasons(line),
        "counted": line.row.so_far.counted if line.row is not None and terms.counts else None,
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


def _reasons(line: Due) -> list[dict[str, str]]:
    code = {"ok": "day-ahead", "due": "day-reached", "overdue": "day-passed"}[line.standing]
    if not line.has_day:
        says = f"No day can be told: {line.counted_says} were counted."
        return [{"code": "count-ahead", "says": says}]
    if line.expected is not None:
        return [{"code": "count-expected", "says": line.why}]
    says = {
        "ok": f"It falls due on {line.next_due}.",
        "due": f"It is due since {line.next_due}; the last day is {line.last_day}.",
        "overdue": f"It was due on {line.next_due}; the last day was {line.last_day}.",
    }[line.standing]
    found = [{"code": code, "says": says}]
    if line.brought_by != "day":
        found.append({"code": BROUGHT[line.brought_by].code, "says": line.why})
    return found
