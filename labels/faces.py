"""The type labels are set in: which letters it has, how wide words are, how they are made to fit.

The faces are the TrueType files the reportlab package brings along, used for the PDF and the
picture alike. Neither reportlab nor Pillow brings a monospaced TrueType face; this one's figures
are all of one width and tags are almost all figures, and the layout puts a dot into every nought.
"""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate, takewhile
from pathlib import Path
from typing import Final

import reportlab
from PIL import ImageFont
from reportlab.pdfbase.ttfonts import TTFontFile

ELLIPSIS: Final = "…"
MISSING: Final = "?"

ASCENT: Final = 0.93
"""Of the type size, from the baseline up to the top of an accented capital, roughly."""

DESCENT: Final = 0.235
"""Of the type size, from the baseline down to the foot of a g, roughly."""

CAPITAL: Final = 0.73
"""Of the type size, the height of a capital or a figure."""


@dataclass(frozen=True, slots=True)
class Face:
    """One style of type, by the name of its file in reportlab's folder of fonts."""

    file: str

    @property
    def path(self) -> Path:
        return Path(reportlab.__file__).parent / "fonts" / self.file


PLAIN: Final = Face("Vera.ttf")
BOLD: Final = Face("VeraBd.ttf")


@cache
def _advances(face: Face) -> dict[int, float]:
    """Width of each letter the face has, by code point, in parts of the type size."""
    font = TTFontFile(str(face.path))
    return {code: font.charWidths[code] / 1000 for code in font.charToGlyph}


def advance(letter: str, face: Face) -> float:
    """Width of one letter in parts of the type size; a letter the face lacks counts as missing."""
    widths = _advances(face)
    return widths.get(ord(letter), widths[ord(MISSING)])


@cache
def _overhangs(face: Face) -> dict[int, tuple[float, float]]:
    """How far each letter's ink reaches out before its place and after it, in type sizes."""
    font = ImageFont.truetype(str(face.path), 1000, layout_engine=ImageFont.Layout.BASIC)
    out = {}
    for code, wide in _advances(face).items():
        left, _, right, _ = font.getbbox(chr(code), anchor="ls")
        out[code] = (max(0.0, -left / 1000), max(0.0, right / 1000 - wide))
    return out


def overhang(words: str, face: Face, size: float) -> float:
    """How many mm the ink of words reaches out to the left of where they begin, as a j does."""
    return _overhangs(face).get(ord(words[0]), (0.0, 0.0))[0] * size if words else 0.0


def width(words: str, face: Face, size: float) -> float:
    """Width of the ink of words in mm at a type size in mm, with what hangs over at both ends."""
    if not words:
        return 0.0
    after = _overhangs(face).get(ord(words[-1]), (0.0, 0.0))[1]
    places = sum(advance(letter, face) for letter in words)
    return overhang(words, face, size) + size * (places + after)


def printable(words: str, face: Face) -> str:
    """The words in letters the face has, blanks made single, invisible marks left out.

    A letter it lacks is printed as its plain form if Unicode knows one (ő as o), else as a
    question mark: a name is better read wrongly accented than not at all.
    """
    known = _advances(face)
    out = []
    for letter in unicodedata.normalize("NFC", words):
        kind = unicodedata.category(letter)
        if letter.isspace() or kind == "Cc":
            out.append(" ")
        elif ord(letter) in known and kind != "Cf":
            out.append(letter)
        elif kind != "Cf" and not unicodedata.combining(letter):
            out.append(_plain_form(letter, known))
    return " ".join("".join(out).split())


def _plain_form(letter: str, known: dict[int, float]) -> str:
    parts = unicodedata.normalize("NFKD", letter)
    return "".join(part for part in parts if ord(part) in known) or MISSING


def shortened(words: str, face: Face, size: float, room: float) -> str:
    """The words if they fit into `room` mm, else as much of them as fits and an ellipsis."""
    if width(words, face, size) <= room:
        return words
    left = room - width(ELLIPSIS, face, size) - overhang(words, face, size)
    ends = accumulate(advance(letter, face) * size for letter in words)
    fitting = sum(1 for _ in takewhile(lambda end: end <= left, ends))
    return words[:fitting].rstrip(" ,;.-") + ELLIPSIS


def folded(words: str, face: Face, size: float, room: float) -> list[str]:
    """The words in as many rows as they need; one word wider than `room` has a row of its own."""
    rows: list[str] = []
    for word in words.split():
        longer = f"{rows[-1]} {word}" if rows else word
        if rows and width(longer, face, size) <= room:
            rows[-1] = longer
        else:
            rows.append(word)
    return rows


def fitted(words: str, face: Face, size: float, room: float, most: int) -> list[str]:
    """The words in at most `most` rows, each within `room` mm; an ellipsis shows what is cut."""
    rows = folded(words, face, size, room)
    if len(rows) > most:
        rows = [*rows[: most - 1], " ".join(rows[most - 1 :])]
    return [shortened(row, face, size, room) for row in rows]


def paragraph(lines: Sequence[str], face: Face, size: float, room: float, most: int) -> list[str]:
    """Several lines in at most `most` rows.

    Every line gets one row; rows to spare go to long lines in their order. Lines for which no
    row is left are cut, and the last row says so with an ellipsis.
    """
    asked = [words for words in (printable(line, face) for line in lines) if words]
    kept = asked[:most]
    rows: list[str] = []
    for done, line in enumerate(kept, start=1):
        rows += fitted(line, face, size, room, most - len(rows) - (len(kept) - done))
    if rows and len(asked) > len(kept):
        last = rows[-1].removesuffix(ELLIPSIS)
        rows[-1] = shortened(f"{last} {ELLIPSIS}", face, size, room)
    return rows
