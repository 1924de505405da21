"""The form of a duty: its fields described once, for the page that shows them and for reading."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from flask import request
from msgspec import convert

from equip.desk.act.act import Refused
from equip.desk.upkeep.duty_acts import GoesBy
from equip.facts import DutyTerms
from equip.rules.upkeep.due import OF_ONE_ITEM
from equip.rules.upkeep.words import HOW_COUNTED, SHIFTS
from equip.web.request.forms import (
    chosen,
    day,
    decimal,
    label,
    maybe_day,
    needed,
    text,
    whole,
)

FieldKind = Literal["number", "amount", "day", "tick", "choice", "line"]


@dataclass(frozen=True, slots=True)
class DutyField:
    """One field: what it is called in the facts, what stands beside it, what may stand in it.

    *least* and *most* bound a number; *most* is the length of a line. *empty* is what an empty
    number means.
    """

    name: str
    label: str
    kind: FieldKind
    hint: str = ""
    least: int = 0
    most: int = 0
    choices: tuple[tuple[str, str], ...] = ()
    empty: int | None = 0

    @property
    def of_one_item(self) -> bool:
        """Whether only a duty of one item has it, and no duty of a whole type."""
        return self.name in OF_ONE_ITEM


HOW_OFTEN: tuple[tuple[DutyField, ...], ...] = (
    (
        DutyField("every_months", "Every so many months", "number", least=1, most=1200),
        DutyField("every_days", "or every so many days", "number", least=1, most=36500),
    ),
    (
        DutyField("every_count", "Each time so many were counted", "number", least=1, most=999999),
        DutyField("counts", "of", "choice", choices=(("", "no count"), *HOW_COUNTED.items())),
    ),
    (
        DutyField(
            "already",
            "Counted already since it was last done",
            "number",
            hint="(if known)",
            most=999999,
        ),
    ),
    (DutyField("certificate", "The end on its certificate or report governs", "tick"),),
    (DutyField("not_after", "The one in hand ends on", "day", hint="(empty: there is none yet)"),),
)
"""What brings it round, a row each."""

GROUNDS = DutyField("grounds", "Once it is overdue, it may not be used", "tick")

MORE: tuple[tuple[DutyField, ...], ...] = (
    (
        DutyField(
            "tolerance_days",
            "Days it may run over",
            "number",
            hint="(never past a certificate)",
            most=3650,
        ),
        DutyField("shift", "A due day on a closed day", "choice", choices=tuple(SHIFTS.items())),
        DutyField(
            "after_move_days",
            "Moved or back from repair: due within so many days",
            "number",
            hint="(0: at once; empty: no matter)",
            most=3650,
            empty=None,
        ),
        DutyField("cost", "Cost of one time", "amount", hint="(in your own currency)", most=12),
    ),
    (
        DutyField(
            "source",
            "Where this interval comes from",
            "line",
            hint="(maker’s manual, law, local policy)",
            most=200,
        ),
    ),
)
"""What else holds, a row each."""

FIELDS = (
    *(of for row in HOW_OFTEN for of in row),
    GROUNDS,
    *(of for row in MORE for of in row),
)


def duty_asked(today: date, *, of_type: bool = False) -> tuple[str, date, GoesBy]:
    """The duty, its first day and what it goes by, out of the form; without a day, today is one."""
    asked = [of for of in FIELDS if not (of_type and of.of_one_item)]
    given = {of.name: _READERS[of.kind](of) for of in asked}
    terms = {name: given.pop(name) for name in DutyTerms.__struct_fields__ if name in given}
    goes_by = convert({**given, "terms": convert(terms, DutyTerms)}, GoesBy)
    return needed("duty"), day("anchor") if text("anchor") else today, goes_by


def _number(of: DutyField) -> int | None:
    return whole(of.name) if text(of.name) else of.empty


def _amount(of: DutyField) -> Decimal | None:
    value = decimal(of.name)
    if value is not None and value < 0:
        raise Refused(f"“{label(of.name)}” cannot be below nought; {value} was read.")
    return value


def _choice(of: DutyField) -> str:
    return chosen(of.name, [code for code, _ in of.choices]) if of.name in request.form else ""


_READERS: dict[FieldKind, Callable[[DutyField], object]] = {
    "number": _number,
    "amount": _amount,
    "day": lambda of: maybe_day(of.name),
    "tick": lambda of: bool(text(of.name)),
    "choice": _choice,
    "line": lambda of: text(of.name, of.most),
}


def number_needed(name: str) -> Decimal:
    value = decimal(name)
    if value is None:
        raise Refused(f"“{label(name)}” is empty: fill it in.")
    return value
