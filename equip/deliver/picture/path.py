"""How an exposure came about, as a picture: the item's line down the page, in order of time.

Pure. A row is a moment: its time, its mark on the line, what it says. What may have been carried
is a heavy line; lines that run together are untagged contents that lay in one load. However long
a life is, the picture has a bounded number of rows: what is left out is counted where it lay.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from equip.deliver.picture.ink import Block, Mark, Picture, Stroke, Tone, Words
from equip.deliver.picture.layout import Size
from labels.faces import BOLD, PLAIN, fitted, width

Sign = Literal["patient", "source", "exposed", "clears", "unproven", "nothing", "mixed", "outside"]
"""What a moment is: somebody met the item (in between, first, last); a decontamination that
clears, has no proof, did nothing; contents mixed; it came from elsewhere."""

MOST_MOMENTS = 24
"""With what is left out between each two of them, at most twice as many rows."""
MOST_LANES = 4
"""The item's own line, and lines beside it that run into it."""
_ROW, _PAD, _LANE = 1.4, 0.7, 1.6
"""Height of a row of words, air around each moment, distance of lines: in sizes of the type."""
_MOST_WORDS = 7
_DOTS = (2.0, 3.0)


@dataclass(frozen=True, slots=True)
class PathMoment:
    """What happened once, on the line of the item itself (*lane* 0) or on one beside it.

    *rank* says how much it matters: the lower, the longer it is kept. *joins* are lines beside
    that end here in the item's own.
    """

    at: int
    when: str
    says: str
    sign: Sign
    lane: int = 0
    rank: int = 9
    on_path: bool = False
    joins: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Moments that are left out of the picture, counted where they lay."""

    says: str


PathRow = PathMoment | LeftOut


@dataclass(frozen=True, slots=True)
class PathDrawn:
    """What there is to show: moments in order of time, and what it is called."""

    moments: tuple[PathMoment, ...]
    title: str
    says: str


def rows_of(drawn: PathDrawn, most: int = MOST_MOMENTS) -> list[PathRow]:
    """The moments that are shown, and between them how many are not.

    The first and the last always stay; then those of the lowest rank, the latest first.
    """
    moments = drawn.moments
    ends = {0, len(moments) - 1}
    order = sorted(range(len(moments)), key=lambda i: (i not in ends, moments[i].rank, -i))
    kept = set(order[:most])
    rows: list[PathRow] = []
    left: list[PathMoment] = []
    for index, moment in enumerate(moments):
        if index not in kept:
            left.append(moment)
            continue
        if left:
            rows.append(_left_out(left))
            left = []
        rows.append(moment)
    return rows


_KINDS: tuple[tuple[frozenset[Sign], str, str], ...] = (
    (frozenset({"patient", "source", "exposed"}), "use", "uses"),
    (frozenset({"clears"}), "effective decontamination", "effective decontaminations"),
    (frozenset({"unproven", "nothing"}), "step that cleared nothing", "steps that cleared nothing"),
    (frozenset({"mixed", "outside"}), "other entry", "other entries"),
)


def _left_out(moments: Sequence[PathMoment]) -> LeftOut:
    """How many of each kind are left out."""
    said = []
    for signs, single, several in _KINDS:
        count = sum(moment.sign in signs for moment in moments)
        if count:
            said.append(f"{count:,} more {single if count == 1 else several}")
    return LeftOut(", ".join(said))


# --- laid out -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _LaidRow:
    """A row with its words folded, from *top* to *foot*; the mark stands at *y*."""

    row: PathRow
    words: tuple[str, ...]
    top: float
    foot: float
    y: float


@dataclass(frozen=True, slots=True)
class _Places:
    """What lies where across the picture: the end of the times, the words; lines between."""

    times: float
    words: float
    em: float

    def x(self, lane: int) -> float:
        return self.times + (1.1 + lane * _LANE) * self.em


def picture(drawn: PathDrawn, size: Size) -> Picture:
    """All of it, as high as it needs to be."""
    em = size.type
    rows = rows_of(drawn)
    moments = [row for row in rows if isinstance(row, PathMoment)]
    times = max((width(m.when, PLAIN, em) for m in moments), default=0.0) + 0.7 * em
    lanes = 1 + max((m.lane for m in moments), default=0)
    at = _Places(times, times + em + lanes * _LANE * em, em)
    laid = list(_laid(rows, em, size.width - at.words - 0.4 * em))
    height = (laid[-1].foot if laid else em) + 0.3 * em
    marks: list[Mark] = [Stroke(((times, 0.0), (times, height)), 1.2, tone="accent")]
    marks += (_ruled(place, size.width) for place in laid)
    marks += _lines(laid, at)
    marks += _carried(laid, at)
    for place in laid:
        marks += _row(place, at)
    return Picture(size.width, height, tuple(marks), drawn.title, drawn.says)


def _laid(rows: Iterable[PathRow], em: float, room: float) -> Iterator[_LaidRow]:
    top = 0.0
    for row in rows:
        bold = isinstance(row, PathMoment) and row.on_path
        words = tuple(fitted(row.says, BOLD if bold else PLAIN, em, room, _MOST_WORDS))
        foot = top + (len(words) * _ROW + _PAD) * em
        yield _LaidRow(row, words, top, foot, top + 0.5 * (_PAD + _ROW) * em)
        top = foot


def _ruled(place: _LaidRow, across: float) -> Mark:
    """A hair line under each row; under what clears the item, the dotted line of the logbook."""
    line = ((0.0, place.foot), (across, place.foot))
    if isinstance(place.row, PathMoment) and place.row.sign == "clears" and not place.row.lane:
        return Stroke(line, 2.4, _DOTS)
    return Stroke(line, 0.5, tone="soft")


def _lines(laid: Sequence[_LaidRow], at: _Places) -> Iterator[Mark]:
    """Every line from its first moment to its last, or to where it runs into the item's own."""
    begun: dict[int, float] = {}
    last: dict[int, float] = {}
    for place in laid:
        if not isinstance(row := place.row, PathMoment):
            continue
        begun.setdefault(row.lane, place.y)
        last[row.lane] = place.y
        for lane in row.joins:
            if (start := begun.pop(lane, None)) is not None:
                bend = (at.x(lane), max(place.y - 1.2 * at.em, start))
                yield Stroke(((at.x(lane), start), bend, (at.x(0), place.y)), 1.2)
    for lane, start in begun.items():
        yield Stroke(((at.x(lane), start), (at.x(lane), last[lane])), 1.2)


