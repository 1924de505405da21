"""How probable it is that what was measured conforms, and which of several points is the worst.

JCGM 106:2012, 7.4: the value that is measured is normal about the reading, its standard
uncertainty *u* the expanded one ÷ k.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from equip.rules.upkeep.measuring.decision_rule import OUTCOMES, Outcome, Tolerance, outcome


@dataclass(frozen=True, slots=True)
class Point:
    """One point of a calibration: where it was tried, what it read, what it may read."""

    nominal: Decimal
    reading: Decimal
    tolerance: Tolerance
    expanded_u: Decimal
    k: Decimal


@dataclass(frozen=True, slots=True)
class PointJudged:
    """A point with its outcome, its probability, and the share of the tolerance that is used."""

    point: Point
    outcome: Outcome
    probability: float
    share: Decimal | None


def probability(reading: Decimal, tolerance: Tolerance, u: Decimal) -> float:
    """The chance, 0 to 1, that the value lies within the tolerance."""
    if u == 0:
        return 1.0 if tolerance.holds(reading) else 0.0
    lower, upper = tolerance.lower, tolerance.upper
    low = -math.inf if lower is None else float((lower - reading) / u)
    high = math.inf if upper is None else float((upper - reading) / u)
    # Each by the tail that is small, so that nothing is lost beside 1.
    if low > 0:
        return _beyond(low) - _beyond(high)
    if high < 0:
        return _beyond(-high) - _beyond(-low)
    return 1 - _beyond(-low) - _beyond(high)


def judge_points(points: Sequence[Point], guard_share: Decimal) -> list[PointJudged]:
    """Each point by a guard band of *guard_share* of its expanded uncertainty."""
    return [
        PointJudged(
            point,
            outcome(point.reading, point.tolerance, guard_share * point.expanded_u),
            probability(point.reading, point.tolerance, point.expanded_u / point.k),
            point.tolerance.share(point.reading, point.nominal),
        )
        for point in points
    ]


def worst_point(judged: Sequence[PointJudged]) -> PointJudged | None:
    """The gravest outcome, and of those the one with the least of its tolerance left.

    A point whose share cannot be told is as bad as its probability says.
    """
    return max(judged, key=_badness, default=None)


def _badness(one: PointJudged) -> tuple[int, float, float]:
    share = 0.0 if one.share is None else abs(float(one.share))
    return (OUTCOMES.index(one.outcome), share, -one.probability)


def _beyond(sigmas: float) -> float:
    """The share of a normal distribution that lies more than so many sigma above its middle."""
    return 0.5 * math.erfc(sigmas / math.sqrt(2))
