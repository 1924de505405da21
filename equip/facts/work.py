"""A piece of work on a thing: raised, given to somebody, sent away, back, done, signed off."""

from datetime import date
from decimal import Decimal
from typing import ClassVar, Literal

from equip.facts.base import Fact

WorkDecision = Literal["service", "keep"]


class WorkRaised(Fact, frozen=True, kw_only=True, tag="work-raised"):
    """*duty* is the duty that it is to meet, "" for a repair. *out_of_use* from now on."""

    names: ClassVar[tuple[str, ...]] = ("work", "item")
    work: str
    item: str
    what: str
    duty: str = ""
    out_of_use: bool = False


class WorkAssigned(Fact, frozen=True, kw_only=True, tag="work-assigned"):
    """To a person who works here, or to a firm outside."""

    names: ClassVar[tuple[str, ...]] = ("work", "item", "person")
    work: str
    item: str
    person: str = ""
    firm: str = ""


class WorkSent(Fact, frozen=True, kw_only=True, tag="work-sent"):
    """Sent away with a statement of its decontamination, as it was given.

    *recorded* is what this book knows of it, line by line; *shown* whether an effective
    decontamination stands by that; *declared* what the sender states besides.
    """

    names: ClassVar[tuple[str, ...]] = ("work", "item")
    work: str
    item: str
    receiver: str
    shown: bool
    recorded: tuple[str, ...] = ()
    declared: str = ""


class WorkReceived(Fact, frozen=True, kw_only=True, tag="work-received"):
    """It came back: from outside, so what it met there is not known here."""

    names: ClassVar[tuple[str, ...]] = ("work", "item")
    work: str
    item: str
    sender: str = ""


class WorkDone(Fact, frozen=True, kw_only=True, tag="work-done"):
    """What was found and how it was left. Told again, the later one holds.

    *certificate* is the file by its hash, *issued* the day on it, *not_after* its end.
    """

    names: ClassVar[tuple[str, ...]] = ("work", "item")
    work: str
    item: str
    done: date
    found: str
    left: str
    parts: str = ""
    cost: Decimal | None = None
    certificate: str = ""
    certificate_name: str = ""
    issued: date | None = None
    not_after: date | None = None


class WorkSignedOff(Fact, frozen=True, kw_only=True, tag="work-signed-off"):
    """A manager decides: back to service, or kept back; whether it meets the duty."""

    names: ClassVar[tuple[str, ...]] = ("work", "item")
    work: str
    item: str
    decision: WorkDecision
    reason: str = ""
    meets: bool = False
