"""A few results over the years drawn as SVG: each result, the line through them, their limits.

Black on white. A result is a filled dot; where the line goes on beyond the last one it is dashed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape

_WIDE, _HIGH = 720, 240
_LEFT, _RIGHT, _TOP, _FOOT = 70, 20, 24, 40


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


def svg(trend: Trend) -> str:
    """The picture, with a title and the same content as text."""
    plot = _Plot(trend)
    return "".join(
        (
            f'<svg class="cycle" viewBox="0 0 {_WIDE} {_HIGH}" role="img" '
            'xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" font-size="15" '
            'fill="#1c1b19">',
            f"<title>{escape(trend.title)}. {escape(trend.says)}</title>",
            f'<rect width="{_WIDE}" height="{_HIGH}" fill="#ffffff"/>',
            *plot.limits(),
            *plot.line(),
            *plot.results(),
            *plot.days(),
            "</svg>",
        )
    )


class _Plot:
    """Where a day and a value stand on the page."""

    def __init__(self, trend: Trend) -> None:
        self.trend = trend
        ends = trend.line or ()
        days = [day.toordinal() for day, _ in (*trend.results, *ends)]
        values: list[float] = [value for _, value in (*trend.results, *ends)]
        values += [at for at, _ in trend.limits]
        self.first: int = min(days)
        self.last: int = max(days)
        room = (max(values) - min(values)) * 0.1 or 1.0
        self.low: float
        self.high: float
        self.low, self.high = min(values) - room, max(values) + room

    def x(self, day: date) -> float:
        share: float = (day.toordinal() - self.first) / max(1, self.last - self.first)
        return _LEFT + 12 + share * (_WIDE - _LEFT - _RIGHT - 24)

    def y(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return _HIGH - _FOOT - share * (_HIGH - _FOOT - _TOP)

    def limits(self) -> Iterator[str]:
        for at, says in self.trend.limits:
            y = self.y(at)
            yield (
                f'<path d="M{_LEFT} {y:.1f}H{_WIDE - _RIGHT}" stroke="#1c1b19" '
                'stroke-width="1.2" fill="none"/>'
                f'<text x="{_LEFT - 8}" y="{y + 5:.1f}" text-anchor="end">{escape(says)}</text>'
            )

    def line(self) -> Iterator[str]:
        if self.trend.line is None:
            return
        (begins, from_), (ends, to) = self.trend.line
        turn = min(max(self.trend.solid_until or ends, begins), ends)
        whole = max(1, (ends - begins).days)
        at_turn = from_ + (to - from_) * (turn - begins).days / whole
        yield self._stroke(begins, from_, turn, at_turn, "")
        if turn < ends:
            yield self._stroke(turn, at_turn, ends, to, ' stroke-dasharray="7 5"')

    def _stroke(self, day: date, value: float, until: date, to: float, dash: str) -> str:
        return (
            f'<path d="M{self.x(day):.1f} {self.y(value):.1f}L{self.x(until):.1f} '
            f'{self.y(to):.1f}" stroke="#1c1b19" stroke-width="2" fill="none"{dash}/>'
        )

    def results(self) -> Iterator[str]:
        for day, value in self.trend.results:
            yield f'<circle cx="{self.x(day):.1f}" cy="{self.y(value):.1f}" r="5"/>'

    def days(self) -> Iterator[str]:
        first, last = date.fromordinal(self.first), date.fromordinal(self.last)
        y = _HIGH - 12
        yield f'<text x="{_LEFT}" y="{y}">{first:%d %b %Y}</text>'
        if last > first:
            yield f'<text x="{_WIDE - _RIGHT}" y="{y}" text-anchor="end">{last:%d %b %Y}</text>'
