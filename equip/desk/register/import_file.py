"""A register from a file: every fault listed by line, all of it or nothing."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

from equip.desk.act.act import Act
from equip.desk.clinic import House
from equip.desk.register import item_fields
from equip.desk.register.item_fields import NewItem
from equip.store.database import Store

COLUMNS = tuple(field.name for field in item_fields.FIELDS)
_NEEDED = tuple(field.name for field in item_fields.FIELDS if field.needed)
_MOST_BYTES = 8 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with one line, and what to do."""

    line: int
    says: str


@dataclass(frozen=True, slots=True)
class Register:
    """A file read whole: the lines that are good, and every fault of the others."""

    rows: tuple[NewItem, ...]
    problems: tuple[Problem, ...]


class UnreadableFile(ValueError):
    """The file as a whole cannot be read; the message says why and what to do."""


def read_register(data: bytes, house: House, store: Store) -> Register:
    """Check *data*, a CSV file with a header line, against the house it is for."""
    rows: list[NewItem] = []
    problems: list[Problem] = []
    seen: dict[str, int] = {}
    for line, cells in _lines(data):
        new, found = _read(cells, house, store)
        for what in (new.tag, new.old_name) if new else ():
            if what and what in seen:
                found.append(f"“{what}” stands on line {seen[what]} already.")
            elif what:
                seen[what] = line
        problems += [Problem(line, says) for says in found]
        if new is not None and not found:
            rows.append(new)
    return Register(tuple(rows), tuple(problems))


def take_in(act: Act, rows: tuple[NewItem, ...]) -> list[str]:
    """Put every item on the register in one act; the tags given, in order."""
    return [item_fields.put(act, new) for new in rows]


def _lines(data: bytes) -> Iterator[tuple[int, dict[str, str]]]:
    if len(data) > _MOST_BYTES:
        raise UnreadableFile(f"The file has {len(data):,} bytes; a register has at most 8 MiB.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise UnreadableFile("The file is not UTF-8 text: save it as CSV in UTF-8.") from None
    if "\0" in text:
        raise UnreadableFile("The file is not text: save the register as CSV in UTF-8.")
    first = text.split("\n", 1)[0]
    delimiter = ";" if first.count(";") > first.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        header = [name.strip().lower().replace(" ", "_") for name in next(reader, [])]
        _check_header(header)
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield reader.line_num, _by_name(header, cells)
    except csv.Error as problem:
        raise UnreadableFile(
            f"Line {reader.line_num} is no CSV ({problem}): check its quotation marks."
        ) from None


def _check_header(header: list[str]) -> None:
    if not header:
        raise UnreadableFile(f"The file is empty: its first line names {', '.join(COLUMNS)}.")
    unknown = [name for name in header if name not in COLUMNS]
    missing = [name for name in _NEEDED if name not in header]
    twice = [name for name in COLUMNS if header.count(name) > 1]
    if unknown or missing or twice:
        parts = []
        if missing:
            parts.append(f"it lacks {', '.join(missing)}")
        if unknown:
            parts.append(f"it has {', '.join(repr(name) for name in unknown)}")
        if twice:
            parts.append(f"it has {', '.join(twice)} twice")
        raise UnreadableFile(
            f"The first line does not name the columns ({'; '.join(parts)}): "
            f"it may name {', '.join(COLUMNS)}, and must name {' and '.join(_NEEDED)}."
        )


def _by_name(header: list[str], cells: list[str]) -> dict[str, str]:
    named = {name: cell.strip() for name, cell in zip(header, cells, strict=False)}
    if len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
        named["too many"] = cells[len(header)].strip()
    return named


def _read(cells: dict[str, str], house: House, store: Store) -> tuple[NewItem | None, list[str]]:
    """The item of one line, if there is one, and what is wrong with the line."""
    new, problems = item_fields.read_item(cells, house, store)
    if "too many" in cells:
        problems.insert(0, f"There is more on this line than columns: “{cells['too many']}”.")
    return new, problems
