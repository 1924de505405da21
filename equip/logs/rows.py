"""The rows of a machine's log in order: the lines ahead of it, its header, its readings.

One pass that keeps nothing: a day of readings is as light as a minute of them.
"""

import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import BinaryIO, NoReturn

from equip.logs import layout as log_layout
from equip.logs.cells import BadCell, Times, as_number
from equip.logs.layout import Column, Layout
from equip.logs.text import UnreadableLog, shown, text_lines

_MARKS = {"comma": ",", "semicolon": ";", "tab": "\t", "spaces": " "}
# Exact by definition: a pound-force on a square inch.
_KPA = {"kPa": 1.0, "Pa": 0.001, "bar": 100.0, "mbar": 0.1, "psi": 6.894757293168361}
# A reading on the edge of a band stays on it when it is converted: 269.6 °F is 132 °C.
_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a log as it was read: elapsed seconds, °C of each probe, absolute kPa."""

    line: int
    text: str
    at_s: float
    celsius: tuple[float, ...]
    kpa: float | None


class Walk:
    """One pass over a log by a layout.

    *machine* and *cycle_no* are filled on the way, as are *times*; *air_kpa* is what is added to
    each pressure of a gauge, and *air_from* says where it comes from.
    """

    def __init__(self, layout: Layout, source: bytes | BinaryIO, limit: int) -> None:
        if wrong := next(log_layout.faults(layout), None):
            raise UnreadableLog(wrong)
        self.layout = layout
        self.times = Times(layout)
        self.machine = self.cycle_no = ""
        self.air_kpa, self.air_from = log_layout.air_kpa(layout) if layout.gauge else (0.0, "")
        self._factor = _KPA[layout.pressure_unit]
        self._mark = _MARKS[layout.delimiter]
        self._lines = text_lines(source, limit)

    def rows(self) -> Iterator[Row]:
        """Every reading in order. Raises UnreadableLog."""
        columns: list[int] | None = None
        width: int | None = None
        before = float("-inf")
        for number, raw in self._lines:
            text = self._decoded(number, raw)
            if number <= self.layout.skip:
                self._look_for_numbers(text)
                continue
            if self.layout.until and text.startswith(self.layout.until):
                return
            cells = self._split(number, text)
            if columns is None:
                columns = self._columns(number, text, cells)
                if self.layout.header:
                    width = len(cells)
                    continue
            row = self._row(number, text, cells, columns, width)
            if not row.at_s > before:
                _not_later(number, row.at_s, before, self.layout)
            before = row.at_s
            yield row

    def _decoded(self, number: int, raw: bytes) -> str:
        try:
            return raw.decode(self.layout.encoding).strip("\r\n")
        except UnicodeDecodeError as fault:
            raise UnreadableLog(
                f"Line {number} is not in UTF-8 (it reads {shown(repr(raw.strip())[1:])}): "
                "set the layout to latin-1 if the machine writes that."
            ) from fault

    def _split(self, number: int, text: str) -> list[str]:
        if self.layout.delimiter == "spaces":
            return [cell.strip('"') for cell in text.split()]
        if '"' not in text:
            return [cell.strip() for cell in text.split(self._mark)]
        try:
            cells = next(csv.reader([text], delimiter=self._mark, skipinitialspace=True))
        except csv.Error:
            raise UnreadableLog(
                f"Line {number} reads “{shown(text)}”, whose quotation marks do not close: "
                "fetch the log from the machine again."
            ) from None
        return [cell.strip() for cell in cells]

    def _look_for_numbers(self, text: str) -> None:
        if self.layout.machine_key and not self.machine:
            self.machine = self._value(text, self.layout.machine_key)
        if self.layout.cycle_key and not self.cycle_no:
            self.cycle_no = self._value(text, self.layout.cycle_key)

    def _value(self, text: str, key: str) -> str:
        """What stands after *key* and a delimiter, a colon or an equals sign; "" if not there."""
        text, key = text.replace('"', "").strip(), key.strip()
        marks = f":={self._mark} \t"
        after = text[len(key) :]
        if text[: len(key)].casefold() != key.casefold() or after[:1] not in marks:
            return ""
        value = after.lstrip(marks)
        if self.layout.delimiter != "spaces":
            value = value.split(self._mark)[0]
        return shown(value.strip(), 80)

    def _columns(self, number: int, text: str, cells: list[str]) -> list[int]:
        """Where each column of the layout stands, counted from nought."""
        names = [cell.casefold() for cell in cells]
        found = [_place(number, text, names, column) for column in self.layout.columns]
        if len(set(found)) < len(found):
            raise UnreadableLog(
                f"Line {number} reads “{shown(text)}”, and the layout takes one of its columns "
                "twice: each has one meaning."
            )
        return found

    def _row(
        self, number: int, text: str, cells: list[str], columns: list[int], width: int | None
    ) -> Row:
        layout = self.layout
        if width is not None and len(cells) > width and any(cells[width:]):
            raise UnreadableLog(
                f"Line {number} reads “{shown(text)}”, {len(cells)} values where the header has "
                f"{width}: look at the delimiter and the decimals of the layout."
            )
        try:
            given = [cells[column] for column in columns]
        except IndexError:
            raise UnreadableLog(
                f"Line {number} reads “{shown(text)}”, {len(cells)} values where the layout needs "
                f"{max(columns) + 1}: the log is cut off there, or look at the delimiter."
            ) from None
        time = given[0] if layout.date is None else f"{given[1]} {given[0]}"
        at_s = self._cell(number, layout.time, time, self.times.read)
        first = 1 if layout.date is None else 2
        values = [
            self._cell(number, name, cell, self._number)
            for name, cell in zip(layout.columns[first:], given[first:], strict=True)
        ]
        kpa = None
        if layout.pressure is not None:
            kpa = round(values.pop() * self._factor + self.air_kpa, _DIGITS)
        if layout.temperature == "°F":
            values = [round((value - 32) / 1.8, _DIGITS) for value in values]
        return Row(number, text, at_s, tuple(values), kpa)

    def _number(self, text: str) -> float:
        return as_number(text, self.layout.decimal)

    def _cell(self, number: int, name: Column, cell: str, read: Callable[[str], float]) -> float:
        try:
            return read(cell)
        except BadCell as fault:
            if not cell.strip():
                raise UnreadableLog(
                    f"Line {number} has nothing under {_called(name)}: look at the layout, or "
                    "fetch the log again."
                ) from None
            raise UnreadableLog(
                f"Line {number} has “{shown(cell)}” under {_called(name)}, {fault}: "
                "look at the layout."
            ) from None


def _place(number: int, text: str, names: list[str], column: Column) -> int:
    if isinstance(column, int):
        if column > len(names):
            raise UnreadableLog(
                f"Line {number} reads “{shown(text)}”, {len(names)} values, and the layout needs "
                f"column {column}: look at the delimiter and the lines to skip."
            )
        return column - 1
    name = column.strip().casefold()
    if names.count(name) == 1:
        return names.index(name)
    what = "more than one" if name in names else "no"
    raise UnreadableLog(
        f"Line {number} reads “{shown(text)}” and has {what} column “{shown(column)}”: "
        "look at the lines to skip, the delimiter and the name."
    )


def _called(column: Column) -> str:
    return f"column {column}" if isinstance(column, int) else shown(column)


def _not_later(number: int, at: float, before: float, layout: Layout) -> NoReturn:
    how = "the same time as" if at == before else "earlier than"
    advice = "a log holds one cycle with times that rise"
    if layout.time_as == "stamp" and not layout.zone and at < before:
        advice += "; if its clock was put back that night, give the layout its zone"
    raise UnreadableLog(
        f"Line {number} is at {at:g} s, {how} the reading before at {before:g} s: {advice}."
    )
