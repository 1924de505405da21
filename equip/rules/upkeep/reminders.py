"""When somebody is told of a duty: how early, how often, how late; never at a quiet hour.

A step is a number of days from the due day. Only the last step reached is told, so that whoever
was away for a week gets one line and not seven.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from equip.rules.upkeep.due import Standing

Works = Callable[[date], bool]

STOPS_SOON, STOPS = 0, 1
"""The steps of a duty that stops its thing: it is about to, it has."""

_FARTHEST = 31
_HOUR = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class Timing:
    """Days ahead, days between repeats once overdue, days over after which others are told."""

    lead_days: int
    again_days: int
    escalate_days: int


def step_reached(
    due: date, today: date, timing: Timing, standing: Standing, *, first: bool
) -> int | None:
    """The last step that *today* reaches, None if it is too early for anybody.

    Whoever is not told *first* hears of it only when it is late for too long.
    """
    over = (today - due).days
    if standing == "due":  # by its day, or by a count that is reached ahead of it
        over = max(over, 0)
    if not first:
        return _repeated(over, timing.escalate_days, timing.again_days)
    if over < -timing.lead_days:
        return None
    return -timing.lead_days if over < 0 else _repeated(over, 1, timing.again_days) or 0


def _repeated(over: int, first: int, every: int) -> int | None:
    if over < first:
        return None
    return first + (over - first) // max(every, 1) * max(every, 1)


def stop_reached(due: date, today: date, works: Works) -> int | None:
    """Of a duty that stops its thing: told on the last working day up to its day, and once over."""
    if today > due:
        return STOPS
    return STOPS_SOON if today >= last_working_day(due, works) else None


def last_working_day(day: date, works: Works) -> date:
    """The last working day up to *day*; *day* itself if there is none within a month."""
    back = (day - timedelta(days=ago) for ago in range(_FARTHEST))
    return next((one for one in back if works(one)), day)


def working_days(text: str) -> frozenset[int]:
    """Days of the week as numbers; `ValueError` with a sentence for what is none."""
    words = text.replace(",", " ").lower().split()
    if odd := [word for word in words if word not in DAYS]:
        raise ValueError(f"“{odd[0]}” is no day of the week; known are {', '.join(DAYS)}.")
    return frozenset(DAYS.index(word) for word in words)


def check_rule(rule: str, value: str) -> None:
    """`ValueError` with a sentence for a text that a rule of reminding cannot be."""
    if rule == "remind.working-days":
        working_days(value)
    elif rule in ("remind.quiet-from", "remind.quiet-until") and not _HOUR.fullmatch(value):
        raise ValueError(f"{rule}: “{value}” is no time of day; write it as 07:00.")


def after_quiet(at: datetime, quiet_from: time, quiet_until: time, zone: ZoneInfo) -> datetime:
    """*at*, or the end of the quiet hours that it falls into; from may be later than until.

    Where the clocks go back over that end, quiet hours that have ended do not begin again.
    """
    here = at.astimezone(zone)
    now = here.time().replace(tzinfo=None)
    through_midnight = quiet_from > quiet_until
    if through_midnight:
        is_quiet = now >= quiet_from or now < quiet_until
    else:
        is_quiet = quiet_from <= now < quiet_until
    if not is_quiet:
        return at
    day = here.date() + timedelta(days=int(through_midnight and now >= quiet_from))
    return max(at, datetime.combine(day, quiet_until, zone).astimezone(at.tzinfo))
