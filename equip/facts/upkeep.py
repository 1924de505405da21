"""Upkeep: the terms of a duty, duties of a whole type, meters as they were read."""

from datetime import date
from decimal import Decimal
from typing import ClassVar, Literal

from equip.facts.base import Fact, Value

Counts = Literal["", "uses", "cycles", "hours", "counter"]
Shift = Literal["", "none", "before", "after"]
Meter = Literal["hours", "counter"]
MeterWord = Literal["read", "replaced", "rolled-over", "corrects"]


class DutyTerms(Value, frozen=True, kw_only=True):
    """What else a duty goes by than months or days.

    *every_count* of *counts* (uses and cycles of this book, hours and cycles by the thing's own
    meter), *already* counted when it was set. *tolerance_days* it may run over. *shift* moves a
    due day off closed days, "" as the rule book says. *certificate*: a report with an end date
    of its own is needed, and *not_after* is the end of the one in hand. *after_move_days*: due
    so many days after it was moved or came back from outside. *cost* is that of one time in the
    clinic's own currency, *source* where the interval comes from.
    """

    every_count: int = 0
    counts: Counts = ""
    already: int = 0
    tolerance_days: int = 0
    shift: Shift = ""
    certificate: bool = False
    not_after: date | None = None
    after_move_days: int | None = None
    cost: Decimal | None = None
    source: str = ""


class TypeDutySet(Fact, frozen=True, kw_only=True, tag="type-duty-set"):
    """A duty of every thing of a type, unless the thing has one of that name of its own.

    *anchor* is the first due day of what is on the register; what comes later falls due an
    interval after its arrival.
    """

    type: str
    duty: str
    anchor: date
    every_months: int = 0
    every_days: int = 0
    grounds: bool = False
    terms: DutyTerms | None = None


class DutyDropped(Fact, frozen=True, kw_only=True, tag="duty-dropped"):
    """A thing, or a type, has that duty no longer."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    duty: str
    why: str
    item: str = ""
    type: str = ""


class MeterRead(Fact, frozen=True, kw_only=True, tag="meter-read"):
    """What a thing's own meter showed. A lower reading needs a word other than *read*.

    *replaced*: *ended* is what the old one showed last, if anybody knows, *began* what the new
    one stood at. *rolled-over*: *ended* is where it begins again at nought. *corrects*: the
    reading before it was a slip and counts no more.
    """

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    meter: Meter
    reading: Decimal
    how: MeterWord = "read"
    ended: Decimal | None = None
    began: Decimal | None = None
    note: str = ""
