"""Doubt and trust: look-backs raised and decided, references that were unmasked, proof given."""

from typing import ClassVar

from equip.facts.base import Fact, Value


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