def _carried(laid: Sequence[_LaidRow], at: _Places) -> Iterator[Mark]:
    """The doubtful part: from the earlier patient to the one who was exposed."""
    ys = [place.y for place in laid if isinstance(place.row, PathMoment) and place.row.on_path]
    if len(ys) > 1:
        yield Stroke(((at.x(0), ys[0]), (at.x(0), ys[-1])), 0.34 * at.em)


def _row(place: _LaidRow, at: _Places) -> Iterator[Mark]:
    row, em = place.row, at.em
    base = place.top + (0.5 * _PAD + 1.02) * em
    tone: Tone = "soft"
    bold = False
    if isinstance(row, PathMoment):
        tone, bold = "ink", row.on_path
        yield Words(row.when, at.times - 0.5 * em, base, em, anchor="end", tone="soft")
        yield from _sign(row.sign, at.x(row.lane), place.y, em)
    else:
        yield from _broken(at.x(0), place.y, em)
    for number, words in enumerate(place.words):
        yield Words(words, at.words, base + number * _ROW * em, em, bold=bold, tone=tone)


def _broken(x: float, y: float, em: float) -> Iterator[Mark]:
    """The line is broken where moments are left out."""
    yield Block(x - 0.4 * em, y - 0.6 * em, 0.8 * em, 1.2 * em, "paper")
    for step in (-0.35, 0.0, 0.35):
        yield Block(x - 0.09 * em, y + (step - 0.09) * em, 0.18 * em, 0.18 * em, "ink")


def _sign(sign: Sign, x: float, y: float, em: float) -> Iterator[Mark]:
    """The mark of a moment: told apart by its shape."""
    half = 0.42 * em
    match sign:
        case "source":
            yield _box(x, y, half, "ink")
        case "exposed":
            yield _box(x, y, 1.5 * half, "paper", 0.14 * em)
            yield _box(x, y, 0.8 * half, "ink")
        case "patient" | "outside":
            yield _box(x, y, half, "paper", 0.12 * em)
        case "mixed":
            yield Stroke(_diamond(x, y, 1.3 * half), 0.12 * em)
        case "clears":
            yield Stroke(((x - 2 * half, y), (x + 2 * half, y)), 0.3 * em)
        case "unproven":
            yield _box(x, y, 1.2 * half, "paper", 0.08 * em)
            yield Words("?", x, y + 0.36 * em, em, anchor="middle", bold=True)
        case "nothing":
            yield _box(x, y, half, "paper")
            for way in (1, -1):
                line = ((x - half, y - way * half), (x + half, y + way * half))
                yield Stroke(line, 0.16 * em)


def _box(x: float, y: float, half: float, tone: Tone, edge: float = 0.0) -> Block:
    return Block(x - half, y - half, 2 * half, 2 * half, tone, edge)


def _diamond(x: float, y: float, half: float) -> tuple[tuple[float, float], ...]:
    return ((x, y - half), (x + half, y), (x, y + half), (x - half, y), (x, y - half))
