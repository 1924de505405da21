"""Upkeep: the terms of a duty, of one item or of a whole type; duties met; meters read."""

from datetime import date
from decimal import Decimal
from typing import ClassVar, Literal

from equip.facts.base import Fact, Stamp, Value

Counts = Literal["", "uses", "cycles", "hours", "counter"]
Shift = Literal["", "none", "before", "after"]
Meter = Literal["hours", "counter"]
MeterWord = Literal["read", "replaced", "rolled-over", "corrects"]


class DutyTerms(Value, frozen=True, kw_only=True):
    """What else a duty goes by than months or days.

    *every_count* of *counts* (uses and cycles of this book, hours and cycles by the item's own
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


class DutyTold(Fact, frozen=True, kw_only=True):
    """What a duty of an item and one of a whole type tell alike: all that it goes by.

    *anchor* is the first due day; *grounds* says whether the item may not be used once it is
    overdue.
    """

    duty: str
    anchor: date
    every_months: int = 0
    every_days: int = 0
    grounds: bool = False
    terms: DutyTerms | None = None


class DutySet(DutyTold, frozen=True, kw_only=True, tag="duty-set"):
    """A duty of one item; one of the same name is replaced and begins anew."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str


class TypeDutySet(DutyTold, frozen=True, kw_only=True, tag="type-duty-set"):
    """A duty of every item of a type, unless the item has one of that name of its own.

    What is on the register falls due on the *anchor* for the first time; what comes later, an
    interval after its arrival.
    """

    type: str


class RemindersSet(Fact, frozen=True, kw_only=True, tag="reminders-set"):
    """Own days ahead of a duty, and over it, on which people are told; None is the rule."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    duty: str
    lead_days: int | None = None
    escalate_days: int | None = None


class DutyMet(Fact, frozen=True, kw_only=True, tag="duty-met"):
    """*due* is the due day that was satisfied, not the day of doing.

    *not_after* is the end of the certificate that came of it, *counts_from* the moment from
    which is counted anew, *counted* how many had been counted by then; *work* the piece of work
    that it was, *certificate* the file by its hash.
    """

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    duty: str
    due: date
    done: date
    note: str = ""
    not_after: date | None = None
    counts_from: Stamp | None = None
    counted: int | None = None
    work: str = ""
    certificate: str = ""


class DutyDropped(Fact, frozen=True, kw_only=True, tag="duty-dropped"):
    """An item, or a type, has that duty no longer."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    duty: str
    why: str
    item: str = ""
    type: str = ""


class MeterRead(Fact, frozen=True, kw_only=True, tag="meter-read"):
    """What an item's own meter showed. A lower reading needs a word other than *read*.

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
