"""The limits of calibration and of electrical safety, read off the rules in force."""

from typing import get_args

from equip.rulebook.book import Rules
from equip.rules.upkeep.measuring.electrical import Class, Limit, Limits, Method, Part
from equip.rules.upkeep.measuring.intervals import Interval, IntervalRules

_PARTS: tuple[Part, ...] = ("BF", "CF")


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
