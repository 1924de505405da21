"""Drawings to PDF: paths and embedded type, the same bytes for the same drawings.

The file asks viewers not to scale it (PrintScaling None). Not every viewer obeys, which is why
sheets carry a ruler as well.
"""

import io
from collections.abc import Iterable
from functools import cache
from typing import Any, Final

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from labels.faces import Face
from labels.layout import Box, Drawing, Symbol, Text
from labels.symbol import SIDE, modules, runs

_POINTS: Final = 72 / 25.4
"""PDF points in a millimetre."""


def pdf_of(drawings: Iterable[Drawing], title: str) -> bytes:
    """One page a drawing, each as large as its drawing."""
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=1)
    canvas.setTitle(title)
    canvas.setAuthor("")
    canvas.setViewerPreference("PrintScaling", "None")
    for drawing in drawings:
        _page(canvas, drawing)
    canvas.save()
    return out.getvalue()


@cache
def registered(face: Face) -> str:
    """The face's name within reportlab, which keeps its fonts by name for the whole process."""
    name = f"labels-{face.file}"
    pdfmetrics.registerFont(TTFont(name, str(face.path)))
    return name


def _page(canvas: Any, drawing: Drawing) -> None:
    """Draw on one page, with PDF's upward y turned to the drawing's downward one."""
    height = drawing.height * _POINTS
    canvas.setPageSize((drawing.width * _POINTS, height))
    for symbol in drawing.symbols:
        _symbol(canvas, symbol, height)
    _fills(canvas, drawing.fills, height)
    for text in drawing.texts:
        _text(canvas, text, height)
    canvas.showPage()


def _symbol(canvas: Any, symbol: Symbol, height: float) -> None:
    """One path a symbol, so that no seam shows between neighbouring modules.

    Written as whole modules under one change of scale: half the time and half the size of
    a path in points.
    """
    side = symbol.box.width / SIDE * _POINTS
    left, top = symbol.box.x * _POINTS, height - symbol.box.y * _POINTS
    boxes = " ".join(
        f"{column} {row} {length} 1 re" for row, column, length in runs(modules(symbol.text))
    )
    canvas.saveState()
    canvas.transform(side, 0, 0, -side, left, top)
    canvas.addLiteral(f"{boxes} f")
    canvas.restoreState()


def _fills(canvas: Any, fills: Iterable[Box], height: float) -> None:
    path = canvas.beginPath()
    for box in fills:
        bottom = height - (box.y + box.height) * _POINTS
        path.rect(box.x * _POINTS, bottom, box.width * _POINTS, box.height * _POINTS)
    canvas.drawPath(path, stroke=0, fill=1)


def _text(canvas: Any, text: Text, height: float) -> None:
    canvas.setFont(registered(text.face), text.size * _POINTS)
    canvas.drawString(text.x * _POINTS, height - text.baseline * _POINTS, text.words)
