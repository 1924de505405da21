"""A machine's log file to samples. Every fault is one sentence saying where, what and what now.

The plain log is comma-separated text in UTF-8 with the header `seconds,celsius,kpa`; more probes
are `celsius_2`, `celsius_3` and so on before `kpa`. Pressure is absolute. Nothing here knows a
limit of any programme: it only refuses what cannot be a log in these units.
"""

import math
from array import array
from collections.abc import Iterator, MutableSequence, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain
from operator import lt
from pathlib import Path
from typing import BinaryIO, NoReturn

import msgspec

from equip.logs.text import (
    LIMIT_BYTES,
    LONGEST_LINE,
    Block,
    UnreadableLog,
    blocks,
    decoded,
    shown,
    too_big,
)

__all__ = ["LIMIT_BYTES", "Trace", "UnreadableLog", "read_file", "read_plain", "shown"]

# No steriliser or washer reads beyond these in the units of the header. They are wide on purpose:
# a sensor a little below nought in deep vacuum, or a log from a cold room, is no fault.
COLDEST_C, HOTTEST_C = -30.0, 200.0
LOWEST_KPA, HIGHEST_KPA = -5.0, 1000.0
# Above this not even °F taken for °C explains a reading.
_HOTTEST_F = 400.0
LONGEST_S = 172_800.0
"""Two days: no cycle lasts as long, and one in milliseconds soon does."""
# Water does not reach 105 °C in a chamber of 10 kPa; a column in bar never rises above 10.
HOT_C, HOLLOW_KPA = 105.0, 10.0

Column = MutableSequence[float]

_TABLE = msgspec.json.Decoder(list[list[float]])


@dataclass(frozen=True, slots=True)
class Trace:
    """One log. The first probe is the chamber reference; *kpa* is None if it was not measured.

    Seconds rise strictly; all columns have one length, of at least two. *notes* are sentences on
    what was done to the readings, such as which air pressure was added to a gauge's.
    """

    seconds: Sequence[float]
    probes: tuple[Sequence[float], ...]
    kpa: Sequence[float] | None = None
    notes: tuple[str, ...] = ()


def read_file(path: Path, *, limit_bytes: int = LIMIT_BYTES) -> Trace:
    """The plain log at *path*. Raises UnreadableLog, also where the file cannot be opened."""
    with opened(path, limit_bytes) as file:
        return read_plain(file, limit_bytes=limit_bytes)


@contextmanager
def opened(path: Path, limit_bytes: int) -> Iterator[BinaryIO]:
    """The file at *path*, open; UnreadableLog if it is too big or cannot be opened."""
    try:
        size = path.stat().st_size
        if size > limit_bytes:
            too_big(size, limit_bytes)
        with path.open("rb") as file:
            yield file
    except OSError as fault:
        why = (fault.strerror or "it cannot be read").lower()
        raise UnreadableLog(
            f"The log “{shown(str(path))}” could not be opened ({why}): check the name."
        ) from fault


def read_plain(source: bytes | BinaryIO, *, limit_bytes: int = LIMIT_BYTES) -> Trace:
    """The plain log in *source*, read block by block. Raises UnreadableLog."""
    names, text = _headed(blocks(source, limit_bytes))
    columns = _columns(text, names)
    _check_units(names, columns)
    pressure = columns[-1] if names[-1] == "kpa" else None
    probes = columns[1:-1] if pressure is not None else columns[1:]
    return Trace(columns[0], tuple(probes), pressure)


def _headed(text: Iterator[Block]) -> tuple[list[str], Iterator[Block]]:
    """The names in the header, and the blocks of what follows it."""
    for block in text:
        for number, raw in block.lines():
            below = block.raw.split(b"\n", number - block.number + 1)[-1]
            return _header(number, raw), chain([Block(number + 1, below)], text)
    raise UnreadableLog("The log is empty: fetch it from the machine again.")


def _header(line: int, raw: bytes) -> list[str]:
    text = decoded(line, raw)
    names = [cell.strip().strip('"') for cell in text.split(",")]
    probes = names[1:-1] if names[-1] == "kpa" else names[1:]
    expected = ["celsius", *(f"celsius_{number}" for number in range(2, len(probes) + 1))]
    if names[0] == "seconds" and probes and probes == expected:
        return names
    advice = "the header must be seconds,celsius,kpa (more probes: celsius_2, … before kpa)"
    for mark, word in ((";", "semicolons"), ("\t", "tabs")):
        if mark in text:
            advice = f"the columns stand apart by {word} and a plain log needs commas; {advice}"
    raise UnreadableLog(f"Line {line} reads “{shown(text)}”: {advice}.")


# --- readings ---------------------------------------------------------------------------------


def _columns(text: Iterator[Block], names: list[str]) -> list[Column]:
    columns: list[Column] = [array("d") for _ in names]
    for block in text:
        before = columns[0][-1] if columns[0] else -math.inf
        read = _at_once(block.raw, len(names), before) or _one_by_one(block, names, before)
        for column, values in zip(columns, read, strict=True):
            column.extend(values)
    if len(columns[0]) < 2:
        found = "one reading" if len(columns[0]) else "no reading"
        raise UnreadableLog(
            f"The log has {found} and at least two are needed: fetch it from the machine again."
        )
    return columns


