"""Pages of A4 for reading and keeping: type, paragraphs, ruled tables, page x of y.

The same content gives the same bytes. The type is the one labels are set in; letters that it
lacks are printed as their plain form or as a question mark, and the sheet knows that it did so.
"""

import io
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any, Final

from reportlab.lib.colors import Color, black, white
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import CondPageBreak, Paragraph, SimpleDocTemplate, Spacer, Table

from labels.faces import BOLD, PLAIN, Face, printable
from labels.pdf import registered

_SIDE, _TOP, _FOOT = 45.0, 34.0, 48.0
WIDE: Final = A4[0] - 2 * _SIDE - 1
HIGH: Final = A4[1] - _TOP - _FOOT - 12
_GREY = Color(0.55, 0.55, 0.55)

Flowing = list[Any]
"""What reportlab calls flowables: they fill one page after the other."""


@dataclass(frozen=True, slots=True)
class Style:
    """How words are set: points, face, black on white or the reverse."""

    size: float = 8.5
    face: Face = PLAIN
    reverse: bool = False

    def made(self) -> ParagraphStyle:
        return ParagraphStyle(
            name=f"{self.face.file}-{self.size}-{self.reverse}",
            fontName=registered(self.face),
            fontSize=self.size,
            leading=self.size * 1.3,
            textColor=white if self.reverse else black,
            splitLongWords=1,
        )


BODY: Final = Style()
STRONG: Final = Style(face=BOLD)
SMALL: Final = Style(7)
HEAD: Final = Style(10.5, BOLD)
TITLE: Final = Style(13, BOLD)


@dataclass
class Sheet:
    """What has been set so far; *altered* once a letter could not be printed as it is."""

    flowing: Flowing = field(default_factory=list)
    altered: bool = False

    def words(self, text: str, style: Style = BODY) -> Paragraph:
        """A paragraph, for here or for a cell of a table."""
        shown = printable(text, style.face)
        if shown != " ".join(unicodedata.normalize("NFC", text).split()):
            self.altered = True
        return Paragraph(escape(shown), style.made())

    def say(self, text: str, style: Style = BODY) -> None:
        self.flowing.append(self.words(text, style))

    def head(self, text: str) -> None:
        paragraph = self.words(text, HEAD)
        paragraph.keepWithNext = 1
        self.flowing += [Spacer(1, 7), paragraph, _kept(Spacer(1, 2))]

    def head_with_room(self, text: str, points: float) -> None:
        """A heading on a page that has *points* left, for what takes the room that there is."""
        parts = [Spacer(1, 7), self.words(text, HEAD), Spacer(1, 2)]
        self.flowing += [CondPageBreak(points), *parts]

    def space(self, points: float) -> None:
        self.flowing.append(Spacer(1, points))

    def table(
        self,
        rows: Sequence[Sequence[str]],
        widths: Sequence[float],
        *,
        heads: Sequence[str] = (),
        style: Style = BODY,
        first: Style | None = None,
    ) -> None:
        """Ruled rows; *widths* are shares of the page, *first* sets the first column."""
        cells = [
            [self.words(text, first if first and n == 0 else style) for n, text in enumerate(row)]
            for row in rows
        ]
        if heads:
            cells.insert(0, [self.words(text, Style(style.size, BOLD)) for text in heads])
        whole = sum(widths)
        made = Table(
            cells,
            colWidths=[WIDE * share / whole for share in widths],
            repeatRows=1 if heads else 0,
            style=[
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 6),
                ("TOPPADDING", (0, 0), (-1, -1), 1.2),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 1.8),
                ("LINEBELOW", (0, 0), (-1, -1), 0.3, _GREY),
                *([("LINEBELOW", (0, 0), (-1, 0), 0.9, black)] if heads else []),
            ],
        )
        self.flowing.append(made)

    def banner(self, lines: Iterable[tuple[str, Style]], *, reverse: bool) -> None:
        """A box across the page: in ink where *reverse*, else a heavy frame."""
        cells = [[self.words(text, style)] for text, style in lines]
        ground = [("BACKGROUND", (0, 0), (-1, -1), black)] if reverse else []
        self.flowing.append(
            Table(
                cells,
                colWidths=[WIDE],
                style=[
                    *ground,
                    ("BOX", (0, 0), (-1, -1), 2, black),
                    ("LEFTPADDING", (0, 0), (-1, -1), 10),
                    ("TOPPADDING", (0, 0), (-1, -1), 1),
                    ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
                    ("BOTTOMPADDING", (0, 0), (0, 0), 7),
                    ("BOTTOMPADDING", (0, -1), (0, -1), 6),
                ],
            )
        )


def _kept(spacer: Spacer) -> Spacer:
    spacer.keepWithNext = 1
    return spacer


def pages(make: Callable[[], Sheet], title: str, foot: str) -> bytes:
    """The sheet as PDF, with *foot* and “page x of y” below each page.

    It is set twice, for only then it is known how many pages there are.
    """
    _, count = _built(make(), title, foot, 0)
    data, _ = _built(make(), title, foot, count)
    return data


def _built(sheet: Sheet, title: str, foot: str, count: int) -> tuple[bytes, int]:
    out = io.BytesIO()
    document = SimpleDocTemplate(
        out,
        pagesize=A4,
        leftMargin=_SIDE - 6,
        rightMargin=_SIDE - 6,
        topMargin=_TOP,
        bottomMargin=_FOOT,
        title=title,
        author="",
        invariant=1,
        pageCompression=1,
        lang="en",
    )

    def below(canvas: Any, document: Any) -> None:
        canvas.setFont(registered(PLAIN), 7)
        canvas.line(_SIDE, _FOOT - 8, A4[0] - _SIDE, _FOOT - 8)
        canvas.drawString(_SIDE, _FOOT - 20, printable(foot, PLAIN))
        of = f"page {document.page} of {count}"
        canvas.drawRightString(A4[0] - _SIDE, _FOOT - 20, of)

    document.build(sheet.flowing, onFirstPage=below, onLaterPages=below)
    return out.getvalue(), document.page
