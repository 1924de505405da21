"""Contact times that run: what has to stay wet, until when, how long that is."""

from dataclasses import dataclass
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.rules.bench.transitions import Context
from equip.rules.fitness.clocks import left_s
from equip.rules.wording import clock, span
from equip.scan import show_tag


@dataclass(frozen=True, slots=True)
class Running:
    """One contact time: *until* on the clinic's clock, *left_s* seconds from the moment asked."""

    what: str
    tag: str
    until: str
    at: datetime
    left_s: int
    over: str

    @property
    def left(self) -> str:
        return span(self.left_s)


def running(clinic: Clinic, context: Context, now: datetime) -> list[Running]:
    """What was wiped at this bench and has to stay wet, or had to and was not gone on with."""
    return [
        timed(clinic, f"{show_tag(one.item)} wet", one.item, one.until, now, "Time is up: go on.")
        for one in context.timers
    ]


def timed(
    clinic: Clinic, what: str, tag: str, until: datetime, now: datetime, over: str
) -> Running:
    """One contact time as it stands at *now*; *over* is said once it is up."""
    return Running(what, tag, clock(until, clinic.house.zone), until, left_s(until, now), over)
