"""Machines: their tests, the sheet of the day, cycles judged again, logs and how they are read."""

from datetime import date
from decimal import Decimal
from typing import ClassVar

import msgspec

from equip.facts.base import Fact, RuleUsed, Told, Verdict


class MachineTested(Fact, frozen=True, kw_only=True, tag="machine-tested"):
    """A periodic test of a machine: what was read, the verdict, the rules it was judged by.

    *cycle_no* is the machine's own number of the test cycle, where one was run for it; *load* the
    load that the test was in, where it was in one: then *at* is when that load ran.
    """

    names: ClassVar[tuple[str, ...]] = ("machine", "load")
    machine: str
    test: str
    verdict: Verdict
    readings: dict[str, str] = msgspec.field(default_factory=dict)
    reasons: tuple[Told, ...] = ()
    rules: tuple[RuleUsed, ...] = ()
    cycle_no: str = ""
    note: str = ""
    load: str = ""


class BathFilled(Fact, frozen=True, kw_only=True, tag="bath-filled"):
    """A soak bath was filled anew from *lot*: day 1 of its days of use is this day."""

    names: ClassVar[tuple[str, ...]] = ("machine", "lot")
    machine: str
    lot: str
    note: str = ""


class SheetSigned(Fact, frozen=True, kw_only=True, tag="sheet-signed"):
    """Somebody answers for the machine's sheet of that day."""

    names: ClassVar[tuple[str, ...]] = ("machine",)
    machine: str
    day: date
    lapses: tuple[Told, ...] = ()


class ReferenceChosen(Fact, frozen=True, kw_only=True, tag="reference-chosen"):
    """The stored, passed log of *load* is what later cycles of this machine and programme are
    compared with. The latest for machine and programme holds."""

    names: ClassVar[tuple[str, ...]] = ("machine", "load")
    machine: str
    programme: str
    load: str
    reason: str


class Rejudged(Fact, frozen=True, kw_only=True, tag="rejudged"):
    """Stored cycles of a machine judged again, under other rules or a corrected sensor.

    Nothing is overwritten: *flipped* are the loads whose verdict would be another, with the
    verdict they would have. Readings were taken as reading x gain + offset.
    """

    names: ClassVar[tuple[str, ...]] = ("machine", "flipped")
    machine: str
    since: date
    until: date
    book: str
    digest: str
    reason: str
    judged: int
    flipped: tuple[str, ...] = ()
    verdicts: tuple[Verdict, ...] = ()
    rules_of: date | None = None
    offset_k: Decimal = Decimal(0)
    gain: Decimal = Decimal(1)
    uncertainty_k: Decimal = Decimal(0)


class LayoutSet(Fact, frozen=True, kw_only=True, tag="layout-set"):
    """How a machine writes its log from now on; the newest for a machine holds.

    *layout* is the text that `log_layout.to_json` writes, "" for the plain log. A load keeps the
    layout that its own log was read by.
    """

    names: ClassVar[tuple[str, ...]] = ("machine",)
    machine: str
    layout: str
    reason: str


class LogUnclaimed(Fact, frozen=True, kw_only=True, tag="log-unclaimed"):
    """A machine's log that belongs to no load the book knows: a cycle that nobody recorded?

    *log* is the SHA-256 of the file, *name* what the machine called it, *layout* what it was
    read by, *why* the sentence that says why no load took it.
    """

    names: ClassVar[tuple[str, ...]] = ("machine",)
    machine: str
    log: str
    name: str
    cycle_no: str = ""
    why: str = ""
    layout: str = ""


class LogExplained(Fact, frozen=True, kw_only=True, tag="log-explained"):
    """Somebody said what the cycle of a log that belongs to no load was."""

    names: ClassVar[tuple[str, ...]] = ("machine",)
    machine: str
    log: str
    reason: str
