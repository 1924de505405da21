"""A cycle drawn as SVG: temperature, what steam of that pressure would have, the band, the hold.

One picture for the screen and for paper: black on white, lines told apart by their dashes and by
words, never by colour alone. Everything in it is computed from the log.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

_WIDE, _HIGH = 720, 400
_LEFT, _RIGHT, _TOP, _FOOT = 52, 14, 30, 46


@dataclass(frozen=True, slots=True)
class Trouble:
    """Where something went wrong, and the word for it."""

    at_s: float
    says: str


@dataclass(frozen=True, slots=True)
class Drawn:
    """What is drawn. Seconds and °C; *steam* is the saturation temperature at each pressure."""

    seconds: Sequence[float]
    celsius: Sequence[float]
    steam: Sequence[float] | None
    low: float
    high: float
    hold: tuple[float, float] | None
    troubles: Sequence[Trouble]
    title: str
    says: str


def svg(drawn: Drawn) -> str:
    """The picture, with a title and a description for those who cannot see it."""
    plot = _Plot(drawn)
    parts = [
        f'<svg class="cycle" viewBox="0 0 {_WIDE} {_HIGH}" role="img" '
        'xmlns="http://www.w3.org/2000/svg" aria-labelledby="cycle-title cycle-says" '
        'font-family="sans-serif" font-size="15" fill="#1c1b19">',
        f'<title id="cycle-title">{escape(drawn.title)}</title>',
        f'<desc id="cycle-says">{escape(drawn.says)}</desc>',
        f'<rect x="0" y="0" width="{_WIDE}" height="{_HIGH}" fill="#ffffff"/>',
        *plot.band(),
        *plot.axes(),
    ]
    if drawn.steam is not None:
        path = plot.path(drawn.steam)
        parts.append(
            f'<path d="{path}" fill="none" stroke="#1c1b19" stroke-width="1.2" '
            'stroke-dasharray="2 4"/>'
        )
    path = plot.path(drawn.celsius)
    parts.append(f'<path d="{path}" fill="none" stroke="#1c1b19" stroke-width="2.2"/>')
    parts += plot.hold()
    parts += plot.troubles()
    parts += plot.key(drawn.steam is not None)
    parts.append("</svg>")
    return "".join(parts)


class _Plot:
    """Where a moment and a temperature stand on the page."""

    def __init__(self, drawn: Drawn) -> None:
        self.drawn = drawn
        self.start = drawn.seconds[0]
        self.length = max(drawn.seconds[-1] - self.start, 1.0)
        self.top = max(max(drawn.celsius), drawn.high) + 18
        self.bottom = min(20.0, min(drawn.celsius))

    def x(self, second: float) -> float:
        return _LEFT + (second - self.start) / self.length * (_WIDE - _LEFT - _RIGHT)

    def y(self, celsius: float) -> float:
        share = (celsius - self.bottom) / (self.top - self.bottom)
        return _HIGH - _FOOT - share * (_HIGH - _FOOT - _TOP)

    def path(self, values: Sequence[float]) -> str:
        """The line, with the lowest and highest of each column of the page: no peak is lost."""
        points = [f"{x:.1f} {y:.1f}" for x, y in self._thinned(values)]
        return "M" + "L".join(points)

    def _thinned(self, values: Sequence[float]) -> Iterator[tuple[float, float]]:
        column: list[tuple[float, float]] = []
        at = -1
        for second, value in zip(self.drawn.seconds, values, strict=True):
            x = self.x(second)
            y = self.y(min(max(value, self.bottom), self.top))
            if int(x) != at and column:
                yield from _ends(column)
                column = []
            at = int(x)
            column.append((x, y))
        yield from _ends(column)

    def band(self) -> Iterator[str]:
        y, low = self.y(self.drawn.high), self.y(self.drawn.low)
        width = _WIDE - _LEFT - _RIGHT
        yield (
            f'<rect x="{_LEFT}" y="{y:.1f}" width="{width}" height="{low - y:.1f}" '
            'fill="#ece8dc" stroke="#6b675f" stroke-width="0.6"/>'
        )
        yield (
            f'<text x="{_LEFT + 6}" y="{y - 6:.1f}">band {self.drawn.low:g} to '
            f"{self.drawn.high:g} °C</text>"
        )

    def axes(self) -> Iterator[str]:
        foot = _HIGH - _FOOT
        yield (f'<path d="M{_LEFT} {_TOP}V{foot}H{_WIDE - _RIGHT}" fill="none" stroke="#1c1b19"/>')
        for celsius in range(40, int(self.top), 20):
            y = self.y(celsius)
            yield f'<path d="M{_LEFT - 5} {y:.1f}h5" stroke="#1c1b19"/>'
            yield f'<text x="{_LEFT - 9}" y="{y + 5:.1f}" text-anchor="end">{celsius}</text>'
        minutes = self.length / 60
        step = next(s for s in (1, 2, 5, 10, 20, 30, 60, 120, 240, 1440) if minutes / s <= 8)
        for minute in range(0, int(minutes) + 1, step):
            x = self.x(self.start + minute * 60)
            yield f'<path d="M{x:.1f} {foot}v5" stroke="#1c1b19"/>'
            yield f'<text x="{x:.1f}" y="{foot + 20}" text-anchor="middle">{minute}</text>'
        yield f'<text x="{_WIDE - _RIGHT}" y="{_HIGH - 8}" text-anchor="end">minutes</text>'
        yield f'<text x="{_LEFT - 9}" y="{_TOP - 10}" text-anchor="end">°C</text>'

    def hold(self) -> Iterator[str]:
        """A bracket above the holding time."""
        if self.drawn.hold is None:
            return
        left, right = (self.x(second) for second in self.drawn.hold)
        y = self.y(self.drawn.high) - 24
        yield (
            f'<path d="M{left:.1f} {y + 7:.1f}v-7H{right:.1f}v7" fill="none" '
            'stroke="#1c1b19" stroke-width="1.6"/>'
        )
        middle = min(max((left + right) / 2, _LEFT + 60), _WIDE - _RIGHT - 60)
        if y > _TOP:
            yield f'<text x="{middle:.1f}" y="{y - 4:.1f}" text-anchor="middle">hold</text>'

    def troubles(self) -> Iterator[str]:
        for number, trouble in enumerate(self.drawn.troubles[:4]):
            x = self.x(trouble.at_s)
            y = _HIGH - _FOOT - 16 - 22 * number
            yield (
                f'<path d="M{x:.1f} {_TOP}V{_HIGH - _FOOT}" stroke="#8a2d1c" '
                'stroke-width="1.6" stroke-dasharray="8 4"/>'
            )
            late = x > _WIDE / 2
            anchor, at = ("end", x - 7) if late else ("start", x + 7)
            yield (
                f'<text x="{at:.1f}" y="{y}" text-anchor="{anchor}" fill="#8a2d1c" '
                f'font-weight="bold">{escape(trouble.says)}</text>'
            )

    def key(self, steam: bool) -> Iterator[str]:
        y = _HIGH - 8
        yield f'<path d="M{_LEFT} {y - 5}h28" stroke="#1c1b19" stroke-width="2.2"/>'
        yield f'<text x="{_LEFT + 34}" y="{y}">chamber</text>'
        if steam:
            at = _LEFT + 118
            yield (
                f'<path d="M{at} {y - 5}h28" stroke="#1c1b19" stroke-width="1.2" '
                'stroke-dasharray="2 4"/>'
            )
            yield f'<text x="{at + 34}" y="{y}">steam at that pressure</text>'


def _ends(column: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """First, lowest, highest and last of one column, in order of time, each once."""
    keep = {column[0], column[-1], min(column, key=_second), max(column, key=_second)}
    return [point for point in dict.fromkeys(column) if point in keep]


def _second(point: tuple[float, float]) -> float:
    return point[1]
