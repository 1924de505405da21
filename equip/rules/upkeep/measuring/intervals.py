"""How long until the next calibration: what the results so far advise.

The first way of ILAC-G24, the staircase: longer if the as-found error lay well within the limit,
shorter if it lay outside, else as it is. The second, beside it: no longer than until the line
through the results reaches the limit. How big a step is, the guideline leaves to the clinic.
Both are bounded by a floor and a ceiling.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor
from typing import Literal

from equip.rules.upkeep.measuring.drift import crossing, fit
from equip.rules.verdict import Reason

Advice = Literal["extend", "keep", "shorten"]


@dataclass(frozen=True, slots=True)
class IntervalRules:
    """Shares of one: within *extend_below* of the limit it may be longer; the size of each step.

    *fewest* results make a line.
    """

    extend_below: Decimal
    longer_by: Decimal
    shorter_by: Decimal
    fewest: int


@dataclass(frozen=True, slots=True)
class Interval:
    """How long it is now, and what it may be."""

    months: int
    floor: int
    ceiling: int


@dataclass(frozen=True, slots=True)
class Advised:
    """What to do and the months it comes to; what the drift alone would allow, if there is any."""

    advice: Advice
    next_months: int
    reasons: tuple[Reason, ...]
    months_to_limit: Fraction | None = None


def staircase(shares: Sequence[Decimal], now: Interval, limits: IntervalRules) -> Advised:
    """By the newest of *shares*, error ÷ limit; the limit itself is still within.

    *advice* is what the result says, *next_months* what floor and ceiling leave of it.
    """
    newest = abs(shares[-1])
    advice: Advice
    if newest > 1:
        advice, wanted = "shorten", _shorter(now.months, limits.shorter_by)
        says = "It was found out of tolerance: calibrate it sooner."
    elif newest <= limits.extend_below:
        advice, wanted = "extend", _longer(now.months, limits.longer_by)
        says = f"It was found within {_percent(limits.extend_below)} of its limit."
    else:
        advice, wanted = "keep", now.months
        says = f"It was found in tolerance, above {_percent(limits.extend_below)} of its limit."
    bounded = min(max(wanted, now.floor), now.ceiling)
    reasons = [Reason(f"interval-{advice}", says, spoils="pass"), *_bounds(wanted, now)]
    months, drift = _drift(shares, now, limits, bounded)
    return Advised(advice, bounded, (*reasons, *drift), months)


def shorter_of_both(advised: Advised, now: Interval) -> int:
    """The months of the staircase, or fewer if the line reaches the limit before that."""
    if advised.months_to_limit is None:
        return advised.next_months
    allowed = max(floor(advised.months_to_limit), now.floor)
    return min(advised.next_months, allowed)


def _longer(months: int, by: Decimal) -> int:
    return months + max(1, floor(months * by))


def _shorter(months: int, by: Decimal) -> int:
    return max(1, months - max(1, ceil(months * by)))


def _bounds(wanted: int, now: Interval) -> list[Reason]:
    if wanted > now.ceiling:
        says = f"{wanted} months would be beyond the ceiling of {now.ceiling}."
        return [Reason("at-ceiling", says, spoils="pass")]
    if wanted < now.floor:
        says = (
            f"{wanted} months would be below the floor of {now.floor}: if it is found out of "
            "tolerance again, repair or replace it."
        )
        return [Reason("at-floor", says, spoils="pass")]
    return []


def _drift(
    shares: Sequence[Decimal], now: Interval, limits: IntervalRules, next_months: int
) -> tuple[Fraction | None, list[Reason]]:
    """Months from the newest result until the line reaches the limit, and what to say of it."""
    if len(shares) < limits.fewest:
        return None, []
    line = fit([(index * now.months, share) for index, share in enumerate(shares)])
    if line is None:
        return None, []
    last = (len(shares) - 1) * now.months
    x = crossing(line, last)
    if x is None:
        return None, []
    months = x - last
    if months >= next_months:
        return months, []
    says = (
        f"The line through all {len(shares)} results reaches the limit {_in_months(months)}, "
        f"before the {next_months} months are over: take the shorter."
    )
    return months, [Reason("drift-reaches-limit", says, spoils="pass")]


def _in_months(months: Fraction) -> str:
    return "within a month" if months < 1 else f"in {floor(months)} months"


def _percent(share: Decimal) -> str:
    return f"{(share * 100).normalize():f} %"
