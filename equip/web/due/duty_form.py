"""The form of a duty's terms, read."""

from datetime import date
from decimal import Decimal
from typing import Any

from flask import request

from equip.desk.act.act import Refused
from equip.facts import DutyTerms
from equip.rules.upkeep.words import HOW_COUNTED, SHIFTS
from equip.web.request.forms import chosen, day, decimal, label, needed, text, whole


def duty_asked(today: date) -> dict[str, Any]:
    """What `set_duty` takes, out of the form; without a first day, today is one."""
    return {
        "duty": needed("duty"),
        "anchor": day("anchor") if text("anchor") else today,
        "every_months": whole("every_months"),
        "every_days": whole("every_days"),
        "grounds": bool(text("grounds")),
        "terms": _terms(),
    }


def _terms() -> DutyTerms:
    cost = decimal("cost")
    if cost is not None and cost < 0:
        raise Refused(f"“{label('cost')}” cannot be below nought; {cost} was read.")
    return DutyTerms(
        every_count=whole("every_count"),
        counts=_one_of("counts", ("", *HOW_COUNTED)),
        already=whole("already"),
        tolerance_days=whole("tolerance_days"),
        shift=_one_of("shift", tuple(SHIFTS)),
        certificate=bool(text("certificate")),
        not_after=maybe_day("not_after"),
        after_move_days=whole("after_move_days") if text("after_move_days") else None,
        cost=cost,
        source=text("source", 200),
    )


def _one_of(name: str, among: tuple[str, ...]) -> Any:
    return chosen(name, among) if name in request.form else ""


def maybe_day(name: str) -> date | None:
    return day(name) if text(name) else None


def number_needed(name: str) -> Decimal:
    value = decimal(name)
    if value is None:
        raise Refused(f"“{label(name)}” is empty: fill it in.")
    return value
