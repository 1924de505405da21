"""A cycle laid out as a picture: panels under each other, what went wrong numbered at its moment.

The same marks go to the screen and to paper. Lines are told apart by their strokes and by letters
on them, never by colour.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from equip.deliver.picture.cycle import Drawn, Panel, Span, Trouble
from equip.deliver.picture.field import Plot
from equip.deliver.picture.ink import Block, Mark, Picture, Stroke, Tone, Words
from equip.deliver.picture.ticks import Scale, time_ticks, value_ticks, value_words
from labels.faces import BOLD, PLAIN, folded, width

_TITLE, _KEY_ROW, _LANE, _NUMBERS, _AXIS, _GAP = 1.5, 1.5, 2.1, 1.7, 1.7, 1.0
"""Heights in sizes of the type."""
_SAMPLE = 2.6
"""How long a line in the key is, in sizes of the type."""


LOWEST = 0.8
"""The least by which scales are stretched: what is to fit into one fits at that."""


@dataclass(frozen=True, slots=True)
class Size:
    """How wide the picture is and how large its type, in its own units; *tall* stretches scales."""

    width: float
    type: float
    tall: float = 1.0


SCREEN = Size(720, 13.5)
NARROW = Size(340, 12)
"""For a screen of 360 px: its units are close to one px there."""
PAPER = Size(504, 7.5, LOWEST)
"""In points, between the margins of A4."""


def picture(drawn: Drawn, size: Size) -> Picture:
    """All of it, as high as it needs to be."""
    marks: list[Mark] = []
    top = 0.0
    for panel in drawn.panels:
        laid = _LaidPanel(panel, drawn.troubles, size, top)
        marks += laid.marks()
        top = laid.foot + _GAP * size.type
    marks += _troubles_in_words(drawn.troubles, size, top)
    rows = sum(len(_rows_of(trouble, size)) for trouble in drawn.troubles)
    height = top + rows * _KEY_ROW * size.type
    return Picture(size.width, height, tuple(marks), drawn.title, drawn.says)


class _LaidPanel:
    """One panel with everything above and below its scale."""

    def __init__(self, panel: Panel, troubles: Iterable[Trouble], size: Size, top: float) -> None:
        self.panel, self.size, self.top = panel, size, top
        em, tall = size.type, panel.tall * size.tall
        self.ticks = value_ticks(panel.low, panel.high, max(int(tall / 1.6), 3))
        margin = max(width(value_words(tick), PLAIN, em) for tick in self.ticks) + 0.8 * em
        self.title = folded(panel.title, BOLD, em, size.width)
        keyed = panel.curves if len(panel.curves) > 1 else ()
        self.key = _flowed([f"{c.mark}  {c.name}" for c in keyed], size)
        here = [t for t in troubles if panel.start <= t.at_s <= panel.end]
        plot_left, plot_right = margin, size.width - 0.6 * em
        across = Scale(panel.start, panel.end, plot_left, plot_right)
        self.lanes = _lanes(panel.spans, across, size)
        self.numbers = _numbered(here, across, em)
        self.keys_top = top + _TITLE * em * len(self.title)
        self.lanes_top = self.keys_top + _KEY_ROW * em * len({row for row, *_ in self.key})
        rows = 1 + max((row for row, _ in self.numbers), default=-1)
        self.numbers_top = self.lanes_top + _LANE * em * len(self.lanes)
        plot_top = self.numbers_top + _NUMBERS * em * rows + 0.3 * em
        self.plot = Plot(panel, plot_left, plot_right, plot_top, plot_top + tall * em, em)
        self.plot.uprights = [self.plot.x(trouble.at_s) for _, trouble in self.numbers]
        self.foot = self.plot.bottom + _AXIS * em

    def marks(self) -> Iterator[Mark]:
        em = self.size.type
        for row, words in enumerate(self.title):
            y = self.top + (_TITLE * row + 1) * em
            yield Words(words, 0, y, em, bold=True)
        yield from self._key()
        yield from self.plot.ground()
        yield from self._axes()
        yield from self.plot.curves()
        yield from self._spans()
        yield from self._numbers()
        yield from self.plot.labels()

    def _key(self) -> Iterator[Mark]:
        """A sample of each line and its name; one line alone is named by the title."""
        em = self.size.type
        for curve, (row, x, words) in zip(self.panel.curves, self.key, strict=False):
            y = self.keys_top + (_KEY_ROW * row + 1) * em
            ends = ((x, y - 0.35 * em), (x + _SAMPLE * em, y - 0.35 * em))
            yield Stroke(ends, curve.weight * em / 13, _scaled(curve.dash, em))
            yield Words(words, x + (_SAMPLE + 0.5) * em, y, em)

    def _axes(self) -> Iterator[Mark]:
        em, plot = self.size.type, self.plot
        corner = ((plot.left, plot.top), (plot.left, plot.bottom), (plot.right, plot.bottom))
        yield Stroke(corner, 0.08 * em)
        for value in self.ticks:
            y = plot.y(value)
            yield Stroke(((plot.left - 0.35 * em, y), (plot.left, y)), 0.08 * em)
            words = value_words(value)
            yield Words(words, plot.left - 0.55 * em, y + 0.36 * em, em, "end")
        yield from self._times()

    def _times(self) -> Iterator[Mark]:
        """The time axis; from the end on, for the last tick names the unit and keeps its words."""
        em, plot = self.size.type, self.plot
        room = int((plot.right - plot.left) / (4.2 * em))
        free = self.size.width
        for second, words in reversed(time_ticks(self.panel.start, self.panel.end, room)):
            x = plot.x(second)
            yield Stroke(((x, plot.bottom), (x, plot.bottom + 0.35 * em)), 0.08 * em)
            half = width(words, PLAIN, em) / 2
            middle = min(x, self.size.width - half)
            if middle + half <= free:
                yield Words(words, middle, plot.bottom + 1.4 * em, em, "middle")
                free = middle - half - 0.5 * em

    def _spans(self) -> Iterator[Mark]:
        em, plot = self.size.type, self.plot
        for number, lane in enumerate(self.lanes):
            y = self.lanes_top + (_LANE * number + 1.5) * em
            for span, middle in lane:
                left, right = plot.x(max(span.start, plot.start)), plot.x(min(span.end, plot.end))
                points = ((left, y + 0.4 * em), (left, y), (right, y), (right, y + 0.4 * em))
                yield Stroke(points, 0.12 * em, () if span.sure else (0.5 * em, 0.3 * em))
                yield Words(span.says, middle, y - 0.4 * em, em, "middle")

    def _numbers(self) -> Iterator[Mark]:
        """A broken upright line at each trouble, its number above."""
        em, plot = self.size.type, self.plot
        for row, trouble in self.numbers:
            x, y = plot.x(trouble.at_s), self.numbers_top + _NUMBERS * em * row
            ends = ((x, y + 1.4 * em), (x, plot.bottom))
            weight = 0.06 if trouble.remark else 0.11
            yield Stroke(ends, weight * em, (0.6 * em, 0.3 * em), "accent")
            yield from _number(trouble, x, y, em)


def _number(trouble: Trouble, x: float, top: float, em: float) -> Iterator[Mark]:
    """The number of a reason: in a full box, or in an empty one if it is only a remark."""
    wide = _box_width(trouble, em)
    ground: Tone = "paper" if trouble.remark else "accent"
    ink: Tone = "ink" if trouble.remark else "paper"
    yield Block(x - wide / 2, top, wide, 1.35 * em, ground, edge=0.08 * em)
    yield Words(str(trouble.number), x, top + 1.05 * em, em, "middle", bold=True, tone=ink)


def _box_width(trouble: Trouble, em: float) -> float:
    return width(str(trouble.number), BOLD, em) + 0.8 * em


def _numbered(troubles: Iterable[Trouble], across: Scale, em: float) -> list[tuple[int, Trouble]]:
    """Each trouble with the row of its number: two at one moment stand over each other."""
    ends: list[float] = []
    placed = []
    for trouble in sorted(troubles, key=lambda trouble: (trouble.at_s, trouble.number)):
        half = _box_width(trouble, em) / 2 + 0.1 * em
        x = across.at(trouble.at_s)
        row = next((n for n, end in enumerate(ends) if x - half > end), len(ends))
        ends[row : row + 1] = [x + half]
        placed.append((row, trouble))
    return placed


def _lanes(spans: Iterable[Span], across: Scale, size: Size) -> list[list[tuple[Span, float]]]:
    """The spans in as few lanes as they need, each with the middle of its words."""
    lanes: list[list[tuple[Span, float]]] = []
    ends: list[float] = []
    for span in spans:
        left = across.at(max(span.start, across.low))
        right = across.at(min(span.end, across.high))
        half = width(span.says, PLAIN, size.type) / 2
        middle = min(max((left + right) / 2, half), size.width - half)
        first, last = min(left, middle - half), max(right, middle + half)
        lane = next((n for n, end in enumerate(ends) if first > end), len(ends))
        if lane == len(ends):
            lanes.append([])
        ends[lane : lane + 1] = [last + size.type]
        lanes[lane].append((span, middle))
    return lanes


def _flowed(entries: Iterable[str], size: Size) -> list[tuple[int, float, str]]:
    """Row, left edge and words of each entry of a key, in rows as wide as the picture."""
    placed: list[tuple[int, float, str]] = []
    row, x = 0, 0.0
    for words in entries:
        wide = (_SAMPLE + 0.5) * size.type + width(words, PLAIN, size.type)
        if placed and x + wide > size.width:
            row, x = row + 1, 0.0
        placed.append((row, x, words))
        x += wide + 1.6 * size.type
    return placed


def _rows_of(trouble: Trouble, size: Size) -> list[str]:
    return folded(trouble.says, PLAIN, size.type, size.width - 2.4 * size.type)


def _troubles_in_words(troubles: Iterable[Trouble], size: Size, top: float) -> Iterator[Mark]:
    em = size.type
    y = top
    for trouble in troubles:
        yield from _number(trouble, _box_width(trouble, em) / 2 + 0.05 * em, y - 0.05 * em, em)
        for words in _rows_of(trouble, size):
            yield Words(words, 2.4 * em, y + em, em)
            y += _KEY_ROW * em


def _scaled(dash: tuple[float, ...], em: float) -> tuple[float, ...]:
    return tuple(part * em / 13 for part in dash)
