"""The square symbol of a tag: always a QR code of version 1 at level H, or a refusal.

A tag is ten capitals and digits, the most that version 1 holds at level H (ISO/IEC 18004;
measured: an eleventh character needs version 2). The symbol never grows by itself, because
labels are laid out for 21 modules and a bigger symbol would print smaller modules or lose
its quiet zone.
"""

import io
from collections.abc import Iterator
from typing import Final

from PIL import Image
from qrcode.constants import ERROR_CORRECT_H
from qrcode.main import QRCode
from qrcode.util import MODE_ALPHA_NUM, QRData

SIDE: Final = 21
"""Modules along one side, without the quiet zone."""

QUIET: Final = 4
"""Modules of white that must stay free on every side (ISO/IEC 18004, quoted from memory)."""

LONGEST: Final = 10
"""Characters that fit in version 1, level H, in alphanumeric mode."""

ALPHABET: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"

# The standard lets the writer choose among eight masks and tells every reader which it was, so
# any of them reads. Searching for the prettiest cost ten times as much (2.9 s against 0.26 s for
# 1,000 tags) and gained nothing beyond chance: of 900 tags turned, blurred and made noisy
# zxing-cpp read 893 with the searched mask and 890 with mask 3. A fixed mask also draws a tag
# the same way whatever a later edition of the library thinks of beauty.
_MASK: Final = 3

_NARROWEST_SIDE_OF_A_PICTURE: Final = 1
_WIDEST_MODULE_OF_A_PICTURE: Final = 64

Modules = tuple[tuple[bool, ...], ...]


def check_text(text: str) -> None:
    """Refuse, with ValueError in one sentence, text a tag's symbol cannot hold."""
    if not text:
        raise ValueError("A tag without text cannot be drawn; give its ten characters.")
    strange = sorted({letter for letter in text if letter not in ALPHABET})
    if strange:
        raise ValueError(
            f"The tag text {text!r} holds {', '.join(map(repr, strange))}; "
            "a tag is written in capitals A to Z and digits."
        )
    if len(text) > LONGEST:
        raise ValueError(
            f"The tag text {text!r} has {len(text)} characters; the symbol holds {LONGEST}."
        )


def modules(text: str) -> Modules:
    """The 21 × 21 modules of `text`, row by row from the top, true for black; no quiet zone.

    Raises ValueError, in one sentence, for text that does not fit or holds other characters.
    """
    check_text(text)
    code = QRCode(version=1, error_correction=ERROR_CORRECT_H, border=0, mask_pattern=_MASK)
    code.add_data(QRData(text, mode=MODE_ALPHA_NUM), optimize=0)
    code.make(fit=False)
    return tuple(tuple(bool(module) for module in row) for row in code.modules)


def runs(grid: Modules) -> Iterator[tuple[int, int, int]]:
    """The black modules as horizontal runs: row, first column, length."""
    for number, row in enumerate(grid):
        start: int | None = None
        for column, black in enumerate((*row, False)):
            if black and start is None:
                start = column
            elif not black and start is not None:
                yield number, start, column - start
                start = None


def spelled(text: str) -> tuple[str, ...]:
    """A tag in the groups people read it in: E000123458 as E, 0001, 2345, 8.

    Text of another length is no tag and stays in one piece.
    """
    if len(text) != LONGEST:
        return (text,)
    return text[0], text[1:5], text[5:9], text[9]


def picture(grid: Modules) -> Image.Image:
    """The modules as an image of one pixel each, black on white, without the quiet zone."""
    image = Image.new("1", (len(grid), len(grid)), 1)
    image.putdata([0 if black else 1 for row in grid for black in row])
    return image


def png(text: str, *, dots_per_module: int = 8, quiet: int = QUIET) -> bytes:
    """The symbol as a PNG image, `dots_per_module` pixels a module and `quiet` modules around it.

    Raises ValueError if the text is no tag or the sizes are out of reason.
    """
    if not _NARROWEST_SIDE_OF_A_PICTURE <= dots_per_module <= _WIDEST_MODULE_OF_A_PICTURE:
        raise ValueError(
            f"A module of {dots_per_module} dots cannot be drawn; choose from "
            f"{_NARROWEST_SIDE_OF_A_PICTURE} to {_WIDEST_MODULE_OF_A_PICTURE}."
        )
    if not 0 <= quiet <= SIDE:
        raise ValueError(
            f"A quiet zone of {quiet} modules cannot be drawn; choose from 0 to {SIDE}."
        )
    side = SIDE * dots_per_module
    image = Image.new("1", (side + 2 * quiet * dots_per_module,) * 2, 1)
    small = picture(modules(text))
    image.paste(
        small.resize((side, side), Image.Resampling.NEAREST), (quiet * dots_per_module,) * 2
    )
    out = io.BytesIO()
    image.save(out, format="PNG")
    return out.getvalue()


def svg(text: str) -> str:
    """The symbol with its quiet zone as an SVG element for a page; the page gives it its size.

    The white is drawn too, so that the symbol reads on a dark page. Raises ValueError as
    `modules` does.
    """
    strokes = "".join(
        f"M{column + QUIET} {row + QUIET}h{length}v1h-{length}z"
        for row, column, length in runs(modules(text))
    )
    side = SIDE + 2 * QUIET
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}" role="img" '
        f'shape-rendering="crispEdges"><title>Symbol of tag {" ".join(spelled(text))}</title>'
        f'<rect width="{side}" height="{side}" fill="#fff"/>'
        f'<path fill="#000" d="{strokes}"/></svg>'
    )