def _at_once(raw: bytes, width: int, before: float) -> list[Column] | None:
    """The columns of a block in one go, None where any line of it needs a closer look.

    Lines of plain numbers are the rows of a JSON table but for its brackets, and numbers of JSON
    are finite. Reading is most of the work of judging; line by line it takes ten times as long.
    """
    lines = raw.strip().split(b"\n")
    try:
        rows = _TABLE.decode(b"[[" + b"],[".join(lines) + b"]]")
    except msgspec.DecodeError:
        return None
    # A line that holds brackets itself would be several rows.
    if len(rows) != len(lines) or set(map(len, rows)) != {width}:
        return None
    read: list[Column] = [array("d", column) for column in zip(*rows, strict=True)]
    rises = before < read[0][0] and all(map(lt, read[0], read[0][1:]))
    return read if rises and max(map(len, lines)) < LONGEST_LINE else None


def _one_by_one(block: Block, names: list[str], before: float) -> list[Column]:
    """The same line by line, to read what is quoted or to say what is wrong with one."""
    columns: list[Column] = [array("d") for _ in names]
    for number, raw in block.lines():
        values = _careful(number, raw, names)
        if not values[0] > before:
            _not_later(number, values[0], before)
        before = values[0]
        for column, value in zip(columns, values, strict=True):
            column.append(value)
    return columns


def _careful(number: int, raw: bytes, names: list[str]) -> list[float]:
    text = decoded(number, raw)
    cells = [cell.strip().strip('"').strip() for cell in text.split(",")]
    if len(cells) != len(names):
        _ragged(number, raw, text, len(cells), len(names))
    return [_cell(number, name, cell) for name, cell in zip(names, cells, strict=True)]


def _ragged(number: int, raw: bytes, text: str, found: int, wanted: int) -> NoReturn:
    start = f"Line {number} reads “{shown(text)}”, {found} values where the header has {wanted}: "
    if found < wanted and not raw.endswith(b"\n"):
        raise UnreadableLog(start + "the log is cut off there; fetch it from the machine again.")
    if found > wanted:
        raise UnreadableLog(
            start + "if it has decimal commas, save it with decimal points, as 134.5."
        )
    raise UnreadableLog(start + "a value is missing; fetch the log from the machine again.")


# Not the reader of what people type: a machine writes binary numbers, exponents among them.
def _cell(number: int, name: str, cell: str) -> float:
    if not cell:
        raise UnreadableLog(
            f"Line {number} has nothing under {name}: fetch the log again, or take the line out."
        )
    try:
        value = math.nan if "_" in cell else float(cell)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise UnreadableLog(
            f"Line {number} has “{shown(cell)}” under {name}, which is no number: "
            "write numbers only, as 134.5."
        )
    return value


def _not_later(number: int, at: float, before: float) -> NoReturn:
    how = "the same time as" if at == before else "earlier than"
    raise UnreadableLog(
        f"Line {number} is at {at:g} s, {how} the line before at {before:g} s: "
        "a log holds one cycle with times that rise; split it or mend its times."
    )


def _check_units(names: list[str], columns: list[Column]) -> None:
    lasted = columns[0][-1] - columns[0][0]
    if lasted > LONGEST_S:
        raise UnreadableLog(
            f"The log lasts {lasted:g} s, longer than any cycle, which looks like "
            "milliseconds; write seconds, and one cycle to a log."
        )
    probes = [
        (name, column)
        for name, column in zip(names, columns, strict=True)
        if name.startswith("celsius")
    ]
    for name, column in probes:
        if max(column) > HOTTEST_C:
            hot = max(column) > _HOTTEST_F
            advice = "no chamber reaches; check the sensor" if hot else "looks like °F; write °C"
            _wrong_unit(name, max(column), "°C", advice)
        if min(column) < COLDEST_C:
            _wrong_unit(name, min(column), "°C", "is colder than any chamber; check the sensor")
    if names[-1] == "kpa":
        _check_pressure(columns[-1], max(max(column) for _, column in probes))


def _check_pressure(kpa: Column, hottest: float) -> None:
    if min(kpa) < LOWEST_KPA:
        advice = "looks like gauge pressure; write absolute kPa, with the air pressure added"
        _wrong_unit("kpa", min(kpa), "kPa", advice)
    if max(kpa) > HIGHEST_KPA:
        _wrong_unit("kpa", max(kpa), "kPa", "looks like mbar; write absolute kPa")
    if hottest > HOT_C and max(kpa) < HOLLOW_KPA:
        advice = f"with {hottest:g} °C looks like bar; write absolute kPa"
        _wrong_unit("kpa", max(kpa), "kPa at most", advice)


def _wrong_unit(name: str, value: float, unit: str, advice: str) -> NoReturn:
    raise UnreadableLog(f"Under {name} the log reads {value:g} {unit}, which {advice}.")
