"""Checks ahead of a session: what each asks, how a reading is judged, how long it holds.

A check holds for so many hours, and never beyond the end of the site's day. The newest one up to
the moment that is asked about decides, so what is told late is placed by when it happened.
"""

import re
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta, tzinfo
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from equip.facts import AskedCheck, SessionCheck, Told
from equip.rules.fitness.why_not import Why
from equip.rules.upkeep.units import convert
from equip.rules.wording import several, when
from equip.typed import Mistyped, decimal

CheckState = Literal["in force", "missing", "over", "failed"]

STEP = "step"
"""The unit of a dial that is numbered and not graduated in a pressure."""


@dataclass(frozen=True, slots=True)
class CheckKind:
    """One sort of check. One that is measured has *units*, its usual one first."""

    name: str
    asks: str
    units: tuple[str, ...] = ()

    @property
    def measured(self) -> bool:
        return bool(self.units)


KINDS: dict[SessionCheck, CheckKind] = {
    "waterline": CheckKind(
        "waterline", "Is the waterline disinfected and rinsed as its maker says, the water fresh?"
    ),
    "water-temperature": CheckKind(
        "water temperature", "How warm is the water where it comes out?", ("°C", "°F")
    ),
    "pressure": CheckKind(
        "pressure setting",
        "What is the pressure set to? Begin with the lowest.",
        (STEP, "kPa", "bar", "mbar", "psi", "mmHg"),
    ),
    "canister": CheckKind("canister", "Is the canister empty, clean and whole?"),
    "liner": CheckKind("liner", "Is a fresh liner in the canister?"),
    "tubing": CheckKind("tubing", "Is fresh tubing on, from the canister to the tip?"),
    "filter": CheckKind("filter", "Is the filter dry, and within the day its maker gives?"),
    "vacuum": CheckKind(
        "suction vacuum",
        "What does the gauge read with the end of the tube closed?",
        ("kPa", "mmHg", "mbar", "cmH2O", "inHg"),
    ),
    "picture": CheckKind("picture", "Is the picture clear and sharp to its rim?"),
    "edge": CheckKind("edge", "Are the glass and the edge of the tip whole and smooth?"),
    "light": CheckKind("light", "Is the light bright and even?"),
}
"""Every check there is, in the order in which they are asked for."""


def shown(read: object, unit: str) -> str:
    """A reading as it is spoken: "37 °C", "step 2"."""
    return f"{STEP} {read}" if unit == STEP else f"{read} {unit}"


def in_words(unit: str) -> str:
    """What a reading is in: "°C", "steps of the dial"."""
    return "steps of the dial" if unit == STEP else unit


@dataclass(frozen=True, slots=True)
class Band:
    """What a reading is held against, both ends allowed. *whose* says where it comes from."""

    low: Decimal | None
    high: Decimal | None
    unit: str
    whose: str

    @property
    def says(self) -> str:
        """The limits in words: "36 to 38 °C", "20 kPa at most", "step 1 to 3"."""
        if self.low is None:
            return f"{shown(self.high, self.unit)} at most"
        if self.high is None:
            return f"{shown(self.low, self.unit)} at least"
        return shown(f"{self.low} to {self.high}", self.unit)


@dataclass(frozen=True, slots=True)
class CheckMade:
    """A check that was made. One whose *check* is "" ended those before it."""

    check: SessionCheck | Literal[""]
    at: datetime
    passed: bool
    says: str = ""
    value: Decimal | None = None
    unit: str = ""
    by: str = ""
    path: str = ""

    @property
    def shown(self) -> str:
        """What was read, "" where nothing is."""
        return "" if self.value is None else shown(self.value, self.unit)


@dataclass(frozen=True, slots=True)
class CheckLine:
    """How one check of a thing stands at a moment; *until* is when the last one runs out."""

    asked: AskedCheck
    state: CheckState
    last: CheckMade | None = None
    until: datetime | None = None

    @property
    def kind(self) -> CheckKind:
        return KINDS[self.asked.check]


# --- reading and judging ----------------------------------------------------------------------

_READING = re.compile(r"\+?([-−]?[0-9]{1,6}(?:[.,][0-9]{1,4})?)\s*(\S.*)?")
_SPELT = {"c": "°C", "f": "°F", "celsius": "°C", "steps": STEP}
_HIGHEST_VACUUM_KPA = 109
_HIGHEST_PRESSURE_KPA = 1000
_HIGHEST_STEP = 20


def read(check: SessionCheck, text: str, unit: str = "") -> tuple[Decimal, str]:
    """A number and its unit as they were typed: "37", "37,2 °C", "-450 mmHg".

    Without a unit in the text it is *unit*, or the usual one of this check. A vacuum is how far it
    pulls below the air around, whichever sign its gauge shows. Raises Unreadable.
    """
    kind = KINDS[check]
    found = _READING.fullmatch(text.strip())
    if found is None:
        raise Mistyped(
            f"“{text.strip()[:20]}” is no reading of the {kind.name}: type the number, and its "
            f"unit where it is not in {in_words(unit or kind.units[0])}."
        )
    value = decimal(found[1])
    spelt = found[2] or unit or kind.units[0]
    named = _unit(kind, spelt)
    if check == "vacuum":
        value = abs(value)
    _possible(check, value, named)
    return value, named


def _unit(kind: CheckKind, spelt: str) -> str:
    known = {unit.lower(): unit for unit in kind.units} | _SPELT
    named = known.get(spelt.lower(), "")
    if named not in kind.units:
        raise Mistyped(
            f"“{spelt[:20]}” is no unit of the {kind.name}: one of {', '.join(kind.units)}."
        )
    return named


