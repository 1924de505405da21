"""What was measured of a thing itself: calibrations and electrical safety tests, as judged."""

from datetime import date
from decimal import Decimal
from typing import ClassVar, Literal

from equip.facts.base import Fact, RuleUsed, Told, Value, Verdict

Conforms = Literal["", "pass", "conditional-pass", "conditional-fail", "fail"]
Decides = Literal["simple", "guard-u", "guard-0.83u"]


class PointMeasured(Value, frozen=True, kw_only=True):
    """One point: what it should read, how far off it may be either way, what it read.

    *found* is before any adjustment, *left* after it; each with what it was judged, "" where
    nothing was read. *expanded_u* is the expanded uncertainty with its coverage factor *k*.
    """

    nominal: Decimal
    limit: Decimal
    found: Decimal | None = None
    left: Decimal | None = None
    expanded_u: Decimal | None = None
    k: Decimal = Decimal(2)
    found_is: Conforms = ""
    left_is: Conforms = ""


class Calibrated(Fact, frozen=True, kw_only=True, tag="calibrated"):
    """A calibration of one quantity. Told again for the same day, the later one holds.

    By a *person* who works here or a *firm*; *lapses* says what stood against that person on the
    day. *found_is* and *left_is* are those of the gravest point, *duty* is the duty that it met.
    """

    names: ClassVar[tuple[str, ...]] = ("item", "person")
    item: str
    quantity: str
    unit: str
    points: tuple[PointMeasured, ...]
    decides: Decides
    done: date
    person: str = ""
    firm: str = ""
    found_is: Conforms = ""
    left_is: Conforms = ""
    reasons: tuple[Told, ...] = ()
    rules: tuple[RuleUsed, ...] = ()
    certificate: str = ""
    certificate_name: str = ""
    issued: date | None = None
    not_after: date | None = None
    duty: str = ""
    note: str = ""
    lapses: tuple[Told, ...] = ()


class ElectricallyTested(Fact, frozen=True, kw_only=True, tag="electrically-tested"):
    """An electrical safety test. Told again for the same day, the later one holds.

    *earth_readings* as they were taken, in ohms; *earth_ohm* is the one that was kept. Leakage in
    microamperes, that of the equipment apart from that at an applied part. *lapses* says what stood
    against the *person* on the day. *certificate* is its report by the hash of the file. *duty*
    was met by it.
    """

    names: ClassVar[tuple[str, ...]] = ("item", "person")
    item: str
    protection: Literal["I", "II"]
    done: date
    verdict: Verdict
    cord: Literal["", "fixed", "detachable"] = ""
    method: Literal["", "direct", "differential", "alternative"] = ""
    part: Literal["", "B", "BF", "CF", "none"] = ""
    earth_readings: tuple[Decimal, ...] = ()
    earth_ohm: Decimal | None = None
    cord_ohm: Decimal | None = None
    leakage_ua: Decimal | None = None
    applied_ua: Decimal | None = None
    person: str = ""
    firm: str = ""
    reasons: tuple[Told, ...] = ()
    rules: tuple[RuleUsed, ...] = ()
    certificate: str = ""
    certificate_name: str = ""
    duty: str = ""
    note: str = ""
    lapses: tuple[Told, ...] = ()
