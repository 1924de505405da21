"""Where the errors of an instrument are going: a least-squares line through its as-found results.

Only as-found results tell of drift: what was adjusted tells of the one who adjusted it. Errors
are shares of the limit, 1 and -1 the limits themselves. Worked in exact fractions.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import ceil


@dataclass(frozen=True, slots=True)
class Line:
    """Share = *at_nought* + *slope* × x."""

    at_nought: Fraction
    slope: Fraction

    def at(self, x: Fraction | int) -> Fraction:
        return self.at_nought + self.slope * x


@dataclass(frozen=True, slots=True)
class AsFound:
    """How a calibration found the instrument, before any adjustment."""

    on: date
    share: Decimal


def fit(points: Sequence[tuple[int | Fraction, Decimal]]) -> Line | None:
    """The line with the least sum of squares; None unless two points differ in x."""
    if not points:
        return None
    xs = [Fraction(x) for x, _ in points]
    ys = [Fraction(y) for _, y in points]
    mean_x, mean_y = sum(xs, Fraction(0)) / len(xs), sum(ys, Fraction(0)) / len(ys)
    spread = sum(((x - mean_x) * (x - mean_x) for x in xs), Fraction(0))
    if spread == 0:
        return None
    pairs = zip(xs, ys, strict=True)
    slope = sum(((x - mean_x) * (y - mean_y) for x, y in pairs), Fraction(0)) / spread
    return Line(mean_y - slope * mean_x, slope)


def crossing(line: Line, after: int | Fraction) -> Fraction | None:
    """Where the line leaves -1 to 1 at *after* or later; None if it never does.

    If it is outside at *after* already, that is where.
    """
    if abs(line.at(after)) > 1:
        return Fraction(after)
    if line.slope == 0:
        return None
    limit = 1 if line.slope > 0 else -1
    return (limit - line.at_nought) / line.slope


def drift_line(history: Sequence[AsFound]) -> Line | None:
    """The line through a history, its x the days since 1 January of the year 1."""
    return fit([(one.on.toordinal(), one.share) for one in history])


def day_of_crossing(history: Sequence[AsFound]) -> date | None:
    """The first day on which the line reaches the limit; None if it never does in the calendar."""
    line = drift_line(history)
    if line is None:
        return None
    x = crossing(line, max(one.on.toordinal() for one in history))
    if x is None or ceil(x) > date.max.toordinal():
        return None
    return date.fromordinal(ceil(x))
