"""A machine's log file to samples. Every fault is one sentence saying where, what and what now.

The plain log is comma-separated text in UTF-8 with the header `seconds,celsius,kpa`; more probes
are `celsius_2`, `celsius_3` and so on before `kpa`. Pressure is absolute. Nothing here knows a
limit of any programme: it only refuses what cannot be a log in these units.
"""

import io
import math
from array import array
from collections.abc import Iterator, MutableSequence, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, NoReturn

LIMIT_BYTES = 64 * 1024 * 1024
"""A day of four probes at ten readings a second fits in half of this."""
_LONGEST_LINE = 10_000
_BOM = b"\xef\xbb\xbf"

# No steriliser or washer reads beyond these in the units of the header. They are wide on purpose:
# a sensor a little below nought in deep vacuum, or a log from a cold room, is no fault.
COLDEST_C, HOTTEST_C = -30.0, 200.0
LOWEST_KPA, HIGHEST_KPA = -5.0, 1000.0
# Water does not reach 105 °C in a chamber of 10 kPa; a column in bar never rises above 10.
HOT_C, HOLLOW_KPA = 105.0, 10.0


class UnreadableLog(ValueError):
    """A file that is no plain log; the message says what was read and what to do."""


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
    try:
        size = path.stat().st_size
        if size > limit_bytes:
            _too_big(size, limit_bytes)
        with path.open("rb") as file:
            return read_plain(file, limit_bytes=limit_bytes)
    except OSError as fault:
        why = (fault.strerror or "it cannot be read").lower()
        raise UnreadableLog(
            f"The log “{shown(str(path))}” could not be opened ({why}): check the name."
        ) from fault


def read_plain(source: bytes | BinaryIO, *, limit_bytes: int = LIMIT_BYTES) -> Trace:
    """The plain log in *source*, read line by line. Raises UnreadableLog."""
    if isinstance(source, bytes):
        if len(source) > limit_bytes:
            _too_big(len(source), limit_bytes)
        source = io.BytesIO(source)
    lines = text_lines(source, limit_bytes)
    first = next(lines, None)
    if first is None:
        raise UnreadableLog("The log is empty: fetch it from the machine again.")
    names = _header(first[1])
    columns = _columns(lines, names)
    _check_units(names, columns)
    pressure = columns[-1] if names[-1] == "kpa" else None
    probes = columns[1:-1] if pressure is not None else columns[1:]
    return Trace(columns[0], tuple(probes), pressure)


def _too_big(size: int, limit: int) -> NoReturn:
    raise UnreadableLog(
        f"The log has {size:,} bytes, more than the {limit:,} that are read: "
        "cut it to one cycle, or have the machine record less often."
    )


def text_lines(source: BinaryIO, limit: int) -> Iterator[tuple[int, bytes]]:
    """Number and bytes of each line that is not blank; a byte-order mark at the start is dropped.

    What has no line breaks, or bytes that are no text, is refused before it can fill the memory.
    """
    number = size = 0
    while raw := source.readline(_LONGEST_LINE):
        number += 1
        size += len(raw)
        if size > limit:
            _too_big(size, limit)
        if number == 1:
            _check_first_bytes(raw)
            raw = raw.removeprefix(_BOM)
        if len(raw) == _LONGEST_LINE and not raw.endswith(b"\n"):
            raise UnreadableLog(
                f"Line {number} has {_LONGEST_LINE:,} characters or more and no log line does: "
                "save the log as CSV text and hand that in."
            )
        if b"\0" in raw:
            raise UnreadableLog(
                f"Line {number} holds bytes that are no text: save the log as CSV text in UTF-8."
            )
        if raw.strip():
            yield number, raw


def _check_first_bytes(raw: bytes) -> None:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise UnreadableLog("Line 1 is in UTF-16: save the log as CSV text in UTF-8.")
    if b"\0" in raw or raw.startswith((b"PK\x03\x04", b"%PDF", b"\xd0\xcf\x11\xe0", b"\x1f\x8b")):
        raise UnreadableLog(
            "The file is no text (a spreadsheet, a PDF or packed): save the log as CSV text."
        )
    if b"\r" in raw.rstrip(b"\r\n"):
        raise UnreadableLog(
            "Line 1 ends with a lone carriage return: save the log with ordinary line ends."
        )


def _header(raw: bytes) -> list[str]:
    text = _text(1, raw)
    names = [cell.strip().strip('"') for cell in text.split(",")]
    probes = names[1:-1] if names[-1] == "kpa" else names[1:]
    expected = ["celsius", *(f"celsius_{number}" for number in range(2, len(probes) + 1))]
    if names[0] == "seconds" and probes and probes == expected:
        return names
    advice = "the header must be seconds,celsius,kpa (more probes: celsius_2, … before kpa)"
    for mark, word in ((";", "semicolons"), ("\t", "tabs")):
        if mark in text:
            advice = f"the columns stand apart by {word} and a plain log needs commas; {advice}"
    raise UnreadableLog(f"Line 1 reads “{shown(text)}”: {advice}.")


def _columns(lines: Iterator[tuple[int, bytes]], names: list[str]) -> list[MutableSequence[float]]:
    columns: list[MutableSequence[float]] = [array("d") for _ in names]
    width, before = len(names), -math.inf
    for number, raw in lines:
        cells = raw.split(b",")
        try:
            values = [float(cell) for cell in cells]
        except ValueError:
            values = _careful(number, raw, names)
        if len(values) != width or b"_" in raw or not all(map(math.isfinite, values)):
            values = _careful(number, raw, names)
        if not values[0] > before:
            _not_later(number, values[0], before)
        before = values[0]
        for column, value in zip(columns, values, strict=True):
            column.append(value)
    if len(columns[0]) < 2:
        found = "one reading" if len(columns[0]) else "no reading"
        raise UnreadableLog(
            f"The log has {found} and at least two are needed: fetch it from the machine again."
        )
    return columns


def _careful(number: int, raw: bytes, names: list[str]) -> list[float]:
    """The same line again, cell by cell, to read what is quoted or to say what is wrong with it."""
    text = _text(number, raw)
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


def _check_units(names: list[str], columns: list[MutableSequence[float]]) -> None:
    probes = [
        (name, column)
        for name, column in zip(names, columns, strict=True)
        if name.startswith("celsius")
    ]
    for name, column in probes:
        if max(column) > HOTTEST_C:
            _wrong_unit(name, max(column), "°C", "looks like °F; write °C")
        if min(column) < COLDEST_C:
            _wrong_unit(name, min(column), "°C", "is colder than any chamber; check the sensor")
    if names[-1] == "kpa":
        _check_pressure(columns[-1], max(max(column) for _, column in probes))


def _check_pressure(kpa: MutableSequence[float], hottest: float) -> None:
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


def _text(number: int, raw: bytes) -> str:
    try:
        return raw.decode("utf-8").strip()
    except UnicodeDecodeError as fault:
        raise UnreadableLog(
            f"Line {number} is not in UTF-8 (it reads {shown(repr(raw.strip())[1:])}): "
            "save the log as CSV text in UTF-8."
        ) from fault


def shown(text: str, most: int = 60) -> str:
    """*text* fit to be printed back: no control characters, not endless."""
    clean = "".join(mark if mark.isprintable() else "·" for mark in text)
    return clean if len(clean) <= most else clean[: most - 1] + "…"
