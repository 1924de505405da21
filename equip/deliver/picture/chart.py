"""Values in a row drawn as SVG: each value, their moving average, the usual range, what is odd.

Black on white; what is odd has a shape and a word of its own, so that no colour is needed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import Literal

_WIDE, _HIGH = 720, 260
_LEFT, _RIGHT, _TOP, _FOOT = 64, 84, 22, 44


@dataclass(frozen=True, slots=True)
class Mark:
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
    marks: Sequence[Mark]
    title: str
    unit: str
    first: str
    last: str


def svg(series: Series) -> str:
    """The picture, with a title and the same content as text."""
    plot = _Plot(series)
    odd = len(series.marks)
    says = (
        f"{len(series.values)} values, centre {_short(series.center)} {series.unit}, usual range "
        f"{_short(series.lower)} to {_short(series.upper)} {series.unit}, {odd} odd."
    )
    return "".join(
        (
            f'<svg class="cycle" viewBox="0 0 {_WIDE} {_HIGH}" role="img" '
            'xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" font-size="15" '
            'fill="#1c1b19">',
            f"<title>{escape(series.title)}. {escape(says)}</title>",
            f'<rect width="{_WIDE}" height="{_HIGH}" fill="#ffffff"/>',
            *plot.range(),
            *plot.lines(),
            *plot.marks(),
            *plot.words(),
            "</svg>",
        )
    )


class _Plot:
    """Where a value stands on the page."""

    def __init__(self, series: Series) -> None:
        self.series = series
        low = min(*series.values, series.lower)
        high = max(*series.values, series.upper)
        room = (high - low) * 0.12 or abs(high) * 0.01 or 1.0
        self.low, self.high = low - room, high + room

    def x(self, index: int) -> float:
        steps = max(len(self.series.values) - 1, 1)
        return _LEFT + index / steps * (_WIDE - _LEFT - _RIGHT)

    def y(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return _HIGH - _FOOT - share * (_HIGH - _FOOT - _TOP)

    def range(self) -> Iterator[str]:
        for value, dashes in (
            (self.series.upper, "8 4"),
            (self.series.center, "2 3"),
            (self.series.lower, "8 4"),
        ):
            y = self.y(value)
            yield (
                f'<path d="M{_LEFT} {y:.1f}H{_WIDE - _RIGHT}" stroke="#6b675f" '
                f'stroke-dasharray="{dashes}"/>'
            )
            yield f'<text x="{_WIDE - _RIGHT + 6}" y="{y + 5:.1f}">{_short(value)}</text>'

    def lines(self) -> Iterator[str]:
        yield self._line(self.series.average, "1.2", ' stroke-dasharray="3 3"')
        yield self._line(self.series.values, "2", "")
        for index, value in enumerate(self.series.values):
            yield f'<circle cx="{self.x(index):.1f}" cy="{self.y(value):.1f}" r="2.6"/>'

    def _line(self, values: Sequence[float], wide: str, dashes: str) -> str:
        points = "L".join(f"{self.x(i):.1f} {self.y(v):.1f}" for i, v in enumerate(values))
        return f'<path d="M{points}" fill="none" stroke="#1c1b19" stroke-width="{wide}"{dashes}/>'

    def marks(self) -> Iterator[str]:
        """A square round a value outside its range, a ring round one that drifts."""
        for mark in self.series.marks:
            x, y = self.x(mark.index), self.y(self.series.values[mark.index])
            if mark.what == "outside":
                yield (
                    f'<rect x="{x - 8:.1f}" y="{y - 8:.1f}" width="16" height="16" fill="none" '
                    'stroke="#8a2d1c" stroke-width="2.4"/>'
                )
            else:
                yield (
                    f'<circle cx="{x:.1f}" cy="{y:.1f}" r="8" fill="none" stroke="#8a2d1c" '
                    'stroke-width="2"/>'
                )

    def words(self) -> Iterator[str]:
        yield f'<text x="{_LEFT}" y="{_TOP - 6}">{escape(self.series.unit)}</text>'
        yield f'<text x="{_LEFT}" y="{_HIGH - 24}">{escape(self.series.first)}</text>'
        yield (
            f'<text x="{_WIDE - _RIGHT}" y="{_HIGH - 24}" text-anchor="end">'
            f"{escape(self.series.last)}</text>"
        )
        yield (
            f'<text x="{_LEFT}" y="{_HIGH - 5}">dotted: moving average · square: outside its '
            "range · ring: drifting</text>"
        )


def _short(value: float) -> str:
    return f"{value:.4g}".replace("-", "−")
