"""Doubt, upkeep, trust: look-backs, duties, references that were unmasked, proof given."""

from datetime import date
from typing import ClassVar

from equip.facts.base import Fact, Stamp, Value
from equip.facts.upkeep import DutyTerms


class DoubtRaised(Fact, frozen=True, kw_only=True, tag="doubt-raised"):
    names: ClassVar[tuple[str, ...]] = ("case", "loads")
    case: str
    loads: tuple[str, ...]
    why: str


class DoubtDecided(Fact, frozen=True, kw_only=True, tag="doubt-decided"):
    """*unfounded* lifts the doubt: what was in doubt counts again."""

    names: ClassVar[tuple[str, ...]] = ("case",)
    case: str
    decision: str
    reason: str
    unfounded: bool = False


class DutySet(Fact, frozen=True, kw_only=True, tag="duty-set"):
    """*grounds* says whether the item may not be used once it is overdue."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    duty: str
    anchor: date
    every_months: int = 0
    every_days: int = 0
    grounds: bool = False
    terms: DutyTerms | None = None


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


class PastBroughtIn(Fact, frozen=True, kw_only=True, tag="past-brought-in"):
    """Lines of a file of the past are in the book: those up to *line*, whose bytes are *digest*.

    *digest* is the SHA-256, in hex, of the file from its first line to the end of that one.
    """

    name: str
    line: int
    digest: str
    rows: int


class Unmasked(Fact, frozen=True, kw_only=True, tag="unmasked"):
    names: ClassVar[tuple[str, ...]] = ("patient",)
    patient: str
    reason: str


class TreeHead(Value, frozen=True, kw_only=True):
    """The tree over the seals of one site as far as it went: how many entries, its root in hex."""

    site: str
    size: int
    root: str


class ProofGiven(Fact, frozen=True, kw_only=True, tag="proof-given"):
    """The answer to a question of exposure left the house as a proof file.

    *digest* is the SHA-256, in hex, of the list of its files; *question* names no patient;
    *unmasked* says that references stand in it, and *reason* why.
    """

    names: ClassVar[tuple[str, ...]] = ("case", "loads", "patient")
    question: str
    digest: str
    trees: tuple[TreeHead, ...]
    case: str = ""
    loads: tuple[str, ...] = ()
    patient: str = ""
    unmasked: bool = False
    reason: str = ""
