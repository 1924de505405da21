"""Stretches of a log: unbroken readings between two limits, and the holes between readings."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from operator import sub
from statistics import median_low

INSTANT_S = 1e-6
"""Stamps such as 0.1, 0.2, 0.3 s do not add up exactly in binary."""


@dataclass(frozen=True, slots=True)
class Run:
    """First and last index of readings that follow each other."""

    first: int
    last: int


def longest(seconds: Sequence[float], runs: list[Run]) -> Run | None:
    """The longest run; of two alike, the earlier."""
    return max(runs, key=lambda run: seconds[run.last] - seconds[run.first], default=None)


def runs_in(
    coldest: Sequence[float], hottest: Sequence[float], low: float, high: float
) -> list[Run]:
    """Unbroken readings that lie between *low* and *high*, both included."""
    runs: list[Run] = []
    first = -1
    for index, (cold, hot) in enumerate(zip(coldest, hottest, strict=True)):
        if low <= cold and hot <= high:
            first = index if first < 0 else first
        elif first >= 0:
            runs.append(Run(first, index - 1))
            first = -1
    if first >= 0:
        runs.append(Run(first, len(coldest) - 1))
    return runs


def hole_over(seconds: Sequence[float], hole_s: float, hole_factor: float) -> float:
    """The spacing in seconds beyond which two readings leave a hole between them.

    More than *hole_s*, or more than *hole_factor* times the usual spacing if that is longer.
    """
    usual: float = median_low(map(sub, seconds[1:], seconds))
    return max(hole_s, hole_factor * usual) + INSTANT_S


def cut_at_holes(seconds: Sequence[float], runs: list[Run], hole_over: float) -> list[Run]:
    """The same runs cut wherever two readings are more than *hole_over* seconds apart."""
    steps = map(sub, seconds[1:], seconds)
    holes = [index for index, step in enumerate(steps) if step > hole_over]
    whole: list[Run] = []
    for run in runs:
        first = run.first
        for index in holes[bisect_left(holes, run.first) : bisect_left(holes, run.last)]:
            whole.append(Run(first, index))
            first = index + 1
        whole.append(Run(first, run.last))
    return whole
