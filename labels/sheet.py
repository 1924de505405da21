"""Sheets and single labels: what the rest of the tool asks this room for.

Every function takes labels and the name of a design and gives back bytes, the same bytes for the
same request; each refuses in one sentence (ValueError) what it cannot print.
"""

import math
from collections.abc import Iterator, Sequence
from typing import Final

from labels.designs import FEWEST_DOTS, LEAST_MARGIN_MM, PRINTER_DPI, Design, design_named
from labels.faces import PLAIN, width
from labels.layout import Box, Drawing, Label, Text, arrange
from labels.pdf import pdf_of
from labels.png import png_of
from labels.symbol import check_text

__all__ = ["Label", "label_pdf", "label_png", "page_count", "sheet_pdf", "sheet_png"]

MOST_LABELS: Final = 1000
"""In one request; about a second's work."""

FARTHEST_SHIFT_MM: Final = 5.0
"""A printer that is farther off has the wrong paper in it."""

RULER_MM: Final = 100.0
_RULER_SAYS: Final = "Print at 100 % (actual size): this line is 100 mm."
_RULER_ROOM_MM: Final = 9.0
_RULER_FROM_FOOT_MM: Final = 6.0
_TICK_MM: Final = 2.0
_HAIR_MM: Final = 0.2
_SMALL_TYPE_MM: Final = 2.2
_CUT_MARK_MM: Final = 4.0


def sheet_pdf(
    labels: Sequence[Label],
    design: str,
    *,
    first: int = 1,
    dx_mm: float = 0.0,
    dy_mm: float = 0.0,
) -> bytes:
    """The labels on as many sheets as they need.

    `first` is the first free place of a part-used sheet, counted along the rows from 1;
    `dx_mm` and `dy_mm` shift the print to the right and down where a printer feeds off its place.
    """
    sheets = _Sheets(labels, design, first, dx_mm, dy_mm)
    pages = (sheets.page(number) for number in range(1, sheets.count + 1))
    return pdf_of(pages, f"{len(labels)} on {sheets.design.says}")


def sheet_png(
    labels: Sequence[Label],
    design: str,
    *,
    page: int = 1,
    dpi: int = PRINTER_DPI,
    first: int = 1,
    dx_mm: float = 0.0,
    dy_mm: float = 0.0,
) -> bytes:
    """One page of the same sheets as a picture, to look at before the paper is spent."""
    sheets = _Sheets(labels, design, first, dx_mm, dy_mm)
    if not 1 <= page <= sheets.count:
        raise ValueError(f"There is no page {page}; these labels fill {sheets.count}.")
    return png_of(sheets.page(page), dpi, fewest_dots=1)


def page_count(labels: Sequence[Label], design: str, *, first: int = 1) -> int:
    """How many sheets the labels need."""
    return _Sheets(labels, design, first, 0.0, 0.0).count


def label_pdf(label: Label, design: str) -> bytes:
    """One label on a page of its own size, for a printer with a roll of them."""
    return pdf_of([arrange(label, design_named(design))], "1 label")


def label_png(label: Label, design: str, *, dpi: int = PRINTER_DPI) -> bytes:
    """One label as dots for a printer with a roll; at least three dots a module, or ValueError."""
    return png_of(arrange(label, design_named(design)), dpi, fewest_dots=FEWEST_DOTS)


class _Sheets:
    """A request that has been found printable, and its pages."""

    def __init__(
        self, labels: Sequence[Label], design: str, first: int, dx_mm: float, dy_mm: float
    ) -> None:
        self.labels = labels
        self.design = design_named(design)
        self.before = first - 1
        self.shift = (dx_mm, dy_mm)
        _check(labels, self.design, first, self.shift)

    @property
    def count(self) -> int:
        return math.ceil((self.before + len(self.labels)) / self.design.places)

    def page(self, number: int) -> Drawing:
        """Page `number`, counted from 1, with its labels, its ruler and its cut marks."""
        drawing = Drawing(*self.design.page)
        drawing.fills.extend(_cut_marks(self.design))
        add_ruler(drawing, self.design)
        for label, x, y in self._places_of(number):
            drawing.add(arrange(label, self.design), x + self.shift[0], y + self.shift[1])
        return drawing

    def _places_of(self, number: int) -> Iterator[tuple[Label, float, float]]:
        """The labels of one page, each with the left and the top of its place."""
        places = self.design.places
        start = (number - 1) * places - self.before
        for index in range(max(start, 0), min(start + places, len(self.labels))):
            row, column = divmod(index - start, self.design.grid[0])
            x = self.design.corner[0] + column * self.design.pitch[0]
            y = self.design.corner[1] + row * self.design.pitch[1]
            yield self.labels[index], x, y


def _check(labels: Sequence[Label], design: Design, first: int, shift: tuple[float, float]) -> None:
    if not labels:
        raise ValueError("There are no labels to print; choose at least one.")
    if len(labels) > MOST_LABELS:
        raise ValueError(f"{len(labels)} labels are too many at once; print at most {MOST_LABELS}.")
    if not 1 <= first <= design.places:
        raise ValueError(
            f"There is no place {first} on a sheet of {design.places}; "
            f"count the free place from 1 to {design.places}."
        )
    for label in labels:
        check_text(label.text)
    if not all(abs(mm) <= FARTHEST_SHIFT_MM for mm in shift):
        raise ValueError(
            f"A shift of {shift[0]:g} mm across and {shift[1]:g} mm down is too far; "
            f"{FARTHEST_SHIFT_MM:g} mm either way is the most."
        )


def add_ruler(drawing: Drawing, design: Design) -> None:
    """A line of 100 mm at the foot of the page, where the margin has room for it.

    It stands in the white below the last row on every page, since each page may be fed and
    scaled by itself; it is not shifted with the labels.
    """
    left, y = design.corner[0], design.page[1] - _RULER_FROM_FOOT_MM
    beside = left + RULER_MM + _TICK_MM
    end = beside + width(_RULER_SAYS, PLAIN, _SMALL_TYPE_MM)
    if design.foot < _RULER_ROOM_MM or end > design.page[0] - LEAST_MARGIN_MM:
        return
    drawing.fills.extend(
        (
            Box(left, y - _HAIR_MM / 2, RULER_MM, _HAIR_MM),
            Box(left, y - _TICK_MM / 2, _HAIR_MM, _TICK_MM),
            Box(left + RULER_MM - _HAIR_MM, y - _TICK_MM / 2, _HAIR_MM, _TICK_MM),
        )
    )
    drawing.texts.append(Text(_RULER_SAYS, beside, y + 0.8, _SMALL_TYPE_MM, PLAIN))


def _cut_marks(design: Design) -> Iterator[Box]:
    """For cards, short lines in the margins where the knife goes; labels are cut already."""
    if design.kind != "card":
        return
    for axis in (0, 1):
        across, along = 1 - axis, axis
        near = design.corner[across]
        far = near + (design.grid[across] - 1) * design.pitch[across] + design.label[across]
        for at in _edges(design, along):
            for start in (near - 1 - _CUT_MARK_MM, far + 1):
                mark = (at - _HAIR_MM / 2, start, _HAIR_MM, _CUT_MARK_MM)
                yield Box(*mark) if axis == 0 else Box(mark[1], mark[0], mark[3], mark[2])


def _edges(design: Design, axis: int) -> list[float]:
    """Where cards begin and end along one axis, mm."""
    starts = [design.corner[axis] + n * design.pitch[axis] for n in range(design.grid[axis])]
    return sorted({round(at + add, 3) for at in starts for add in (0.0, design.label[axis])})
