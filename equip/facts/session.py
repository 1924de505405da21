"""Checks ahead of a session: what was looked at or measured, and when they hold no longer."""

from decimal import Decimal
from typing import ClassVar, Literal

from equip.facts.base import Fact, RuleUsed, Told
from equip.facts.types import SessionCheck


class Checked(Fact, frozen=True, kw_only=True, tag="checked"):
    """One check of one thing. *value* is what was read, in *unit*, where it is measured.

    *lapses* says what stood against whoever did it, and why they did it all the same.
    """

    names: ClassVar[tuple[str, ...]] = ("item", "supervisor")
    item: str
    check: SessionCheck
    passed: bool
    value: Decimal | None = None
    unit: str = ""
    reasons: tuple[Told, ...] = ()
    rules: tuple[RuleUsed, ...] = ()
    note: str = ""
    lapses: tuple[Told, ...] = ()
    supervisor: str = ""


class ChecksOver(Fact, frozen=True, kw_only=True, tag="checks-over"):
    """The checks of *covers* hold no longer: the session ended, or something happened to them."""

    names: ClassVar[tuple[str, ...]] = ("covers",)
    covers: tuple[str, ...]
    why: Literal["session", "mark"] = "session"