def _possible(check: SessionCheck, value: Decimal, unit: str) -> None:
    """A slip of the key or of the unit is asked about, not written down."""
    read = f"{shown(value, unit)} was read"
    if check == "water-temperature":
        celsius = convert(value, unit, "°C")
        if not 0 <= celsius <= 100:
            raise Mistyped(f"{read}: water is between 0 and 100 °C. Read it again.")
    elif value < 0:
        raise Mistyped(f"{read}: a pressure setting is not below nought. Read it again.")
    elif unit == STEP:
        if value > _HIGHEST_STEP:
            raise Mistyped(f"{read}: a dial goes to {_HIGHEST_STEP} at most. Read it again.")
    elif check == "vacuum":
        if convert(value, unit, "kPa") > _HIGHEST_VACUUM_KPA:
            raise Mistyped(
                f"{read}: no pump pulls harder than the air presses, about 101 kPa or 760 mmHg. "
                "Check the unit."
            )
    elif convert(value, unit, "kPa") > _HIGHEST_PRESSURE_KPA:
        raise Mistyped(f"{read}: that is more than {_HIGHEST_PRESSURE_KPA} kPa. Check the unit.")


def band_of(asked: AskedCheck, book: Band | None) -> Band | None:
    """What a check is held against: its maker's limits, else the book's, else nothing."""
    if asked.low is None and asked.high is None:
        return book
    return Band(asked.low, asked.high, asked.unit, "its maker's limits")


def outside(check: SessionCheck, value: Decimal, unit: str, band: Band) -> tuple[Told, ...]:
    """Why a reading is not within *band*, compared exactly in the band's unit; empty if it is.

    Raises Unreadable where the two cannot be compared.
    """
    name = KINDS[check].name
    if (unit == STEP) != (band.unit == STEP):
        raise Mistyped(
            f"The {name} was read in {in_words(unit)}, and {band.whose} are in "
            f"{in_words(band.unit)}: read it as they are given."
        )
    read = Fraction(value) if unit == band.unit else convert(value, unit, band.unit)
    low = band.low is not None and read < Fraction(band.low)
    if not low and not (band.high is not None and read > Fraction(band.high)):
        return ()
    code = "check-low" if low else "check-high"
    is_read = f"{shown(value, unit)}{_as(read, unit, band)}"
    says = f"The {name} is {is_read}; {band.whose}: {band.says}."
    return (Told(code=code, says=says),)


def _as(read: Fraction, unit: str, band: Band) -> str:
    return "" if unit == band.unit else f" ({float(read):.1f} {band.unit})"


# --- how they stand ---------------------------------------------------------------------------


def day_began(moment: datetime, zone: tzinfo) -> datetime:
    """The beginning of the site's day that *moment* falls on: nothing before it is in force."""
    return datetime.combine(moment.astimezone(zone).date(), time.min, zone)


def holds_until(at: datetime, hours: int, zone: tzinfo) -> datetime:
    """When a check made *at* runs out: after so many hours, at the end of the day at the latest."""
    tomorrow = at.astimezone(zone).date() + timedelta(days=1)
    ends = datetime.combine(tomorrow, time.min, zone)
    return min(at + timedelta(hours=hours), ends)


def lines(
    asked: Sequence[AskedCheck],
    made: Iterable[CheckMade],
    at: datetime,
    hours: Mapping[str, int],
    zone: tzinfo,
    *,
    used: datetime | None = None,
    each_use: Container[str] = (),
) -> list[CheckLine]:
    """How each check that is asked for stands at *at*. *made* is in order of time.

    Those of *each_use* hold no longer than until the thing was last *used*.
    """
    last: dict[str, CheckMade] = {}
    for check in made:
        if check.at > at:
            continue
        if check.check:
            last[check.check] = check
        else:
            last.clear()
    found = [_line(one, last.get(one.check), at, hours[one.check], zone) for one in asked]
    if used is None or used > at:
        return found
    return [_used_since(one, used) if one.asked.check in each_use else one for one in found]


def _used_since(line: CheckLine, used: datetime) -> CheckLine:
    """*line* of a check that is made anew for each use, on a thing that was *used* then."""
    if line.state != "in force" or line.last is None or line.last.at > used:
        return line
    return replace(line, state="over", until=used)


def _line(
    asked: AskedCheck, last: CheckMade | None, at: datetime, hours: int, zone: tzinfo
) -> CheckLine:
    if last is None or last.at < day_began(at, zone):
        return CheckLine(asked, "missing")
    if not last.passed:
        return CheckLine(asked, "failed", last)
    until = holds_until(last.at, hours, zone)
    return CheckLine(asked, "in force" if at < until else "over", last, until)


def why_not(
    found: Sequence[CheckLine], at: datetime, zone: tzinfo, whose: str = "Its"
) -> list[Why]:
    """Why a thing may not be used at *at* for want of a check, the failed ones first."""
    reasons = [
        Why(
            "check-failed",
            f"{whose} {line.kind.name} failed its check {when(line.last.at, at, zone)}. "
            f"{line.last.says}".rstrip(),
        )
        for line in found
        if line.state == "failed" and line.last is not None
    ]
    if names := [line.kind.name for line in found if line.state == "missing"]:
        verb = "have" if len(names) > 1 else "has"
        says = f"{whose} {several(names)} {verb} not been checked for this session."
        reasons.append(Why("check-missing", says))
    reasons += [
        Why(
            "check-missing",
            f"{whose} {line.kind.name} was checked {when(line.last.at, at, zone)}; "
            f"that held until {when(line.until, at, zone)}.",
        )
        for line in found
        if line.state == "over" and line.last is not None and line.until is not None
    ]
    return reasons
