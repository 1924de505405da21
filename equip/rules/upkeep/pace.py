"""How fast a count grows in real use: the rate with its interval, on which weekdays, and when a
count will be reached.

Uses are taken to come independently of each other at a steady pace, but for the weekdays. The
rate has the exact interval of a Poisson count (from quantiles of the gamma distribution). The
day on which a count is reached is uncertain twice: the rate is, and so are the uses to come.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from statistics import NormalDist

SHARE = 0.95
"""Of the intervals: nineteen in twenty hold what they are for, if uses do come so."""
_SIDE = (1 - SHARE) / 2
_Z = NormalDist().inv_cdf(1 - _SIDE)
_FLAT = (1.0,) * 7
_MANY = 100
_TOO_FAR = 3660


@dataclass(frozen=True, slots=True)
class Pace:
    """So many in so many days; a day's mean, its interval, and each weekday's share of it.

    *weekdays* are seven weights from Monday on, one on average.
    """

    count: float
    days: int
    per_day: float
    low: float
    high: float
    weekdays: tuple[float, ...] = _FLAT


@dataclass(frozen=True, slots=True)
class Expected:
    """The day on which a count is expected to be reached, and the interval about it.

    None for *latest* is later than ten years.
    """

    day: date
    earliest: date
    latest: date | None
    pace: Pace


def pace(count: float, days: int, weekdays: Sequence[float] = _FLAT) -> Pace | None:
    """The rate of *count* in *days*, None where nothing was seen."""
    if count < 0 or days < 0:
        raise ValueError(f"{count} in {days} days was read: neither can be below nought.")
    if not days or not count:
        return None
    low = gamma_quantile(count, _SIDE) / days
    high = gamma_quantile(count + 1, 1 - _SIDE) / days
    return Pace(count, days, count / days, low, high, tuple(weekdays))


def weights(by_weekday: Sequence[float]) -> tuple[float, ...]:
    """Seven counts from Monday on, seen over whole weeks, as weights that are one on average."""
    whole = sum(by_weekday)
    if whole <= 0:
        return _FLAT
    return tuple(7 * max(0.0, one) / whole for one in by_weekday)


def expected(left: float, known: Pace, today: date) -> Expected | None:
    """When *left* more will have been counted, from tomorrow on; None if later than ten years."""
    if left <= 0:
        return Expected(today, today, today, known)
    need = left / known.per_day
    day = day_after(today, need, known.weekdays)
    if day is None:
        return None
    # The waiting time for *left* more over the mean of the past is distributed as F; its
    # logarithm is near enough to normal, with this variance.
    factor = math.exp(_Z * math.sqrt(1 / left + 1 / known.count))
    earliest = day_after(today, need / factor, known.weekdays) or day
    return Expected(day, earliest, day_after(today, need * factor, known.weekdays), known)


def day_after(today: date, need: float, weekdays: Sequence[float]) -> date | None:
    """The day on which so many mean days' work will have been done, from the day after *today*."""
    weeks = max(0, math.ceil(need / 7) - 1)
    if weeks * 7 > _TOO_FAR or date.max - today <= timedelta(days=7 * (weeks + 2)):
        return None
    day, done = today + timedelta(days=7 * weeks), 7.0 * weeks
    for _ in range(8):
        day += timedelta(days=1)
        done += weekdays[day.weekday()]
        if done >= need - 1e-9:
            break
    return day


@cache
def gamma_quantile(shape: float, share: float) -> float:
    """The value below which *share* of a gamma distribution of that *shape* and scale 1 lies.

    Found by halving; beyond a hundred by the cube-root approximation of Wilson and Hilferty,
    which is then within a ten-thousandth.
    """
    ninth = 1 / (9 * shape)
    close = shape * max(0.0, 1 - ninth + NormalDist().inv_cdf(share) * math.sqrt(ninth)) ** 3
    if shape >= _MANY:
        return close
    low, high = 0.0, 2 * close + 10
    for _ in range(60):
        middle = (low + high) / 2
        if _gamma_below(shape, middle) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _gamma_below(shape: float, value: float) -> float:
    """The regularised lower incomplete gamma function, by its series."""
    if value <= 0:
        return 0.0
    term = whole = 1 / shape
    step = shape
    while term > whole * 1e-15:
        step += 1
        term *= value / step
        whole += term
    return whole * math.exp(shape * math.log(value) - value - math.lgamma(shape))
