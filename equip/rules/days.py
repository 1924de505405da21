"""A due day moved off days on which the clinic, or whoever comes to it, does not work.

Only where the work is written down to happen moves, never the row of due days behind it: the
next one is counted from the anchor as before.
"""

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
