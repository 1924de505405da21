"""Times and spans as people at the bench say them."""

import math
from collections.abc import Sequence
from datetime import datetime, time, timedelta, tzinfo

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def when(moment: datetime, now: datetime, zone: tzinfo) -> str:
    """*moment* in the clinic's zone, as short as *now* allows: "10:04", "yesterday 17:20"."""
    there, here = moment.astimezone(zone), now.astimezone(zone)
    clock = f"{there:%H:%M}"
    days = (here.date() - there.date()).days
    if days == 0:
        return clock
    if days == 1:
        return f"yesterday {clock}"
    return f"{day(there, here)} {clock}"


def day_over(moment: datetime, zone: tzinfo) -> datetime:
    """The midnight that ends the day of *moment* in the clinic's zone."""
    there = moment.astimezone(zone)
    return datetime.combine(there.date() + timedelta(days=1), time(0), zone)


def clock(moment: datetime, zone: tzinfo) -> str:
    """*moment* on the clinic's clock, to the second: what a contact time is read off."""
    return f"{moment.astimezone(zone):%H:%M:%S}"


def day(moment: datetime, now: datetime) -> str:
    """The date of *moment* as it stands: "Tue 18 Nov", with the year if it is not this one."""
    text = f"{_DAYS[moment.weekday()]} {moment.day} {_MONTHS[moment.month - 1]}"
    return text if moment.year == now.year else f"{text} {moment.year}"


def span(seconds: float) -> str:
    """A length of time: "2 min 28 s", "3 h 05 min", "2 days 4 h"."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    minutes, rest = divmod(whole, 60)
    if minutes < 60:
        return f"{minutes} min {rest:02d} s" if rest else f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    if hours < 24:
        return f"{hours} h {minutes:02d} min" if minutes else f"{hours} h"
    days, hours = divmod(hours, 24)
    unit = "day" if days == 1 else "days"
    return f"{days} {unit} {hours} h" if hours else f"{days} {unit}"


def exact_span(seconds: float) -> str:
    """A length of time, or a moment of a log, to the millisecond and never rounded up.

    A holding time that was missed by a tenth of a second is not said to have been reached.
    """
    # Stamps such as 0.1, 0.2, 0.3 s do not add up exactly in binary.
    exact = math.floor(seconds * 1000 + 1e-3) / 1000
    if exact == int(exact):
        return span(exact)
    minutes, rest = divmod(exact, 60)
    return f"{int(minutes)} min {rest:g} s" if minutes else f"{rest:g} s"


def several(words: Sequence[str]) -> str:
    """A list as it is spoken: "a, b and c"."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def counted(number: int, word: str) -> str:
    """So many of something: "no use", "1 use", "3 uses"."""
    if number == 1:
        return f"1 {word}"
    return f"{number or 'no'} {word}s"


def celsius_band(low: float | None, high: float | None) -> str:
    """Limits of a temperature: "60 to 65 °C", "60 °C or more"; one of them at least is known."""
    if high is None:
        return f"{low:g} °C or more"
    return f"{high:g} °C or less" if low is None else f"{low:g} to {high:g} °C"
