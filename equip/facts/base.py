"""What every fact is made of: two times, who, the act; the words several kinds share."""

from datetime import UTC, datetime
from decimal import Decimal
from typing import Annotated, ClassVar, Literal

import msgspec

Stamp = Annotated[datetime, msgspec.Meta(tz=True)]

Step = Literal[
    "wipe", "clean", "rinse", "dry", "disinfect", "inspect", "pack", "sterilise", "store"
]
Hazard = Literal["bacteria-viruses", "spores", "prions"]
Arrival = Literal["factory-new", "loaned", "repaired", "second-hand", "go-live"]
Contact = Literal["touches", "water-or-air", "neither"]
Ear = Literal["", "left", "right", "both"]
Verdict = Literal["pass", "fail", "undecided"]
Sureness = Literal["certain", "no-proof", "possible"]


class Value(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """Something a fact contains; it has no life of its own."""


class Told(Value, frozen=True, kw_only=True):
    """A reason as it was shown: a code for programs, a sentence for people."""

    code: str
    says: str
    at_s: Decimal | None = None


class RuleUsed(Value, frozen=True, kw_only=True):
    """A rule as it stood when something was decided by it."""

    id: str
    value: str
    unit: str = ""
    basis: str = ""
    source: str = ""


class Fact(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, tag_field="kind"):
    """Something that happened, told once and never edited.

    *at* is when it happened (UTC), *by* the badge of whoever did it ("" is the tool itself),
    *act* the act it belongs to. *claimed* keeps what a device said when its time was impossible.
    """

    names: ClassVar[tuple[str, ...]] = ()

    at: Stamp
    by: str
    act: str
    bench: str = ""
    claimed: Stamp | None = None

    def __post_init__(self) -> None:
        for name in ("at", "claimed"):
            told: datetime | None = getattr(self, name)
            if told is None or told.tzinfo is UTC:
                continue
            if told.tzinfo is None:
                raise ValueError(f"{type(self).__name__}: a time without a zone is not evidence")
            msgspec.structs.force_setattr(self, name, told.astimezone(UTC))
