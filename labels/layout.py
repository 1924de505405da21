"""Where everything on one label goes: boxes in millimetres, before any ink.

The symbol stands at the left, half way down; the text has the rest. Origin is the top left
corner, x to the right and y down. The files that draw know nothing of labels, and this one
knows nothing of PDF or pixels.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from labels.designs import EDGE_MM, LEADING, PRINTER_DPI, Design
from labels.faces import (
    ASCENT,
    BOLD,
    CAPITAL,
    DESCENT,
    PLAIN,
    Face,
    advance,
    fitted,
    folded,
    overhang,
    paragraph,
    printable,
    width,
)
from labels.symbol import check_text, spelled

_GAP_OF_GROUPS: Final = 0.34
_DOT_WIDTH: Final = 0.11
_DOT_HEIGHT: Final = 0.14
_ROWS_OF_A_WORD: Final = 2
_WORD_STEP_MM: Final = 0.5
_AIR: Final = 0.4


@dataclass(frozen=True, slots=True)
class Label:
    """What one label says: the tag as encoded, and lines for people; a card's first line is big."""

    text: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle, mm."""

    x: float
    y: float
    width: float
    height: float

    def moved(self, dx: float, dy: float) -> "Box":
        return replace(self, x=self.x + dx, y=self.y + dy)


@dataclass(frozen=True, slots=True)
class Symbol:
    """The ink of one symbol, without its quiet zone; each side is 21 modules."""

    text: str
    box: Box

    def moved(self, dx: float, dy: float) -> "Symbol":
        """Moved, and put on whole dots of the printer.

        A printer may blacken every dot an edge touches; an edge between two dots would then
        make every module a dot wider. This spares a printer whose dots begin at the page's
        corner that growth, and moves the symbol by 0.042 mm at most.
        """
        dot = 25.4 / PRINTER_DPI
        x, y = (round(at / dot) * dot for at in (self.box.x + dx, self.box.y + dy))
        return replace(self, box=replace(self.box, x=x, y=y))


@dataclass(frozen=True, slots=True)
class Text:
    """Words on a baseline whose first letter's place begins at x; `size` is the type size, mm."""

    words: str
    x: float
    baseline: float
    size: float
    face: Face

    @property
    def box(self) -> Box:
        """What the words may blacken at most."""
        return Box(
            self.x - overhang(self.words, self.face, self.size),
            self.baseline - ASCENT * self.size,
            width(self.words, self.face, self.size),
            (ASCENT + DESCENT) * self.size,
        )

    def moved(self, dx: float, dy: float) -> "Text":
        return replace(self, x=self.x + dx, baseline=self.baseline + dy)


@dataclass(slots=True)
class Drawing:
    """Everything put so far on a label or a page of that size, mm; `fills` are black boxes."""

    width: float
    height: float
    symbols: list[Symbol] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    fills: list[Box] = field(default_factory=list)

    def add(self, other: "Drawing", x: float, y: float) -> None:
        """Put another drawing on this one with its corner at x, y."""
        self.symbols.extend(each.moved(x, y) for each in other.symbols)
        self.texts.extend(each.moved(x, y) for each in other.texts)
        self.fills.extend(each.moved(x, y) for each in other.fills)


@dataclass(frozen=True, slots=True)
class _Row:
    """One row of text not yet in its place; a tag is set in groups, a row apart has air above."""

    words: str
    size: float
    face: Face = PLAIN
    tag: bool = False
    apart: bool = False


def arrange(label: Label, design: Design) -> Drawing:
    """The label laid out by the design; a tag is never shortened, lines are.

    Raises ValueError if the text is no tag.
    """
    check_text(label.text)
    drawing = Drawing(*design.label)
    side = design.symbol
    top = (design.label[1] - side) / 2
    drawing.symbols.append(Symbol(label.text, Box(design.inset, top, side, side)))
    column = text_column(design)
    rows = _card_rows if design.kind == "card" else _label_rows
    _stack(drawing, rows(label, design, column), column, air=_AIR * design.line_mm)
    return drawing


def text_column(design: Design) -> Box:
    """The part of a label text may fill."""
    wide, high = design.label
    return Box(design.text_left, EDGE_MM, wide - EDGE_MM - design.text_left, high - 2 * EDGE_MM)


