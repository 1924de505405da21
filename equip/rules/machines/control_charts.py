"""Control charts of a machine's figures over time: individuals (Shewhart) and EWMA.

Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 (individuals) and 6.3.2.4
(EWMA). Worked in decimals of fifty digits, so that a value on a limit is not beyond it by
rounding. A signal asks for a look at the machine; it condemns no load.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from itertools import pairwise

_DIGITS = Context(prec=50)


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart: centre line, the limits and the point of each value, and which lie beyond.

    *upper*, *lower* and *points* have one entry a value; *signals* are indices from nought.
    """

    center: Decimal
    upper: tuple[Decimal, ...]
    lower: tuple[Decimal, ...]
    points: tuple[Decimal, ...]

    @property
    def signals(self) -> tuple[int, ...]:
        rows = zip(self.lower, self.points, self.upper, strict=True)
        return tuple(
            index for index, (low, point, high) in enumerate(rows) if not low <= point <= high
        )


@dataclass(frozen=True, slots=True)
class Settings:
    """How a chart is drawn. *center* and *sigma* are taken from the values where None.

    *k* is how many sigma the limits lie off; *d2* turns the mean moving range of two into sigma.
    """

    k: Decimal
    d2: Decimal
    center: Decimal | None = None
    sigma: Decimal | None = None


def individuals(values: Sequence[Decimal], settings: Settings) -> Chart:
    """Each value for itself, between centre ± k·sigma. Raises ValueError as `spread` does."""
    with localcontext(_DIGITS):
        center = middle(values, settings)
        width = settings.k * spread(values, settings)
        count = len(values)
        return Chart(center, (center + width,) * count, (center - width,) * count, tuple(values))


def ewma(
    values: Sequence[Decimal], weight: Decimal, settings: Settings, *, exact: bool = False
) -> Chart:
    """Weighted means that remember: each is *weight* of the value and the rest of the one before.

    They start from the centre, which is no point of the chart. The limits are those of a chart
    that has run for ever, or with *exact* those of each point: narrow at first. *weight* is
    above nought and at most 1. Raises ValueError as `spread` does.
    """
    with localcontext(_DIGITS):
        center = middle(values, settings)
        width = settings.k * spread(values, settings) * (weight / (2 - weight)).sqrt()
        widths = _growing(width, weight, len(values)) if exact else [width] * len(values)
        return Chart(
            center,
            tuple(center + one for one in widths),
            tuple(center - one for one in widths),
            tuple(_means(values, weight, center)),
        )


def middle(values: Sequence[Decimal], settings: Settings) -> Decimal:
    """The centre line: as given, else the mean of the values."""
    if settings.center is not None:
        return settings.center
    return sum(values, Decimal(0)) / len(values)


def spread(values: Sequence[Decimal], settings: Settings) -> Decimal:
    """Sigma: as given, else the mean moving range ÷ d2. Raises ValueError for a single value."""
    if settings.sigma is not None:
        return settings.sigma
    if len(values) < 2:
        raise ValueError("One value has no moving range: give sigma or more values.")
    ranges = [abs(after - before) for before, after in pairwise(values)]
    return sum(ranges, Decimal(0)) / len(ranges) / settings.d2


def _means(values: Sequence[Decimal], weight: Decimal, start: Decimal) -> list[Decimal]:
    means, last = [], start
    for value in values:
        last = weight * value + (1 - weight) * last
        means.append(last)
    return means


def _growing(width: Decimal, weight: Decimal, count: int) -> list[Decimal]:
    """The width at each point: what is forgotten of the start after so many values."""
    forgotten, widths = Decimal(1), []
    for _ in range(count):
        forgotten *= (1 - weight) ** 2
        widths.append(width * (1 - forgotten).sqrt())
    return widths
