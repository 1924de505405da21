"""Whether a log is the one of its load: the machine's own numbers compared, its clock measured."""

import re
from collections.abc import Iterable
from datetime import datetime, timedelta

from equip import typed
from equip.rules.loads.load import Load
from equip.rules.wording import span
from equip.typed import Mistyped

_DIGITS = re.compile(r"[0-9]+")
_ABOUT = timedelta(minutes=15)


def cycle_number(text: str) -> str:
    """The cycle number in what a log has: "No. 004117" is "4117"; "" where there is no one number.

    Written as people type it, without noughts in front: 0 is how a machine says that it has none.
    """
    found = _DIGITS.findall(text)
    try:
        return typed.cycle_number(found[0]) if len(found) == 1 else ""
    except Mistyped:
        return ""


def is_named(written: str, names: Iterable[str]) -> bool:
    """Whether a machine that a log calls *written* is one with *names*: tag, serial, old names."""
    return _bare(written) in {_bare(name) for name in names if _bare(name)}


def _bare(text: str) -> str:
    """Letters and digits alone: machines part them by spaces, hyphens and strokes as they like."""
    return "".join(mark for mark in text.casefold() if mark.isalnum())


def could_be_running(
    load: Load, log_started: datetime | None, lasts: timedelta, now: datetime
) -> bool:
    """Whether a log may be the cycle of a load that runs and has no number yet.

    Only a log that says when it began, about when the load was started, and that is no longer
    than the load has been running: the log of an earlier cycle may arrive late.
    """
    if load.started is None or log_started is None:
        return False
    return abs(log_started - load.started) <= _ABOUT and lasts <= now - load.started + _ABOUT


def clock_says(started: datetime | None, log_started: datetime | None) -> str:
    """How the machine's clock stood beside ours when the load was started; "" within a minute."""
    if started is None or log_started is None:
        return ""
    off = log_started - started
    if abs(off) <= timedelta(minutes=1):
        return ""
    whole = span(round(abs(off).total_seconds() / 60) * 60)
    return f"The machine’s clock is {whole} {'fast' if off > timedelta(0) else 'slow'}."
