"""A trend laid out: a few results over the years, the line through them, their limits.

Black on white. A result is a full dot; where the line goes on beyond the last one it is dashed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from equip.deliver.picture.ink import Dot, Mark, Picture, Stroke, Words
from equip.deliver.picture.ticks import Scale

_WIDE, _HIGH = 720, 240
_LEFT, _RIGHT, _TOP, _FOOT = 70, 700, 24, 200
"""The edges of the field that the results lie in."""
_INSET = 12
"""How far the first and the last day keep from the edges."""
_TYPE = 15


@dataclass(frozen=True, slots=True)
class Trend:
    """What is drawn. *limits* are lines across with their words; *line* is from a day and value to
    another, dashed beyond *solid_until*."""

    title: str
    says: str
    results: Sequence[tuple[date, float]]
    limits: Sequence[tuple[float, str]]
    line: tuple[tuple[date, float], tuple[date, float]] | None = None
    solid_until: date | None = None


def picture(trend: Trend) -> Picture:
    """The trend; its title says the same in words."""
    return Picture(
        _WIDE, _HIGH, tuple(_LaidTrend(trend).marks()), f"{trend.title}. {trend.says}", ""
    )


class _LaidTrend:
    """The marks of a trend, each day and value at its place."""

    def __init__(self, trend: Trend) -> None:
        self.trend = trend
        points: list[tuple[date, float]] = [*trend.results, *(trend.line or ())]
        days = [day for day, _ in points]
        self.first, self.last = min(days), max(days)
        values = [*(value for _, value in points), *(at for at, _ in trend.limits)]
        room = (max(values) - min(values)) * 0.1 or 1.0
        self._days = Scale(0, max(1, self._after(self.last)), _LEFT + _INSET, _RIGHT - _INSET)
        self.y = Scale(min(values) - room, max(values) + room, _FOOT, _TOP).at

    def _after(self, day: date) -> int:
        return (day - self.first).days

    def x(self, day: date) -> float:
        return self._days.at(self._after(day))

    def marks(self) -> Iterator[Mark]:
        yield from self._limits()
        yield from self._line()
        for day, value in self.trend.results:
            yield Dot(self.x(day), self.y(value), 5)
        yield from self._ends()

    def _limits(self) -> Iterator[Mark]:
        for at, says in self.trend.limits:
            y = self.y(at)
            yield Stroke(((_LEFT, y), (_RIGHT, y)), 1.2)
            yield Words(says, _LEFT - 8, y + 5, _TYPE, "end")

    def _line(self) -> Iterator[Mark]:
        if self.trend.line is None:
            return
        (begins, from_), (ends, to) = self.trend.line
        turn = min(max(self.trend.solid_until or ends, begins), ends)
        whole = max(1, (ends - begins).days)
        at_turn = self.x(turn), self.y(from_ + (to - from_) * (turn - begins).days / whole)
        yield Stroke(((self.x(begins), self.y(from_)), at_turn), 2)
        if turn < ends:
            yield Stroke((at_turn, (self.x(ends), self.y(to))), 2, (7, 5))

    def _ends(self) -> Iterator[Mark]:
        """The first and the last day."""
        yield Words(f"{self.first:%d %b %Y}", _LEFT, _HIGH - 12, _TYPE)
        if self.last > self.first:
            yield Words(f"{self.last:%d %b %Y}", _RIGHT, _HIGH - 12, _TYPE, "end")
