"""Doubt, upkeep, trust: look-backs, duties, references that were unmasked."""

from datetime import date
from typing import ClassVar

from equip.facts.base import Fact


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


class DutyMet(Fact, frozen=True, kw_only=True, tag="duty-met"):
    """*due* is the due day that was satisfied, not the day of doing."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    duty: str
    due: date
    done: date
    note: str = ""


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
