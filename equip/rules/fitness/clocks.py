"""The two clocks of cleaning: from use to cleaning, and while an item has to stay wet.

Used, it may wait for its cleaning only so long before the soil has dried on; the limits come from
the rule book, one for what lay dry, a longer one for what was kept moist. Disinfected, it has to
stay wet or in the bath for its contact time, which is over at its very end; what is left of it is
rounded up, so that nobody who waits as long as the screen says is early.
"""

import math
from datetime import datetime, timedelta, tzinfo

from equip.facts import Told
from equip.rules.fitness.standing import Standing
from equip.rules.verdict import Reason
from equip.rules.wording import clock, span

# --- from use to cleaning ---------------------------------------------------------------------


def why_too_late(ended: datetime, cleaning_started: datetime, limit_min: int) -> list[Reason]:
    """Whether cleaning began within *limit_min* minutes of the end of use; the limit passes.

    Later than that it is not lost, but it needs its maker's way of delayed cleaning.
    """
    waited = cleaning_started - ended
    if waited <= timedelta(minutes=limit_min):
        return []
    says = (
        f"It waited for cleaning more than the {limit_min} min allowed "
        f"({span(waited.total_seconds())}). "
        "Follow its maker's instructions for delayed cleaning."
    )
    return [Reason("waited-too-long", says)]


# --- wet for its contact time -----------------------------------------------------------------


def wet_until(standing: Standing, at: datetime, step: str = "") -> datetime | None:
    """When the contact time that runs at *at* will be over; None if none runs.

    With *step*, only a contact time that this step would cut short: the same again does not.
    """
    runs = (done for done in standing.done if done.wet_at(at) and step not in done.steps)
    return max((done.wet_until for done in runs), default=None)


def left_s(until: datetime, at: datetime) -> int:
    """Whole seconds from *at* to *until*, rounded up; 0 once it is over."""
    return max(0, math.ceil((until - at) / timedelta(seconds=1)))


def why_wait(standing: Standing, at: datetime, zone: tzinfo) -> Told | None:
    """Why the thing must be left alone at *at*: its contact time runs. None if none does."""
    until = wet_until(standing, at)
    if until is None:
        return None
    more = span(left_s(until, at))
    says = f"It has to stay wet until {clock(until, zone)}: wait {more} more."
    return Told(code="still-wet", says=says)
