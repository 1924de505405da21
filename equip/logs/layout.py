"""How a machine writes its log, described once in Setup: columns, units, times, its own numbers.

A machine is added by such a description and never by code. Reading with one is the business of
`machine_log`; here is only what a layout says and how it can contradict itself.
"""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from typing import Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import msgspec

Column = int | str
"""A column by its name in the header, or by its place counted from 1."""

STANDARD_KPA = 101.325
"""The standard atmosphere at sea level, in kPa (ISO 2533)."""

_MOST_SKIPPED = 1000
_LOWEST_AIR, _HIGHEST_AIR = Decimal(50), Decimal(110)  # kPa anybody lives in
_DEEPEST_M, _HIGHEST_M = -430, 5200  # metres at which people live


class Layout(
    msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, forbid_unknown_fields=True
):
    """One machine's log.

    *skip* lines stand ahead of the header, or of the first reading where there is no *header*;
    blank ones count. *time_as* clock is HH:MM:SS, past midnight too; a stamp has its date with it
    or in the column *date*, and is in *zone* (a name such as Europe/London) unless it carries an
    offset; without a zone its times are taken as they stand. The first of *probes* is the chamber
    reference. A *gauge* needs the air pressure: *barometer_kpa*, else that of *altitude_m*, else
    the standard atmosphere. *machine_key* and *cycle_key* begin the lines ahead of the header
    that hold the machine's own numbers. The readings end where a line begins with *until*.
    """

    encoding: Literal["utf-8", "latin-1"] = "utf-8"
    delimiter: Literal["comma", "semicolon", "tab", "spaces"] = "comma"
    decimal: Literal["point", "comma"] = "point"
    skip: int = 0
    header: bool = True
    time: Column = "seconds"
    time_as: Literal["seconds", "minutes", "clock", "stamp"] = "seconds"
    date: Column | None = None
    date_order: Literal["ymd", "dmy", "mdy"] = "ymd"
    zone: str = ""
    probes: tuple[Column, ...] = ("celsius",)
    temperature: Literal["°C", "°F"] = "°C"
    pressure: Column | None = None
    pressure_unit: Literal["kPa", "Pa", "bar", "mbar", "psi"] = "kPa"
    gauge: bool = False
    barometer_kpa: Decimal | None = None
    altitude_m: int | None = None
    machine_key: str = ""
    cycle_key: str = ""
    until: str = ""

    @property
    def columns(self) -> tuple[Column, ...]:
        """Every column that is read: the time, its date, the probes, the pressure."""
        date = () if self.date is None else (self.date,)
        pressure = () if self.pressure is None else (self.pressure,)
        return (self.time, *date, *self.probes, *pressure)


class BadLayout(ValueError):
    """A layout that is none; the message says what was read and what to do."""


def from_json(text: bytes | str) -> Layout:
    """A layout as it was written down. Raises BadLayout, also where it contradicts itself."""
    try:
        layout = msgspec.json.decode(text, type=Layout)
    except (msgspec.DecodeError, UnicodeDecodeError) as fault:
        raise BadLayout(f"This is no layout of a log ({str(fault).rstrip('.')}).") from fault
    if wrong := next(faults(layout), None):
        raise BadLayout(wrong)
    return layout


def to_json(layout: Layout) -> bytes:
    """What `from_json` reads; what is as usual is left out."""
    return msgspec.json.encode(layout)


def faults(layout: Layout) -> Iterator[str]:
    """Every way in which *layout* cannot be meant, a sentence each."""
    if not layout.probes:
        yield "The layout names no column with a temperature: name at least the chamber's."
    if layout.delimiter == "comma" and layout.decimal == "comma":
        yield "Commas cannot part both the columns and the decimals: choose another for one."
    if not 0 <= layout.skip <= _MOST_SKIPPED:
        yield f"{layout.skip} lines to skip were given: give 0 to {_MOST_SKIPPED:,}."
    yield from _column_faults(layout)
    yield from _time_faults(layout)
    yield from _air_faults(layout)


def air_kpa(layout: Layout) -> tuple[float, str]:
    """The air pressure in kPa that a gauge of this layout leaves out, and where it comes from.

    The altitude's is that of the standard atmosphere, ISO 2533.
    """
    if layout.barometer_kpa is not None:
        return float(layout.barometer_kpa), "the barometer given in the layout"
    if layout.altitude_m is not None:
        kpa = STANDARD_KPA * (1 - 2.25577e-5 * layout.altitude_m) ** 5.25588
        return kpa, f"the standard atmosphere at {layout.altitude_m} m"
    return STANDARD_KPA, (
        "the standard atmosphere at sea level, because the layout gives neither a barometer nor an "
        "altitude"
    )


def _column_faults(layout: Layout) -> Iterator[str]:
    for column in layout.columns:
        if isinstance(column, int):
            if column < 1:
                yield f"Column {column} was given: columns are counted from 1."
        elif not column.strip():
            yield "A column without a name was given: name it as in the header, or by its place."
        elif not layout.header:
            yield f"The column “{column}” has a name but the log no header: give its place."
    twice = [column for column, times in Counter(map(_folded, layout.columns)).items() if times > 1]
    if twice:
        yield f"The column “{twice[0]}” is used twice: each has one meaning."


def _time_faults(layout: Layout) -> Iterator[str]:
    if layout.time_as != "stamp":
        if layout.zone:
            yield "A zone was given, which only times with a date can have: leave it out."
        if layout.date is not None:
            yield "A column with the date was given: choose stamps, with date and time."
    elif layout.zone:
        try:
            ZoneInfo(layout.zone)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            yield f"“{layout.zone}” is no zone: give a name such as Europe/London."


def _air_faults(layout: Layout) -> Iterator[str]:
    kpa, metres = layout.barometer_kpa, layout.altitude_m
    if layout.gauge and layout.pressure is None:
        yield "Gauge pressure was given but no column with the pressure: name it."
    if not layout.gauge and (kpa is not None or metres is not None):
        yield "A barometer or altitude was given, which only gauge pressure needs: leave it out."
    if kpa is not None and metres is not None:
        yield "A barometer and an altitude were given: give one of the two."
    if kpa is not None and not (kpa.is_finite() and _LOWEST_AIR <= kpa <= _HIGHEST_AIR):
        yield f"A barometer of {kpa} kPa was given: where people live it is 50 to 110 kPa."
    if metres is not None and not _DEEPEST_M <= metres <= _HIGHEST_M:
        yield f"An altitude of {metres} m was given: give {_DEEPEST_M} to {_HIGHEST_M} m."


def _folded(column: Column) -> Column:
    return column.strip().casefold() if isinstance(column, str) else column
