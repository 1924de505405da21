"""A control chart laid out: values in a row, their moving average, the usual range, what is odd.

Black on white; what is odd has a shape and a word of its own, so that no colour is needed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from equip.deliver.picture.ink import Dot, Mark, Picture, Stroke, Words
from equip.deliver.picture.ticks import Scale

_WIDE, _HIGH = 720, 260
_LEFT, _RIGHT, _TOP, _FOOT = 64, 636, 22, 216
"""The edges of the field that the values lie in."""
_TYPE = 15


@dataclass(frozen=True, slots=True)
class OddValue:
    """What is odd about one value: outside its usual range, or drifting."""

    index: int
    what: Literal["outside", "drift"]


@dataclass(frozen=True, slots=True)
class Series:
    """What is drawn. *first* and *last* say when the row begins and ends."""

    values: Sequence[float]
    average: Sequence[float]
    center: float
    lower: float
    upper: float
    odd: Sequence[OddValue]
    title: str
    unit: str
    first: str
    last: str


def picture(series: Series) -> Picture:
    """The chart; its title says the same in words."""
    says = (
        f"{len(series.values)} values, centre {_short(series.center)} {series.unit}, usual range "
        f"{_short(series.lower)} to {_short(series.upper)} {series.unit}, {len(series.odd)} odd."
    )
    return Picture(_WIDE, _HIGH, tuple(_LaidChart(series).marks()), f"{series.title}. {says}", "")


class _LaidChart:
    """The marks of a chart, each value at its place."""

    def __init__(self, series: Series) -> None:
        self.series = series
        low = min(*series.values, series.lower)
        high = max(*series.values, series.upper)
        room = (high - low) * 0.12 or abs(high) * 0.01 or 1.0
        steps = max(len(series.values) - 1, 1)
        self.x = Scale(0, steps, _LEFT, _RIGHT).at
        self.y = Scale(low - room, high + room, _FOOT, _TOP).at

    def marks(self) -> Iterator[Mark]:
        yield from self._usual()
        yield self._line(self.series.average, 1.2, (3, 3))
        yield self._line(self.series.values, 2)
        for index, value in enumerate(self.series.values):
            yield Dot(self.x(index), self.y(value), 2.6)
        yield from self._odd()
        yield from self._words()

    def _usual(self) -> Iterator[Mark]:
        """The usual range and its middle, each with its value; no two values run together."""
        series, middle, dashed = self.series, self.y(self.series.center), (8.0, 4.0)
        written: set[str] = set()
        for value, dash, height in (
            (series.center, (2.0, 3.0), middle),
            (series.upper, dashed, min(self.y(series.upper), middle - _TYPE)),
            (series.lower, dashed, max(self.y(series.lower), middle + _TYPE)),
        ):
            yield Stroke(((_LEFT, self.y(value)), (_RIGHT, self.y(value))), 1, dash, "soft")
            if (words := _short(value)) not in written:
                written.add(words)
                yield Words(words, _RIGHT + 6, height + 5, _TYPE)

    def _line(self, values: Sequence[float], weight: float, dash: tuple[float, ...] = ()) -> Stroke:
        points = tuple((self.x(index), self.y(value)) for index, value in enumerate(values))
        return Stroke(points, weight, dash)

    def _odd(self) -> Iterator[Mark]:
        """A square round a value outside its range, a ring round one that drifts."""
        for odd in self.series.odd:
            x, y = self.x(odd.index), self.y(self.series.values[odd.index])
            if odd.what == "outside":
                yield _square(x, y, 8)
            else:
                yield Dot(x, y, 8, "accent", ring=2)

    def _words(self) -> Iterator[Mark]:
        yield Words(self.series.unit, _LEFT, _TOP - 6, _TYPE)
        yield Words(self.series.first, _LEFT, _HIGH - 24, _TYPE)
        yield Words(self.series.last, _RIGHT, _HIGH - 24, _TYPE, "end")
        key = "dotted: moving average · square: outside its range · ring: drifting"
        yield Words(key, _LEFT, _HIGH - 5, _TYPE)


def _square(x: float, y: float, half: float) -> Stroke:
    """From the middle of a side, so that each corner is joined."""
    top, foot, left, right = y - half, y + half, x - half, x + half
    corners = ((right, top), (right, foot), (left, foot), (left, top))
    return Stroke(((x, top), *corners, (x, top)), 2.4, tone="accent")


def _short(value: float) -> str:
    return f"{value:.4g}".replace("-", "−")