def _label_rows(label: Label, design: Design, column: Box) -> list[_Row]:
    """The tag first, since it is what is read aloud when the symbol will not scan."""
    tag = _tag_row(label.text, design, column)
    rows = _rows_for(column.height - LEADING * tag.size, design.line_mm)
    return [tag, *_line_rows(label.lines, design, column, rows)]


def _card_rows(label: Label, design: Design, column: Box) -> list[_Row]:
    """The word first, in the largest type that holds it, then the lines, then the tag, small."""
    tag = _tag_row(label.text, design, column)
    word = _word_rows(label.lines[:1], design, column)
    left = column.height - LEADING * (tag.size + sum(row.size for row in word))
    return [
        *word,
        *_line_rows(label.lines[1:], design, column, _rows_for(left, design.line_mm)),
        tag,
    ]


def _rows_for(height: float, size: float) -> int:
    return max(0, int(height / (LEADING * size) + 1e-9))


def _line_rows(lines: Sequence[str], design: Design, column: Box, most: int) -> list[_Row]:
    size = design.line_mm
    rows = paragraph(lines, PLAIN, size, column.width, most)
    return [_Row(words, size, apart=number == 0) for number, words in enumerate(rows)]


def _tag_row(text: str, design: Design, column: Box) -> _Row:
    size = min(design.tag_mm, column.width / _tag_width(text))
    return _Row(text, size, tag=True, apart=True)


def _tag_width(text: str) -> float:
    """Width of a tag in its groups, in parts of the type size."""
    groups = spelled(text)
    return sum(width(group, PLAIN, 1.0) for group in groups) + _GAP_OF_GROUPS * (len(groups) - 1)


def _word_rows(first: Sequence[str], design: Design, column: Box) -> list[_Row]:
    """A card's word: as large as two rows allow, never smaller than the lines below it."""
    words = printable("".join(first), BOLD)
    size = design.word_mm
    while size > design.line_mm and not _word_fits(words, size, column):
        size -= _WORD_STEP_MM
    size = max(size, design.line_mm)
    return [
        _Row(row, size, BOLD) for row in fitted(words, BOLD, size, column.width, _ROWS_OF_A_WORD)
    ]


def _word_fits(words: str, size: float, column: Box) -> bool:
    rows = folded(words, BOLD, size, column.width)
    return len(rows) <= _ROWS_OF_A_WORD and all(
        width(row, BOLD, size) <= column.width for row in rows
    )


def _stack(drawing: Drawing, rows: Sequence[_Row], column: Box, *, air: float) -> None:
    """Put the rows one below the other, the whole half way down the column."""
    parts = sum(row.apart for row in rows[1:])
    spare = column.height - LEADING * sum(row.size for row in rows)
    gap = min(air, spare / parts) if parts else 0.0
    y = column.y + (spare - gap * parts) / 2
    for number, row in enumerate(rows):
        y += gap if row.apart and number else 0.0
        baseline = y + ((LEADING - CAPITAL) / 2 + CAPITAL) * row.size
        if row.tag:
            _set_tag(drawing, row, column.x, baseline)
        else:
            x = column.x + overhang(row.words, row.face, row.size)
            drawing.texts.append(Text(row.words, x, baseline, row.size, row.face))
        y += LEADING * row.size


def _set_tag(drawing: Drawing, row: _Row, x: float, baseline: float) -> None:
    """A tag in its groups, with a dot in every nought so that nobody takes it for the letter O."""
    for group in spelled(row.words):
        start = x + overhang(group, row.face, row.size)
        drawing.texts.append(Text(group, start, baseline, row.size, row.face))
        drawing.fills.extend(_dots(group, start, baseline, row.size))
        x += width(group, row.face, row.size) + _GAP_OF_GROUPS * row.size


def _dots(group: str, x: float, baseline: float, size: float) -> Iterator[Box]:
    for letter in group:
        wide = advance(letter, PLAIN) * size
        if letter == "0":
            middle, height = baseline - CAPITAL / 2 * size, _DOT_HEIGHT * size
            left = x + (wide - _DOT_WIDTH * size) / 2
            yield Box(left, middle - height / 2, _DOT_WIDTH * size, height)
        x += wide
