"""A thing's calibrations one after the other: each judged, where they drift, when the next is due.

A result counts as found in tolerance where every point read before any adjustment lay within its
limit. The drift is looked for at each point by itself: the point furthest out may be another one
each time, and a line through several of them would mean nothing.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import floor

from equip.facts import Calibrated, PointMeasured
from equip.rules.upkeep.measuring import decision_rule
from equip.rules.upkeep.measuring.decision_rule import DecisionRule, Outcome, Tolerance
from equip.rules.upkeep.measuring.drift import AsFound, Line, day_of_crossing, drift_line
from equip.rules.upkeep.measuring.intervals import (
    Advised,
    Interval,
    IntervalRules,
    shorter_of_both,
    staircase,
)
from equip.rules.upkeep.measuring.probability import Point, PointJudged, judge_points, worst_point
from equip.rules.verdict import Reason

_DAYS_PER_MONTH = Fraction(3652425, 120000)
_IN_TOLERANCE = ("pass", "conditional-pass")


@dataclass(frozen=True, slots=True)
class Judged:
    """The points with what each was judged, the gravest of them, and why."""

    points: tuple[PointMeasured, ...]
    found: Outcome | None
    left: Outcome | None
    reasons: tuple[Reason, ...]


def judge(
    points: Sequence[PointMeasured], unit: str, rule: DecisionRule, guard_share: Decimal
) -> Judged:
    """Each point as found and as left by the decision rule; *guard_share* is its part of U."""
    found = _judged(points, "found", guard_share)
    left = _judged(points, "left", guard_share)
    made = tuple(
        _with(point, found_is=_of(found, index), left_is=_of(left, index))
        for index, point in enumerate(points)
    )
    worst_found = worst_point(list(found.values()))
    worst_left = worst_point(list(left.values()))
    reasons = [
        *_in_words("As found", found, unit, rule, guard_share),
        *_in_words("As left", left, unit, rule, guard_share),
    ]
    return Judged(
        made,
        worst_found.outcome if worst_found else None,
        worst_left.outcome if worst_left else None,
        tuple(reasons),
    )


def _judged(points: Sequence[PointMeasured], which: str, share: Decimal) -> dict[int, PointJudged]:
    """Those points that were read, by their place in the row."""
    read = {
        index: Point(
            point.nominal,
            reading,
            Tolerance(point.nominal - point.limit, point.nominal + point.limit),
            point.expanded_u or Decimal(0),
            point.k,
        )
        for index, point in enumerate(points)
        if (reading := getattr(point, which)) is not None
    }
    return dict(zip(read, judge_points(list(read.values()), share), strict=True))


def _of(judged: dict[int, PointJudged], index: int) -> str:
    return judged[index].outcome if index in judged else ""


def _with(point: PointMeasured, *, found_is: str, left_is: str) -> PointMeasured:
    return PointMeasured(
        nominal=point.nominal,
        limit=point.limit,
        found=point.found,
        left=point.left,
        expanded_u=point.expanded_u,
        k=point.k,
        found_is=found_is,  # type: ignore[arg-type]
        left_is=left_is,  # type: ignore[arg-type]
    )


def _in_words(
    when: str, judged: dict[int, PointJudged], unit: str, rule: DecisionRule, share: Decimal
) -> Iterable[Reason]:
    for one in judged.values():
        point = one.point
        for reason in decision_rule.why(
            one.outcome, point.reading, point.tolerance, share * point.expanded_u, rule
        ):
            chance = ""
            if point.expanded_u and reason.code.startswith("conformity-"):
                chance = f" Chance that it truly conforms: {_percent(one.probability)}."
            says = f"{when}, at {point.nominal} {unit}: {_small(reason.says)}{chance}"
            yield replace(reason, says=says)


def _small(says: str) -> str:
    return says[0].lower() + says[1:]


def _percent(chance: float) -> str:
    """Never rounded up to certainty, nor down to none."""
    if chance >= 0.9995:
        return "above 99.9 %"
    return "below 0.1 %" if chance < 0.0005 else f"{chance * 100:.1f} %"


# --- one after the other ------------------------------------------------------------------------


def in_order(told: Iterable[Calibrated]) -> list[Calibrated]:
    """Those that hold, the oldest first: of the same quantity and day the one told last."""
    held = {(one.quantity, one.done): one for one in sorted(told, key=lambda one: one.at)}
    return sorted(held.values(), key=lambda one: (one.done, one.at))


def as_found_share(one: Calibrated) -> Decimal | None:
    """The as-found error furthest out as a share of its limit, its sign kept; 1 is the limit."""
    worst = _furthest_out(one)
    return None if worst is None else _share(worst)


def _furthest_out(one: Calibrated) -> PointMeasured | None:
    read = [point for point in one.points if point.found is not None]
    return max(read, key=lambda point: abs(_share(point)), default=None)


def _share(point: PointMeasured) -> Decimal:
    return ((point.found or Decimal(0)) - point.nominal) / point.limit


def found_out(one: Calibrated) -> bool:
    """Whether it was found out of tolerance."""
    return bool(one.found_is) and one.found_is not in _IN_TOLERANCE


def goes_back_good(points: Iterable[PointMeasured]) -> bool:
    """Whether it went back in tolerance; points that were not adjusted are left as found."""
    return all((one.left_is or one.found_is) in _IN_TOLERANCE for one in points)


def last_in_tolerance(history: Sequence[Calibrated], before: Calibrated) -> date | None:
    """The last day before that one on which it was known to be in tolerance: found so, or left
    so once it was adjusted."""
    good = [one.done for one in history if one.done < before.done and goes_back_good(one.points)]
    return max(good, default=None)


@dataclass(frozen=True, slots=True)
class Drift:
    """The line at the point that reaches its limit first; *day* is None if it never does."""

    nominal: Decimal
    results: tuple[AsFound, ...]
    line: Line
    day: date | None

    @property
    def per_year(self) -> Decimal:
        """Shares of the limit in a year, for words."""
        return Decimal(float(self.line.slope * Fraction(3652425, 10000)))


def drift(history: Sequence[Calibrated], fewest: int) -> Drift | None:
    """The line that reaches its limit first, of points with *fewest* as-found results; else the
    steepest."""
    lines = [
        Drift(nominal, tuple(results), line, day_of_crossing(results))
        for nominal, results in _as_found(history).items()
        if len(results) >= fewest and (line := drift_line(results)) is not None
    ]
    return min(
        lines,
        key=lambda one: (one.day or date.max, -abs(one.line.slope), one.nominal),
        default=None,
    )


def _as_found(history: Sequence[Calibrated]) -> dict[Decimal, list[AsFound]]:
    """As-found results by point; a point by its value, however many noughts it was typed with."""
    found: dict[Decimal, list[AsFound]] = {}
    for one in history:
        for point in one.points:
            if point.found is not None:
                found.setdefault(point.nominal, []).append(AsFound(one.done, _share(point)))
    return found


def advise(
    history: Sequence[Calibrated], now: Interval, limits: IntervalRules
) -> tuple[Advised, int] | None:
    """What the newest as-found result advises, and the months to take: the drift may ask for
    fewer. None if the newest has no as-found result."""
    share = as_found_share(history[-1]) if history else None
    if share is None:
        return None
    # One result makes no line: the days between are uneven, so the line is drawn by their dates.
    advised = staircase([share], now, limits)
    line = drift(history, limits.fewest)
    if line is not None and line.day is not None:
        days = (line.day - history[-1].done).days
        months = max(Fraction(0), days / _DAYS_PER_MONTH)
        advised = replace(advised, months_to_limit=months)
        if floor(months) < advised.next_months:
            says = (
                f"The line through {len(line.results)} as-found results at {line.nominal} reaches "
                f"its limit about {line.day}, before {advised.next_months} months are over: take "
                "the shorter."
            )
            drifting = Reason("drift-reaches-limit", says, spoils="pass")
            advised = replace(advised, reasons=(*advised.reasons, drifting))
    return advised, shorter_of_both(advised, now)


def offset_k(one: Calibrated) -> Decimal | None:
    """What has to be added to its readings, in kelvin, by the as-found point furthest out; None
    if it measures no temperature."""
    worst = _furthest_out(one)
    degree = {"°C": Decimal(1), "K": Decimal(1), "°F": Decimal(5) / Decimal(9)}.get(one.unit)
    if degree is None or worst is None:
        return None
    offset = (worst.nominal - (worst.found or 0)) * degree
    return offset.quantize(Decimal("0.0001")).normalize() + 0
