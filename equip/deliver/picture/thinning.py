"""A long trace made short enough to draw, and cut to the box it is drawn in.

However many readings there are, a column of the picture keeps its first, lowest, highest and last
one: no peak and no dip is lost.
"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """What can be seen: from *left* to *right* in seconds, from *low* to *high* in values."""

    left: float
    right: float
    low: float
    high: float


def unbroken(seconds: Sequence[float], longest_gap: float) -> list[tuple[int, int]]:
    """First index and the one after the last of each part without a gap over *longest_gap*."""
    breaks = [i for i, (a, b) in enumerate(pairwise(seconds), start=1) if b - a > longest_gap]
    return list(pairwise([0, *breaks, len(seconds)]))


def thinned(
    seconds: Sequence[float], values: Sequence[float], left: float, right: float, columns: int
) -> list[Point]:
    """The points that show the trace from *left* to *right* in that many columns.

    One reading before and one after are kept as well, so that the line reaches the edges.
    """
    first, last = bisect_left(seconds, left), bisect_left(seconds, right)
    while last < len(seconds) and seconds[last] <= right:
        last += 1
    width = (right - left) / columns
    edges = [bisect_left(seconds, left + n * width, first, last) for n in range(1, columns)]
    points = _reading(seconds, values, first - 1)
    for start, end in pairwise([first, *edges, last]):
        points += _ends(seconds, values, start, end)
    return points + _reading(seconds, values, last)


def _reading(seconds: Sequence[float], values: Sequence[float], index: int) -> list[Point]:
    return [(seconds[index], values[index])] if 0 <= index < len(seconds) else []


def _ends(
    seconds: Sequence[float], values: Sequence[float], start: int, end: int
) -> Iterator[Point]:
    """First, lowest, highest and last of one column, in order of time, each once."""
    if start >= end:
        return
    part = values[start:end]
    lowest = start + part.index(min(part))
    highest = start + part.index(max(part))
    for index in sorted({start, lowest, highest, end - 1}):
        yield seconds[index], values[index]


def clipped(points: Sequence[Point], box: Box) -> list[list[Point]]:
    """The parts of the line through *points* that lie in *box*."""
    if len(points) == 1:
        (x, y), *_ = points
        return [list(points)] if _inside(x, y, box) else []
    parts: list[list[Point]] = []
    for start, end in pairwise(points):
        seen = _visible(start, end, box)
        if seen is None:
            continue
        if parts and parts[-1][-1] == seen[0]:
            parts[-1].append(seen[1])
        else:
            parts.append(list(seen))
    return parts


def _inside(x: float, y: float, box: Box) -> bool:
    return box.left <= x <= box.right and box.low <= y <= box.high


def _visible(start: Point, end: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of one straight piece that lies in *box*: Liang and Barsky's clipping."""
    (x, y), dx, dy = start, end[0] - start[0], end[1] - start[1]
    enters, leaves = 0.0, 1.0
    for step, room in (
        (-dx, x - box.left),
        (dx, box.right - x),
        (-dy, y - box.low),
        (dy, box.high - y),
    ):
        if step == 0:
            if room < 0:
                return None
        elif step < 0:
            enters = max(enters, room / step)
        else:
            leaves = min(leaves, room / step)
    if enters > leaves:
        return None
    first = start if enters == 0 else (x + enters * dx, y + enters * dy)
    last = end if leaves == 1 else (x + leaves * dx, y + leaves * dy)
    return first, last
