"""Sheet designs: read from data and refused at once if they could not be printed.

A wrong design would otherwise be found on a ruined sheet, so every figure is checked against
the others when the file is read. All lengths are millimetres.
"""

import math
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final, Literal

import msgspec

from labels.symbol import QUIET, SIDE

PRINTER_DPI: Final = 300
"""The coarsest printer a sheet is designed for; a module is a whole number of its dots."""

FEWEST_DOTS: Final = 3
"""Below three dots a module, one dot of ink growth made a third of the symbols unreadable
(measured: 66 of 100 read at two dots, 100 of 100 at three)."""

EDGE_MM: Final = 1.5
"""Nothing is printed closer than this to a label's edge."""

FEED_MM: Final = 1.0
"""How far paper may be fed off its place with the quiet zone still wholly on the label
(common practice for laser printers)."""

LEAST_MARGIN_MM: Final = 4.0
"""What office printers leave white at the edges of the page (common practice)."""

LEAST_TEXT_WIDTH_MM: Final = 12.0
LEADING: Final = 1.2
_SLACK_MM: Final = 1e-6


class Design(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One kind of sheet: where its labels are, and how large the symbol and the type may be."""

    name: str
    kind: Literal["label", "card"]
    page: tuple[float, float]
    grid: tuple[int, int]
    label: tuple[float, float]
    pitch: tuple[float, float]
    corner: tuple[float, float]
    dots: int
    tag_mm: float
    line_mm: float
    word_mm: float = 0.0

    @property
    def places(self) -> int:
        """Labels on one sheet."""
        return self.grid[0] * self.grid[1]

    @property
    def module(self) -> float:
        """Side of one module, mm."""
        return self.dots * 25.4 / PRINTER_DPI

    @property
    def symbol(self) -> float:
        """Side of the symbol's ink, mm."""
        return SIDE * self.module

    @property
    def quiet(self) -> float:
        """Breadth of the quiet zone, mm."""
        return QUIET * self.module

    @property
    def inset(self) -> float:
        """Least distance of the symbol's ink from the label's edge, mm."""
        return max(EDGE_MM, self.quiet + FEED_MM)

    @property
    def text_left(self) -> float:
        """Where the column of text begins, mm from the label's left edge."""
        return self.inset + self.symbol + self.quiet

    @property
    def foot(self) -> float:
        """White below the last row, mm."""
        return self.page[1] - self.corner[1] - (self.grid[1] - 1) * self.pitch[1] - self.label[1]

    @property
    def says(self) -> str:
        """The design in words, for a list to choose from."""
        columns, rows = self.grid
        width, height = self.label
        noun = "labels" if self.kind == "label" else "cards"
        return (
            f"{columns} × {rows} {noun} of {width:g} × {height:g} mm "
            f"on a page of {self.page[0]:g} × {self.page[1]:g} mm"
        )


@cache
def designs() -> Mapping[str, Design]:
    """All designs that come with the tool, by name."""
    text = files("labels").joinpath("designs.toml").read_text(encoding="utf-8")
    return MappingProxyType(read_designs(text))


def design_named(name: str) -> Design:
    """The design of that name; ValueError, naming those there are, if there is none."""
    try:
        return designs()[name]
    except KeyError:
        known = ", ".join(designs())
        raise ValueError(f"There is no sheet design {name!r}; choose one of {known}.") from None


def read_designs(text: str) -> dict[str, Design]:
    """Designs from TOML text, each checked; ValueError names the design and all that is wrong."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise ValueError(f"The sheet designs cannot be read: {fault}.") from None
    return {name: _design_from(name, table) for name, table in tables.items()}


def _design_from(name: str, table: object) -> Design:
    if not isinstance(table, dict):
        raise ValueError(f"The sheet design {name!r} is no table of figures but {table!r}.")
    try:
        design = msgspec.convert({**table, "name": name}, Design)
    except msgspec.ValidationError as fault:
        raise ValueError(f"The sheet design {name!r} cannot be read: {fault}.") from None
    faults = list(_faults(design))
    if faults:
        raise ValueError(f"The sheet design {name!r} cannot be printed: {'; '.join(faults)}.")
    return design


def _faults(design: Design) -> Iterator[str]:
    lengths = (*design.page, *design.label, *design.pitch, design.tag_mm, design.line_mm)
    if not all(math.isfinite(each) and each > 0 for each in (*lengths, *design.corner)):
        yield "every length must be a number above 0 mm"
    elif min(design.grid) < 1:
        yield f"a grid of {design.grid[0]} × {design.grid[1]} holds no label"
    elif design.dots < FEWEST_DOTS:
        yield f"a module of {design.dots} dots is too fine, {FEWEST_DOTS} is the least"
    else:
        yield from _faults_across(design, axis=0, direction="across")
        yield from _faults_across(design, axis=1, direction="down")
        yield from _faults_within(design)


def _faults_across(design: Design, *, axis: int, direction: str) -> Iterator[str]:
    page, count, label = design.page[axis], design.grid[axis], design.label[axis]
    pitch, near = design.pitch[axis], design.corner[axis]
    if count > 1 and pitch < label - _SLACK_MM:
        yield f"{direction}, labels of {label:g} mm overlap at a pitch of {pitch:g} mm"
    end = near + (count - 1) * pitch + label
    if end > page + _SLACK_MM:
        yield f"{direction}, the labels end at {end:g} mm on a page of {page:g} mm"
    elif min(near, page - end) < LEAST_MARGIN_MM - _SLACK_MM:
        yield (
            f"{direction}, a margin of {min(near, page - end):.2f} mm is under the "
            f"{LEAST_MARGIN_MM:g} mm printers leave white"
        )


def _faults_within(design: Design) -> Iterator[str]:
    width, height = design.label
    tall = design.symbol + 2 * design.inset
    if tall > height + _SLACK_MM:
        yield f"the symbol with its edge needs {tall:.2f} mm of a label {height:g} mm high"
    room = width - EDGE_MM - design.text_left
    if room < LEAST_TEXT_WIDTH_MM:
        yield f"beside the symbol {room:.1f} mm are left for text, under {LEAST_TEXT_WIDTH_MM:g} mm"
    biggest = max(design.word_mm, 0.0) if design.kind == "card" else 0.0
    stack = LEADING * (design.tag_mm + design.line_mm + biggest)
    if stack > height - 2 * EDGE_MM:
        yield f"the lines of text need {stack:.1f} mm of a label {height:g} mm high"
    if design.kind == "card" and not design.line_mm < design.word_mm < math.inf:
        yield "a card's word_mm must be larger than its line_mm"
