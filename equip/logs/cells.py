"""One cell of a machine's log to a number or to elapsed seconds, whatever the clock did.

A machine writes otherwise than a person, so these are not the readers of `equip/typed.py`: which
decimal mark and which order of the date a log has is said by its layout, and anything else in it
is a fault of the layout; numbers are binary, as sensors are, and may have an exponent.
"""

import math
import re
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from zoneinfo import ZoneInfo

from equip.logs.layout import Layout

_TIME = r"(\d{1,2}):(\d\d):(\d\d)(?:[.,](\d{1,9}))?\s*([AaPp][Mm])?"
_CLOCK = re.compile(_TIME, re.ASCII)
_STAMP = re.compile(
    rf"(\d{{1,4}})([-./])(\d{{1,2}})\2(\d{{1,4}})[ T]\s*{_TIME}\s*(Z|[+-]\d\d:?\d\d)?", re.ASCII
)
_EPOCH = datetime(2000, 1, 1)  # noqa: DTZ001 — wall clocks are subtracted from it, no zone is meant
_DAY_S = 86_400.0
_HALF_DAY_S = _DAY_S / 2
_FIRST_YEAR, _LAST_YEAR = 1990, 2100


class BadCell(ValueError):
    """A cell that is not what the layout says; the message says what it should be."""


def as_number(text: str, decimal: str) -> float:
    """*text* as a finite number, its decimals after a *decimal* point or comma."""
    other, word = (",", "comma") if decimal == "point" else (".", "point")
    if other in text:
        raise BadCell(f"with a {word}, though the layout says decimal {decimal}")
    try:
        value = math.nan if "_" in text else float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise BadCell("which is no number")
    return value


class Times:
    """The cells of one log's times, in order, to elapsed seconds.

    Seconds and minutes are as the log counts them; a clock and stamps count from its first line.
    *started* is the first moment where the log says it in full, *changed* whether the clock was
    put forward or back in between. An hour lost in a hole at that very moment cannot be seen.
    """

    def __init__(self, layout: Layout) -> None:
        self.started: datetime | None = None
        self.changed = False
        self._layout = layout
        self._zone = ZoneInfo(layout.zone) if layout.zone else None
        self._first: float | None = None
        self._last = -math.inf
        self._days = 0.0
        self._offset: timedelta | None = None
        self._has_offset: bool | None = None
        ways: dict[str, Callable[[str], float]] = {
            "seconds": self._count,
            "minutes": lambda text: round(self._count(text) * 60, 6),
            "clock": self._clock,
            "stamp": self._stamp,
        }
        self.read = ways[layout.time_as]
        """The elapsed seconds of the next cell. Raises BadCell."""

    def _count(self, text: str) -> float:
        return as_number(text, self._layout.decimal)

    def _clock(self, text: str) -> float:
        found = _CLOCK.fullmatch(text)
        if found is None:
            raise BadCell("which is no time as 08:41:12")
        hour, minute, second, micro = _of_day(*found.groups())
        at = hour * 3600.0 + minute * 60 + second + micro / 1e6
        if at + self._days < self._last - _HALF_DAY_S:
            self._days += _DAY_S
        return self._elapsed(at + self._days)

    def _stamp(self, text: str) -> float:
        wall, offset = _moment(text, self._layout.date_order)
        if self._has_offset not in (None, offset is not None):
            raise BadCell("but only some of the times have an offset")
        self._has_offset = offset is not None
        if offset is None and self._zone is not None:
            offset = self._local(wall, self._zone)
        if self.started is None and offset is not None:
            self.started = wall.replace(tzinfo=timezone(offset))
        shift = 0.0 if offset is None else offset.total_seconds()
        return self._elapsed((wall - _EPOCH).total_seconds() - shift)

    def _local(self, wall: datetime, zone: ZoneInfo) -> timedelta:
        """The offset this reading was written by: of those there may be, the least step on.

        So a machine that puts its clock forward or back is followed, and one that does not and
        shows hours that the zone leaves out is not sent back in time.
        """
        both = [zone.utcoffset(wall), zone.utcoffset(wall.replace(fold=1))]
        possible = [offset for offset in (self._offset, *both) if offset is not None]
        if self._offset is not None and any(offset != self._offset for offset in possible):
            at = (wall - _EPOCH).total_seconds()
            later = [o for o in possible if at - o.total_seconds() > self._last]
            chosen = max(later, default=self._offset)
        else:
            chosen = possible[0]
        self.changed |= self._offset not in (None, chosen)
        self._offset = chosen
        return chosen

    def _elapsed(self, at: float) -> float:
        if self._first is None:
            self._first = at
        self._last = at
        # Whole microseconds: the difference of large numbers has no more to it.
        return round(at - self._first, 6)


def _moment(text: str, order: str) -> tuple[datetime, timedelta | None]:
    """A stamp's wall clock and its offset, None where it has none."""
    found = _STAMP.fullmatch(text)
    if found is None:
        raise BadCell("which is no date and time as 2026-03-29 00:52:00")
    first, _, second, third, *time, zone = found.groups()
    parts = dict(zip(order, (int(first), int(second), int(third)), strict=True))
    year = parts["y"] if parts["y"] >= 100 else 2000 + parts["y"]
    if not _FIRST_YEAR <= year <= _LAST_YEAR:
        raise BadCell(f"which would be the year {year}: check the order of the date")
    hour, minute, seconds, micro = _of_day(*time)
    try:
        wall = datetime(year, parts["m"], parts["d"], hour, minute, seconds, micro)  # noqa: DTZ001
    except ValueError:
        raise BadCell("which is no date of the calendar: check the order of the date") from None
    return wall, _offset(zone)


def _of_day(
    hour: str, minute: str, second: str, part: str | None, half: str | None
) -> tuple[int, int, int, int]:
    """Hour, minute, second and microsecond, by the clock of 24 or of 12 hours."""
    hours = int(hour)
    if half is not None:
        if not 1 <= hours <= 12:
            raise BadCell("which is no time of a clock of 12 hours")
        hours = hours % 12 + (12 if half.upper() == "PM" else 0)
    if hours > 23 or int(minute) > 59 or int(second) > 59:
        raise BadCell("which is no time of a day")
    return hours, int(minute), int(second), int((part or "").ljust(6, "0")[:6])


def _offset(text: str | None) -> timedelta | None:
    if text is None:
        return None
    if text == "Z":
        return timedelta(0)
    hours, minutes = int(text[1:3]), int(text[-2:])
    if hours > 18 or minutes > 59:
        raise BadCell("whose offset is none that any zone has")
    size = timedelta(hours=hours, minutes=minutes)
    return -size if text[0] == "-" else size
