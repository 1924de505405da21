"""Drawings to pictures of black and white dots, as a label printer wants them.

No grey: a printer has none, and its driver would turn soft edges into a pattern. Letters are
placed one by one at the widths the layout measured, because the hinted widths of small type
add up to something else and would leave the box.
"""

import io
from typing import Final

from PIL import Image, ImageDraw, ImageFont

from labels.faces import Face, advance
from labels.layout import Box, Drawing, Symbol, Text
from labels.symbol import SIDE, modules, picture

FINEST_DPI: Final = 600
"""A page of A4 takes 35 MB at this resolution while it is drawn."""

COARSEST_DPI: Final = 72


class _Sheet:
    """One picture being drawn. Fonts are opened for it alone, as FreeType's are not to be shared
    between threads."""

    def __init__(self, drawing: Drawing, dpi: int) -> None:
        self.scale = dpi / 25.4
        size = (self.dots(drawing.width), self.dots(drawing.height))
        self.image = Image.new("1", size, 1)
        self.pen = ImageDraw.Draw(self.image)
        self.pen.fontmode = "1"
        self.fonts: dict[tuple[Face, float], ImageFont.FreeTypeFont] = {}

    def dots(self, mm: float) -> int:
        return round(mm * self.scale)

    def symbol(self, symbol: Symbol) -> None:
        """Whole dots a module, rounded down, in the middle of the symbol's box."""
        side = SIDE * dots_per_module(symbol.box, self.scale)
        spare = symbol.box.width * self.scale - side
        corner = (
            round(symbol.box.x * self.scale + spare / 2),
            round(symbol.box.y * self.scale + spare / 2),
        )
        image = picture(modules(symbol.text)).resize((side, side), Image.Resampling.NEAREST)
        self.image.paste(image, corner)

    def fill(self, box: Box) -> None:
        left, top = self.dots(box.x), self.dots(box.y)
        right = max(left, self.dots(box.x + box.width) - 1)
        bottom = max(top, self.dots(box.y + box.height) - 1)
        self.pen.rectangle((left, top, right, bottom), fill=0)

    def text(self, text: Text) -> None:
        font = self.font(text.face, text.size)
        x, baseline = text.x, self.dots(text.baseline)
        for letter in text.words:
            self.pen.text((self.dots(x), baseline), letter, font=font, fill=0, anchor="ls")
            x += advance(letter, text.face) * text.size

    def font(self, face: Face, size: float) -> ImageFont.FreeTypeFont:
        key = (face, size)
        if key not in self.fonts:
            self.fonts[key] = ImageFont.truetype(
                str(face.path), size * self.scale, layout_engine=ImageFont.Layout.BASIC
            )
        return self.fonts[key]


def dots_per_module(box: Box, scale: float) -> int:
    """Whole dots a module of a symbol gets at `scale` dots a millimetre."""
    return int(box.width / SIDE * scale + 1e-6)


def png_of(drawing: Drawing, dpi: int, *, fewest_dots: int) -> bytes:
    """The drawing as a PNG image that knows its resolution.

    Raises ValueError if the resolution is out of reason or leaves a module fewer dots than asked.
    """
    if not COARSEST_DPI <= dpi <= FINEST_DPI:
        raise ValueError(
            f"A picture of {dpi} dots per inch cannot be drawn; "
            f"choose from {COARSEST_DPI} to {FINEST_DPI}."
        )
    sheet = _Sheet(drawing, dpi)
    for symbol in drawing.symbols:
        dots = dots_per_module(symbol.box, sheet.scale)
        if dots < fewest_dots:
            raise ValueError(
                f"At {dpi} dots per inch a module of this design gets {dots} "
                f"dots and needs {fewest_dots}; take a larger label or a finer resolution."
            )
        sheet.symbol(symbol)
    for box in drawing.fills:
        sheet.fill(box)
    for text in drawing.texts:
        sheet.text(text)
    out = io.BytesIO()
    sheet.image.save(out, format="PNG", dpi=(dpi, dpi))
    return out.getvalue()
