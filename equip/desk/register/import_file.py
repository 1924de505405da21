"""A register from a file: every fault listed by line, all of it or nothing."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

from equip.desk.act.act import Act
from equip.desk.clinic import House
from equip.desk.register import items
from equip.facts import Arrival, ItemType
from equip.scan import UnreadableTag, read_tag
from equip.store.database import Store
from equip.store.readings import item_rows

COLUMNS = ("type", "arrival", "tag", "name", "serial", "maker_code", "place", "old_name", "set")
_NEEDED = ("type", "arrival")
_MOST_BYTES = 8 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the file that can be taken in."""

    line: int
    kind: ItemType
    arrival: Arrival
    tag: str
    name: str
    serial: str
    maker_code: str
    place: str
    old_name: str
    set: str


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with one line, and what to do."""

    line: int
    says: str


@dataclass(frozen=True, slots=True)
class Register:
    """A file read whole: the lines that are good, and every fault of the others."""

    rows: tuple[Row, ...]
    problems: tuple[Problem, ...]


class UnreadableFile(ValueError):
    """The file as a whole cannot be read; the message says why and what to do."""


def read_register(data: bytes, house: House, store: Store) -> Register:
    """Check *data*, a CSV file with a header line, against the house it is for."""
    rows: list[Row] = []
    problems: list[Problem] = []
    seen: dict[str, int] = {}
    for line, cells in _lines(data):
        found: list[str] = []
        row = _row(line, cells, house, store, found)
        for what in (row.tag, row.old_name) if row else ():
            if what and what in seen:
                found.append(f"“{what}” stands on line {seen[what]} already.")
            elif what:
                seen[what] = line
        problems += [Problem(line, says) for says in found]
        if row is not None and not found:
            rows.append(row)
    return Register(tuple(rows), tuple(problems))


def take_in(act: Act, rows: tuple[Row, ...]) -> list[str]:
    """Put every row on the register in one act; the tags given, in order."""
    tags = []
    for row in rows:
        tag = items.add_item(
            act,
            row.kind,
            row.arrival,
            tag=row.tag,
            name=row.name,
            serial=row.serial,
            maker_code=row.maker_code,
            place=row.place,
            aliases=(row.old_name,) if row.old_name else (),
        )
        if row.set:
            items.join_new(act, row.set, tag)
        tags.append(tag)
    return tags


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


def _row(
    line: int, cells: dict[str, str], house: House, store: Store, found: list[str]
) -> Row | None:
    """The row of one line, or None; what is wrong with it is added to *found*."""
    if "too many" in cells:
        found.append(f"There is more on this line than columns: “{cells['too many']}”.")
    kind = _kind(cells.get("type", ""), house, found)
    arrival = _arrival(cells.get("arrival", ""), found)
    tag = _tag(cells.get("tag", ""), kind, store, found)
    place = _place(cells.get("place", ""), house, found)
    set_tag = _set(cells.get("set", ""), house, store, found)
    old_name = cells.get("old_name", "")
    if old_name and item_rows.aliased(store, old_name) is not None:
        found.append(f"“{old_name}” is the old name of something on the register already.")
    if kind is None or arrival is None:
        return None
    return Row(
        line=line,
        kind=kind,
        arrival=arrival,
        tag=tag,
        name=cells.get("name", ""),
        serial=cells.get("serial", ""),
        maker_code=cells.get("maker_code", ""),
        place=place,
        old_name=old_name,
        set=set_tag,
    )


def _kind(text: str, house: House, found: list[str]) -> ItemType | None:
    for kind in house.types.values():
        if text.lower() in (kind.code.lower(), kind.name.lower()):
            if not kind.tagged:
                found.append(f"{kind.name} carries no tag: it is known by the pack it is in.")
            return kind
    known = ", ".join(sorted(house.types))
    found.append(f"“{text}” is no type of this book: it has {known}.")
    return None


def _arrival(text: str, found: list[str]) -> Arrival | None:
    for arrival in items.ARRIVALS:
        if text.lower().replace(" ", "-") == arrival:
            return arrival
    found.append(f"“{text}” is no way to arrive: {', '.join(items.ARRIVALS)}.")
    return None


def _tag(text: str, kind: ItemType | None, store: Store, found: list[str]) -> str:
    if not text:
        return ""
    try:
        tag = read_tag(text)
    except UnreadableTag as problem:
        found.append(str(problem))
        return ""
    letters = {"instrument": "E", "machine": "D", "set": "S"}
    if kind is not None and tag.letter != letters[kind.sort]:
        found.append(
            f"{tag.text} is no tag for {kind.name.lower()}: it needs {letters[kind.sort]}."
        )
    if item_rows.item_row(store, tag.text) is not None:
        found.append(f"{tag.text} is on the register already.")
    return tag.text


def _place(text: str, house: House, found: list[str]) -> str:
    if not text:
        return ""
    for place in house.places.values():
        if text.lower() in (place.tag.lower(), place.name.lower()):
            return place.tag
    found.append(f"“{text}” is no place of this book: add it in Setup first.")
    return ""


def _set(text: str, house: House, store: Store, found: list[str]) -> str:
    if not text:
        return ""
    row = item_rows.item_row(store, text) or item_rows.item_row(
        store, item_rows.aliased(store, text) or ""
    )
    if row is None or house.kind(row.type).sort != "set":
        found.append(f"“{text}” is no set on the register: add the set first.")
        return ""
    return row.tag
