"""Lots: what is used up on the way (wipes, agents, strips, indicators), known by its lot."""

from datetime import date
from decimal import Decimal
from typing import ClassVar, Literal

from equip.facts.base import Fact, Hazard, RuleUsed, Value

LotSort = Literal[
    "wipe",
    "agent",
    "detergent",
    "test-strip",
    "chemical-indicator",
    "spore-test",
    "waterline",
    "other",
]


class Stated(Value, frozen=True, kw_only=True):
    """What a packet states of itself; what it does not state is None.

    *contact_s* is how long a wiped surface stays wet, in seconds; *open_days* how long it may
    serve once it is opened; *agent* the rule book's name of a soaking agent. An indicator states
    its *type* (1 to 6, ISO 11140-1) and the heat in °C and the seconds at which it turns; a spore
    test how many hours it is incubated before it is read, *incubate_h*; what disinfects a
    waterline how strong it is as it is run through, in *percent*.
    """

    contact_s: int | None = None
    open_days: int | None = None
    agent: str = ""
    type: int | None = None
    celsius: Decimal | None = None
    seconds: Decimal | None = None
    incubate_h: int | None = None
    percent: Decimal | None = None


class LotAdded(Fact, frozen=True, kw_only=True, tag="lot-added"):
    """A lot came in: *number* is its maker's, *expires* the last day on which it may serve."""

    names: ClassVar[tuple[str, ...]] = ("lot",)
    lot: str
    sort: LotSort
    name: str
    number: str
    expires: date | None = None
    stated: Stated = Stated()


class LotOpened(Fact, frozen=True, kw_only=True, tag="lot-opened"):
    """The packet or bottle was opened: its days of use run from here."""

    names: ClassVar[tuple[str, ...]] = ("lot",)
    lot: str


class LotDescribed(Fact, frozen=True, kw_only=True, tag="lot-described"):
    """Somebody told later which *agent* is in the packet, and what that *stops* by the *rules*.

    *covers* are what was disinfected with it before anybody wrote down what that stopped.
    """

    names: ClassVar[tuple[str, ...]] = ("lot", "covers")
    lot: str
    agent: str
    stops: tuple[Hazard, ...] = ()
    rules: tuple[RuleUsed, ...] = ()
    covers: tuple[str, ...] = ()


class LotFinished(Fact, frozen=True, kw_only=True, tag="lot-finished"):
    """Nothing of it is used from now on: used up, or taken out of use with a reason."""

    names: ClassVar[tuple[str, ...]] = ("lot",)
    lot: str
    why: str
