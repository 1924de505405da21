"""How long a thing has to stay wet or in the bath yet: contact times, by the clock.

A contact time is over at its very end. What is left is rounded up, so that nobody who waits as
long as the screen says is early.
"""

import math
from datetime import datetime, timedelta, tzinfo

from equip.facts import Told
from equip.rules.fitness.standing import Standing
from equip.rules.wording import clock, span


def wet_until(stands: Standing, at: datetime, step: str = "") -> datetime | None:
    """When the contact time that runs at *at* will be over; None if none runs.

    With *step*, only a contact time that this step would cut short: the same again does not.
    """
    runs = (done for done in stands.done if done.wet_at(at) and step not in done.steps)
    return max((done.wet_until for done in runs), default=None)


def left_s(until: datetime, at: datetime) -> int:
    """Whole seconds from *at* to *until*, rounded up; 0 once it is over."""
    return max(0, math.ceil((until - at) / timedelta(seconds=1)))


def why_wait(stands: Standing, at: datetime, zone: tzinfo) -> Told | None:
    """Why the thing must be left alone at *at*: its contact time runs. None if none does."""
    until = wet_until(stands, at)
    if until is None:
        return None
    more = span(left_s(until, at))
    says = f"It has to stay wet until {clock(until, zone)}: wait {more} more."
    return Told(code="still-wet", says=says)
