"""What measuring goes by: leak tests, electrical safety, intervals, where a calibration starts."""

import tomllib
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import get_args

import msgspec

from equip.rulebook.book import Rules
from equip.rulebook.rule import BadRule, Basis
from equip.rules.machines.leak_and_spores import LeakLimits
from equip.rules.upkeep.measuring.electrical import Class, Limit, Limits, Method, Part
from equip.rules.upkeep.measuring.intervals import Interval, IntervalRules

LEAK = ("leak.limit", "leak.settle-s", "leak.timed-s")
"""The rules that a vacuum leak test is judged by."""

_PARTS: tuple[Part, ...] = ("BF", "CF")
_INSTRUMENTS = Path(__file__).with_name("instruments.toml")


# --- limits ---------------------------------------------------------------------------------


def leak_limits(rules: Rules) -> LeakLimits:
    """The highest rate of a leak test, and the least times of settling and timing."""
    return LeakLimits(*(rules.decimal(rule) for rule in LEAK))


def electrical_limits(rules: Rules) -> Limits:
    """The limits of an electrical safety test."""

    def limit(name: str) -> Limit:
        rule = f"electrical.{name}"
        return Limit(rule, rules.decimal(rule))

    classes: tuple[Class, ...] = get_args(Class)
    methods: tuple[Method, ...] = get_args(Method)
    return Limits(
        fixed_ohm=limit("earth-fixed"),
        alone_ohm=limit("earth-detachable"),
        cord_ohm=limit("earth-cord"),
        together_ohm=limit("earth-together"),
        leakage_ua={(c, m): limit(f"leakage-{c}-{m}") for c in classes for m in methods},
        applied_ua={part: limit(f"applied-{part}") for part in _PARTS},
        near=rules.decimal("electrical.near-share") / 100,
    )


def interval_rules(rules: Rules) -> IntervalRules:
    """What moves an interval of calibration, and by how much."""
    return IntervalRules(
        extend_below=rules.decimal("interval.extend-below") / 100,
        longer_by=rules.decimal("interval.longer-by") / 100,
        shorter_by=rules.decimal("interval.shorter-by") / 100,
        fewest=rules.whole("interval.fewest-results"),
    )


def interval_now(rules: Rules, months: int) -> Interval:
    """The interval there is, with the floor and the ceiling of the book around it."""
    return Interval(
        months, rules.whole("interval.floor-months"), rules.whole("interval.ceiling-months")
    )


# --- where a calibration starts -------------------------------------------------------------


class StartPoint(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Where it is tried, and how far off it may be either way."""

    nominal: Decimal
    limit: Decimal


class Instrument(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A sort of instrument, with where its limits come from."""

    code: str
    name: str
    quantity: str
    unit: str
    source: str
    basis: Basis
    points: tuple[StartPoint, ...]
    note: str = ""


class _InstrumentFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    instrument: tuple[Instrument, ...]


@cache
def instruments() -> dict[str, Instrument]:
    """Every sort there is, by its code. BadRule where the file is not as it should be."""
    return parse_instruments(_INSTRUMENTS.read_text(encoding="utf-8"))


def parse_instruments(text: str) -> dict[str, Instrument]:
    """The sorts of instrument of one TOML text, by code."""
    try:
        read = msgspec.convert(tomllib.loads(text, parse_float=Decimal), _InstrumentFile)
    except (tomllib.TOMLDecodeError, msgspec.ValidationError) as fault:
        raise BadRule(f"instruments.toml: {fault}.") from fault
    found = {instrument.code: instrument for instrument in read.instrument}
    if len(found) < len(read.instrument):
        raise BadRule("instruments.toml: a code stands twice.")
    for instrument in read.instrument:
        if not instrument.points or min(point.limit for point in instrument.points) <= 0:
            code = instrument.code
            raise BadRule(f"instruments.toml, {code}: each point needs a limit above nought.")
    return found
