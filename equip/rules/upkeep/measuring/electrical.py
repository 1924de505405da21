"""An electrical safety test after IEC 62353: protective earth, leakage, applied part.

The limits are arguments. What is not given is not judged. A machine without a protective earth,
class II, has none to measure. All figures are exact decimals: 0.2 and 0.1 ohm are 0.3 together.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from equip.rules.verdict import Reason

Cord = Literal["fixed", "detachable"]
Class = Literal["I", "II"]
Method = Literal["direct", "differential", "alternative"]
Part = Literal["B", "BF", "CF", "none"]


@dataclass(frozen=True, slots=True)
class Test:
    """What was told of one test. *leakage_ua* is in microamperes, resistances are in ohms."""

    cord: Cord | None = None
    earth_ohm: Decimal | None = None
    cord_ohm: Decimal | None = None
    protection: Class | None = None
    leakage_ua: Decimal | None = None
    method: Method | None = None
    part: Part | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit with the rule it comes from."""

    rule: str
    value: Decimal


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits of the rule book: of earth by what was measured, of leakage by class and method.

    *applied_ua* by applied part; *near* is the share of a limit from which it is worth watching.
    """

    fixed_ohm: Limit
    alone_ohm: Limit
    cord_ohm: Limit
    together_ohm: Limit
    leakage_ua: dict[tuple[Class, Method], Limit]
    applied_ua: dict[Part, Limit]
    near: Decimal


@dataclass(frozen=True, slots=True)
class Judged:
    """Why it fails or cannot be judged, if it does, and the rules that were held against it."""

    reasons: tuple[Reason, ...]
    rules: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Held:
    """One measured value beside one limit."""

    code: str
    what: str
    value: Decimal
    unit: str
    limit: Limit


def kept_of(readings: Sequence[Decimal]) -> Decimal:
    """Of a test with direct current, repeated with the poles reversed: the higher counts."""
    return max(readings)


def judge(test: Test, limits: Limits) -> Judged:
    """What is given held against its limits; with nothing to hold it is undecided."""
    held = [*_earth(test, limits), *_leakage(test, limits)]
    reasons = [reason for one in held for reason in _of(one, limits.near)]
    reasons += _not_judged(test)
    if not held and not reasons:
        says = "Nothing was given that has a limit: give an earth resistance or a leakage current."
        reasons = [Reason("nothing-measured", says, spoils="undecided")]
    return Judged(tuple(reasons), tuple(dict.fromkeys(one.limit.rule for one in held)))


def _earth(test: Test, limits: Limits) -> list[_Held]:
    if test.protection == "II":
        return _cord(test, limits)
    earth = test.earth_ohm
    if earth is None or test.cord is None:
        return _cord(test, limits)
    if test.cord == "fixed":
        return [_Held("earth", "Its earth resistance", earth, "ohm", limits.fixed_ohm)]
    alone = _Held("earth", "Its earth resistance alone", earth, "ohm", limits.alone_ohm)
    if test.cord_ohm is None:
        return [alone]
    both = earth + test.cord_ohm
    together = _Held("earth-together", "Its earth with the cord", both, "ohm", limits.together_ohm)
    return [alone, *_cord(test, limits), together]


def _cord(test: Test, limits: Limits) -> list[_Held]:
    if test.cord_ohm is None:
        return []
    what = "The earth resistance of its cord"
    return [_Held("cord", what, test.cord_ohm, "ohm", limits.cord_ohm)]


def _leakage(test: Test, limits: Limits) -> list[_Held]:
    leakage = test.leakage_ua
    if leakage is None:
        return []
    found = []
    if test.protection is not None and test.method is not None:
        what = f"Its leakage current, class {test.protection}, {test.method} method,"
        limit = limits.leakage_ua[test.protection, test.method]
        found.append(_Held("leakage", what, leakage, "µA", limit))
    if test.part in limits.applied_ua:
        what = f"Its leakage current at an applied part of type {test.part}"
        limit = limits.applied_ua[test.part]
        found.append(_Held("applied-part", what, leakage, "µA", limit))
    return found


def _of(one: _Held, near: Decimal) -> list[Reason]:
    if one.value > one.limit.value:
        says = f"{one.what} is {_plain(one.value)} {one.unit}; at most {_plain(one.limit.value)}."
        return [Reason(f"{one.code}-high", says)]
    if one.value > near * one.limit.value:
        says = (
            f"{one.what} is {_plain(one.value)} {one.unit}, near its limit of "
            f"{_plain(one.limit.value)}: test it sooner next time."
        )
        return [Reason(f"{one.code}-near", says, spoils="pass")]
    return []


def _not_judged(test: Test) -> list[Reason]:
    """What was measured and has no limit for want of something else."""
    missing = []
    if test.protection == "II" and test.earth_ohm is not None:
        says = "An earth resistance was given, but class II has no protective earth: see its class."
        missing.append(Reason("earth-not-judged", says, spoils="undecided"))
    elif test.earth_ohm is not None and test.cord is None:
        says = "The earth resistance was not judged: say whether its cord is fixed or detachable."
        missing.append(Reason("earth-not-judged", says, spoils="undecided"))
    told = [test.protection is None, test.method is None]
    applied_only = all(told) and test.part in ("BF", "CF")
    if test.leakage_ua is not None and any(told) and not applied_only:
        says = "The leakage current was not judged by its class: give its class and the method."
        missing.append(Reason("leakage-not-judged", says, spoils="undecided"))
    return missing


def why_changed(
    what: str, now: Decimal, reference: Decimal, limit: Decimal, most_share: Decimal
) -> list[Reason]:
    """Beside the reference value of its acceptance: a rise by more than so much of the limit."""
    rise = now - reference
    if rise <= most_share * limit:
        return []
    says = (
        f"{what} rose from {_plain(reference)} to {_plain(now)}, by more than "
        f"{_plain(most_share * 100)} % of its limit: find out why and test it sooner next time."
    )
    return [Reason("risen", says, spoils="pass")]


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
