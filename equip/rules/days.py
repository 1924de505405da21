"""Calendar days: months added to one, and a due day moved off days on which nobody works.

Only where the work is written down to happen moves, never the row of due days behind it: the
next one is counted from the anchor as before.
"""

from calendar import monthrange
from collections.abc import Callable
from datetime import date, timedelta
from typing import Literal

Moves = Literal["none", "before", "after"]

FARTHEST = 14
"""Days that are looked at, the due day the first of them: no longer row is looked past."""


def working_day(day: date, moves: Moves, closed: Callable[[date], bool]) -> date:
    """*day* itself if it is a working day, else the next one before or after it.

    Where all of two weeks are closed, the day stays: then the calendar is no help.
    """
    if moves == "none":
        return day
    step = timedelta(days=-1 if moves == "before" else 1)
    found = day
    for _ in range(FARTHEST):
        if not closed(found):
            return found
        if found in (date.min, date.max):
            break
        found += step
    return day


OUTSIDE = "The next due day is outside the calendar (1 to 9999): give a shorter interval."

_IN_EVERY_MONTH = 28


def add_months(day: date, months: int) -> date:
    """*day* moved by whole months, on the last of the month where the month is too short."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not date.min.year <= year <= date.max.year:
        raise ValueError(OUTSIDE)
    if day.day <= _IN_EVERY_MONTH:
        return date(year, month + 1, day.day)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
