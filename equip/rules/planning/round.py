"""What a round is made of that is played ahead, and what comes of it. All times are whole minutes
from midnight of the first day."""

from collections.abc import Mapping
from dataclasses import dataclass

MINUTES_A_DAY = 1440
Hold = Mapping[tuple[str, int], int]
"""The minute before which the so-manieth load of a machine must not start."""


@dataclass(frozen=True, slots=True)
class Stage:
    """One piece of the way back: *minutes* of a person, or a cycle of one of *machines*."""

    step: str
    minutes: int = 1
    machines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Machine:
    """*minutes* from the closing of the door until what was in it goes on; *holds* things."""

    tag: str
    minutes: int
    holds: int
    free_from: int = 0


@dataclass(frozen=True, slots=True)
class Unit:
    """What is taken, used and sent round as one: a loose thing, a set, or a pack.

    It goes on with *todo* at *since*, and is ready once nothing is to do. Of what was done
    before now its fitness ends at *lapses*; done anew it *keeps* so many minutes, or to the end of
    that day and *keeps_days* more. It may be used *uses_left* times more, None for any number.
    """

    name: str
    gives: tuple[tuple[str, int], ...]
    size: int
    route: tuple[Stage, ...]
    todo: tuple[Stage, ...] = ()
    since: int = 0
    lapses: int | None = None
    keeps: int | None = None
    keeps_days: int | None = None
    uses_left: int | None = None

    def fit_until(self, done: int) -> int | None:
        """When it lapses if it was made ready at *done*, None for never."""
        ends = [] if self.keeps is None else [done + self.keeps]
        if self.keeps_days is not None:
            ends.append((done // MINUTES_A_DAY + 1 + self.keeps_days) * MINUTES_A_DAY)
        return min(ends, default=None)

    def of(self, kind: str) -> int:
        return sum(count for one, count in self.gives if one == kind)


@dataclass(frozen=True, slots=True)
class Visit:
    """One procedure of the list: when, how long, how many of which type it needs."""

    at: int
    minutes: int
    needs: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Round:
    """All that is given. Minutes count from midnight of the first day."""

    now: int
    begins: int
    ends: int
    people: int
    wait: int
    machines: tuple[Machine, ...]
    units: tuple[Unit, ...]
    visits: tuple[Visit, ...]

    def works(self, minute: int) -> bool:
        return self.begins <= minute % MINUTES_A_DAY < self.ends

    def opens(self, minute: int) -> int:
        """The first minute from *minute* on that lies in working hours."""
        if self.works(minute):
            return minute
        day, past = divmod(minute, MINUTES_A_DAY)
        return (day + (past >= self.ends)) * MINUTES_A_DAY + self.begins


@dataclass(frozen=True, slots=True)
class Short:
    """What a procedure lacks; *next_at* is when the next of it is ready, if ever."""

    visit: int
    kind: str
    lacks: int
    next_at: int | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """A load as it would be run; *number* counts the machine's loads from 1."""

    machine: str
    number: int
    at: int
    out: int
    units: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What comes of it; *taken* are the names of the units that each visit takes."""

    shorts: tuple[Short, ...]
    runs: tuple[Run, ...]
    taken: tuple[tuple[str, ...], ...]
