"""Checks of calibration, electrical safety and units: `conformity interval electrical convert`."""

from decimal import Decimal
from fractions import Fraction
from typing import cast, get_args

from equip.cli.check import reading as read
from equip.cli.check.answering import Answer, Checks, because, judged
from equip.cli.check.reading import Given, Unreadable
from equip.rulebook import Rules
from equip.rulebook.measuring import electrical_limits, interval_rules
from equip.rules.upkeep import units
from equip.rules.upkeep.measuring import decision_rule as deciding
from equip.rules.upkeep.measuring import electrical as safety
from equip.rules.upkeep.measuring import intervals, probability
from equip.rules.upkeep.measuring.decision_rule import BadTolerance, DecisionRule, Tolerance
from equip.rules.verdict import Reason

_STEPS = ("extend-below", "longer-by", "shorter-by", "fewest-results")
_LONGEST_MONTHS = 1200


def conformity(given: Given, rules: Rules) -> Answer:
    """A reading against its tolerance, by a decision rule."""
    read.only(given, "reading", "lower", "upper", "expanded_u", "k", "rule")
    reading = read.exact_needed(given, "reading", text=True)
    try:
        tolerance = Tolerance(
            read.exact(given, "lower", text=True), read.exact(given, "upper", text=True)
        )
    except BadTolerance as fault:
        raise Unreadable(f"“lower” is above “upper”. {fault}") from fault
    name = cast(DecisionRule, read.word_needed(given, "rule", get_args(DecisionRule)))
    rule = rules[f"conformity.{name}"]
    expanded = read.exact(given, "expanded_u", text=True, least=0)
    k = None if given.get("k") is None else read.exact_needed(given, "k", text=True, above=0)
    if tolerance.is_open:
        return _undecided("no-limit", "No limit was given: give “lower”, “upper” or both.")
    share = rules.decimal(rule.id)
    if expanded is None and share:
        return _undecided("no-uncertainty", "The rule needs “expanded_u”, which was not given.")
    guard = share * (expanded or Decimal(0))
    found = deciding.outcome(reading, tolerance, guard)
    # An outcome on condition is neither a pass nor a fail: no verdict is due.
    verdict = {"verdict": found} if found in ("pass", "fail") else {}
    known = expanded is not None and k is not None
    return {
        "outcome": found,
        "probability": probability.probability(reading, tolerance, expanded / k)
        if known and expanded is not None and k is not None
        else None,
        **verdict,
        **because(deciding.why(found, reading, tolerance, guard, name), [rule]),
    }


def _undecided(code: str, says: str) -> Answer:
    reasons = [Reason(code, says, spoils="undecided")]
    return judged(reasons, [], outcome=None, probability=None)


def interval(given: Given, rules: Rules) -> Answer:
    """How long until the next calibration, by the as-found errors."""
    read.only(given, "as_found_share", "months", "floor_months", "ceiling_months")
    shares = read.exacts(given, "as_found_share")
    if not shares:
        raise Unreadable("“as_found_share” is empty; give at least one error ÷ limit.")
    now = intervals.Interval(
        months=_months(given, "months"),
        floor=_months(given, "floor_months"),
        ceiling=_months(given, "ceiling_months"),
    )
    if now.floor > now.ceiling:
        raise Unreadable("“floor_months” is above “ceiling_months”; exchange or correct them.")
    advised = intervals.staircase(shares, now, interval_rules(rules))
    months = advised.months_to_limit
    return {
        "advice": advised.advice,
        "next_months": advised.next_months,
        "months_to_limit": None if months is None else float(months),
        **because(advised.reasons, [rules[f"interval.{step}"] for step in _STEPS]),
    }


def _months(given: Given, name: str) -> int:
    found = read.whole(given, name, least=1)
    if found is None:
        raise Unreadable(f"“{name}” is missing; give whole months.")
    if found > _LONGEST_MONTHS:
        raise Unreadable(f"“{name}” is above {_LONGEST_MONTHS}; give fewer months.")
    return found


def electrical(given: Given, rules: Rules) -> Answer:
    """An electrical safety test, on what is given."""
    read.only(
        given,
        *("cord", "earth_ohm", "earth_ohm_dc", "cord_ohm"),
        *("class", "leakage_ua", "method", "part"),
    )
    cord = cast(safety.Cord | None, read.word(given, "cord", get_args(safety.Cord)))
    test = safety.Test(
        cord=cord,
        earth_ohm=_earth(given),
        cord_ohm=read.exact(given, "cord_ohm", text=True, least=0),
        protection=cast(safety.Class | None, read.word(given, "class", get_args(safety.Class))),
        leakage_ua=read.exact(given, "leakage_ua", text=True, least=0),
        method=cast(safety.Method | None, read.word(given, "method", get_args(safety.Method))),
        part=cast(safety.Part | None, read.word(given, "part", get_args(safety.Part))),
    )
    if cord == "fixed" and test.cord_ohm is not None:
        raise Unreadable(
            "“cord_ohm” is of a cord alone, and a fixed one is measured with its equipment; "
            "give detachable as “cord”, or leave it out."
        )
    found = safety.judge(test, electrical_limits(rules))
    kept = {
        "earth_ohm": test.earth_ohm,
        "cord_ohm": test.cord_ohm,
        "leakage_ua": test.leakage_ua,
    }
    return judged(
        found.reasons,
        [rules[rule] for rule in found.rules],
        kept={name: None if value is None else float(value) for name, value in kept.items()},
    )


def _earth(given: Given) -> Decimal | None:
    once = read.exact(given, "earth_ohm", text=True, least=0)
    if given.get("earth_ohm_dc") is None:
        return once
    twice = read.exacts(given, "earth_ohm_dc")
    if once is not None:
        raise Unreadable("Give either “earth_ohm” or “earth_ohm_dc”, one of the two.")
    if len(twice) != 2 or min(twice) < 0:
        raise Unreadable("“earth_ohm_dc” is not two readings of 0 or more; give both directions.")
    return safety.kept_of(twice)


def convert(given: Given) -> Answer:
    """A value of one unit in another."""
    read.only(given, "value", "from", "to")
    value = read.exact_needed(given, "value", text=True)
    source = read.word_needed(given, "from", list(units.UNITS))
    target = read.word_needed(given, "to", list(units.UNITS))
    try:
        found = units.convert(value, source, target)
    except units.CannotConvert as fault:
        raise Unreadable(str(fault)) from fault
    return {"value": float(found), **_in_sixteenths(found, target)}


def _in_sixteenths(found: Fraction, target: str) -> dict[str, str]:
    return {"sixteenths": units.sixteenths(found)} if target == "in" else {}


CHECKS = Checks(
    figures={"convert": convert},
    by_rules={"conformity": conformity, "interval": interval, "electrical": electrical},
)
