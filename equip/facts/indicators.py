"""Chemical indicators read and spore tests put in and read: what was in a load beside the things.

None of them changes what the load's log was judged to be. A spore test's result may come days
after the load was let go.
"""

from decimal import Decimal
from typing import ClassVar, Literal

from equip.facts.base import Fact, RuleUsed, Told

IndicatorPlace = Literal["in a pack", "in the chamber", "on the outside"]
IndicatorResult = Literal["pass", "fail", "unclear"]
SporeResult = Literal["negative", "positive", "invalid"]


class IndicatorRead(Fact, frozen=True, kw_only=True, tag="indicator-read"):
    """A chemical indicator as it was read. *reasons* say what it adds, by the lot's stated values.

    *again* is a second look at the one in the same place that was unclear.
    """

    names: ClassVar[tuple[str, ...]] = ("load", "lot", "pack")
    load: str
    lot: str
    where: IndicatorPlace
    result: IndicatorResult
    pack: str = ""
    again: bool = False
    reasons: tuple[Told, ...] = ()
    rules: tuple[RuleUsed, ...] = ()


class IndicatorNotTurned(Fact, frozen=True, kw_only=True, tag="indicator-not-turned"):
    """Whoever opened a pack saw that the indicator in it had not turned; nobody read its lot.

    *covers* is what the pack held: it goes round again.
    """

    names: ClassVar[tuple[str, ...]] = ("pack", "load", "covers")
    pack: str
    load: str
    covers: tuple[str, ...] = ()


class SporeTestPut(Fact, frozen=True, kw_only=True, tag="spore-test-put"):
    """A spore test went into the load; *with_control*: one of the same lot grows beside it."""

    names: ClassVar[tuple[str, ...]] = ("load", "machine", "lot")
    load: str
    machine: str
    lot: str
    with_control: bool


class SporeTestRead(Fact, frozen=True, kw_only=True, tag="spore-test-read"):
    """What the spore test came to. *invalid* is neither: it proves nothing and clears nothing."""

    names: ClassVar[tuple[str, ...]] = ("load", "machine", "lot")
    load: str
    machine: str
    lot: str
    result: SporeResult
    control_grew: bool | None = None
    incubated_h: Decimal | None = None
    incubator_c: Decimal | None = None
    reasons: tuple[Told, ...] = ()
    rules: tuple[RuleUsed, ...] = ()
