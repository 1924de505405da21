"""The register: the site, its types, items, sets, places, people and rules."""

from datetime import date
from typing import ClassVar, Literal

from equip.facts.base import Arrival, Fact
from equip.facts.types import ItemType, Procedure


class SiteOpened(Fact, frozen=True, kw_only=True, tag="site-opened"):
    site: str
    name: str
    zone: str
    book: str


class TypeDefined(Fact, frozen=True, kw_only=True, tag="type-defined"):
    type: ItemType


class ProcedureDefined(Fact, frozen=True, kw_only=True, tag="procedure-defined"):
    """A kind of procedure, or a change of one: the latest of a code holds."""

    procedure: Procedure


class ItemAdded(Fact, frozen=True, kw_only=True, tag="item-added"):
    """*declared_by* is the person who vouches for stock taken over on going live: it was
    decontaminated on the day *decontaminated* (nobody said: on the day of the declaration), and
    lies *sealed* in a pouch or wrap since, or does not.
    """

    names: ClassVar[tuple[str, ...]] = ("item", "place", "declared_by")
    item: str
    type: str
    arrival: Arrival
    name: str = ""
    serial: str = ""
    maker_code: str = ""
    place: str = ""
    aliases: tuple[str, ...] = ()
    declared_by: str = ""
    decontaminated: date | None = None
    sealed: bool = False


class Arrived(Fact, frozen=True, kw_only=True, tag="arrived"):
    """It came back or came in from outside: what it met there is not known here."""

    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    arrival: Arrival
    sender: str = ""


class SentOut(Fact, frozen=True, kw_only=True, tag="sent-out"):
    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    receiver: str
    why: Literal["loan", "repair", "service"]


class Retired(Fact, frozen=True, kw_only=True, tag="retired"):
    names: ClassVar[tuple[str, ...]] = ("item",)
    item: str
    why: str


class TagReplaced(Fact, frozen=True, kw_only=True, tag="tag-replaced"):
    names: ClassVar[tuple[str, ...]] = ("item", "tag")
    item: str
    tag: str
    why: str


class Joined(Fact, frozen=True, kw_only=True, tag="joined"):
    names: ClassVar[tuple[str, ...]] = ("set", "item")
    set: str
    item: str


class Left(Fact, frozen=True, kw_only=True, tag="left"):
    names: ClassVar[tuple[str, ...]] = ("set", "item")
    set: str
    item: str


class PlaceAdded(Fact, frozen=True, kw_only=True, tag="place-added"):
    names: ClassVar[tuple[str, ...]] = ("place",)
    place: str
    name: str
    sort: Literal["clinical", "clean-room", "store", "bench"] = "clinical"


class PersonAdded(Fact, frozen=True, kw_only=True, tag="person-added"):
    """Also a change of the same person: the latest one holds. *old* is what they were called."""

    names: ClassVar[tuple[str, ...]] = ("person",)
    person: str
    name: str
    role: Literal["nurse", "manager", "auditor"]
    rights: tuple[str, ...] = ()
    active: bool = True
    old: str = ""


class RuleSet(Fact, frozen=True, kw_only=True, tag="rule-set"):
    """The clinic overrides a rule from a day on, with a reason."""

    rule: str
    value: str
    reason: str
    since: date
