"""“Enough for tomorrow?”: a typed list played ahead with what the house has, in words.

It writes nothing down. Nothing of a patient is asked for, and nothing is kept.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from equip.desk.act.act import Refused
from equip.desk.clinic import Clinic
from equip.desk.planning.stages import ReadyMachine, assumed
from equip.desk.planning.units import Gathering
from equip.desk.register.stock import stock
from equip.facts import Procedure
from equip.rules.planning.advice import more, start_by, well_timed
from equip.rules.planning.day_list import Listed, Unread, read_list
from equip.rules.planning.play import play
from equip.rules.planning.round import MINUTES_A_DAY, Outcome, Round, Run, Visit
from equip.store.readings import clinic_rows, item_rows
from equip.typed import Mistyped, minute_of_day, whole

_FURTHEST_DAYS = 14
_MOST_PEOPLE = 20


@dataclass(frozen=True, slots=True)
class Hours:
    """When work is done and by how many, as somebody chose it for this once."""

    begins: str
    ends: str
    people: str


@dataclass(frozen=True, slots=True)
class ProcedureLack:
    """What one procedure of the list lacks."""

    at: str
    procedure: str
    line: int
    lacks: int
    kind: str
    next_at: str


@dataclass(frozen=True, slots=True)
class Start:
    """One load as it would be run; *by* is the last moment for it, "" where none matters."""

    machine: str
    tag: str
    at: str
    by: str
    out: str
    units: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DayPlan:
    """The answer, or the lines that could not be read."""

    unread: tuple[Unread, ...] = ()
    lines: int = 0
    lacks: tuple[ProcedureLack, ...] = ()
    starts: tuple[Start, ...] = ()
    extra: tuple[tuple[str, int], ...] = ()
    left_out: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    have: tuple[tuple[str, int, int, int], ...] = ()
    wait: int = 0

    @property
    def enough(self) -> bool:
        return not self.lacks


def usual_hours(clinic: Clinic, now: datetime) -> Hours:
    """What the rules of the house say."""
    rules = clinic.house.rules(now)
    return Hours(
        rules.text("plan.work-begins"),
        rules.text("plan.work-ends"),
        str(rules.whole("plan.people")),
    )


def plan(clinic: Clinic, now: datetime, typed: str, day: date, hours: Hours) -> DayPlan:
    """Whether there is enough for *day*. Refused where what stands around the list is wrong."""
    today = clinic.house.today(now)
    days = (day - today).days
    if not 0 <= days <= _FURTHEST_DAYS:
        raise Refused(f"Choose a day from today up to {_FURTHEST_DAYS} days ahead.")
    begins, ends = _minute(hours.begins, "begins"), _minute(hours.ends, "ends")
    if begins >= ends:
        raise Refused("Work at the clean-up bench must end later on the day than it begins.")
    people = _people(hours.people)
    known = {one.code: one for one in clinic_rows.procedures(clinic.store) if one.offered}
    local = now.astimezone(clinic.house.zone)
    earliest = local.hour * 60 + local.minute if not days else 0
    listed, unread = read_list(typed, {p.name: p.code for p in known.values()}, earliest)
    if not listed and not unread:
        raise Refused("The list is empty: write a line for each procedure, such as “09:00 …”.")
    if unread:
        return DayPlan(unread=tuple(sorted(unread, key=lambda one: one.number)), lines=len(listed))
    return _Planning(clinic, now, listed, known, days).plan(begins, ends, people)


def _minute(typed: str, what: str) -> int:
    try:
        return minute_of_day(typed, last=MINUTES_A_DAY)
    except Mistyped:
        raise Refused(f"Work {what} at “{typed}”: write a time of day such as 08:00.") from None


def _people(typed: str) -> int:
    try:
        people = whole(typed)
    except Mistyped:
        raise Refused(f"“{typed}” is no number of people.") from None
    if people > _MOST_PEOPLE:
        raise Refused(f"{people} people were read; {_MOST_PEOPLE} is the most.")
    return people


class _Planning:
    def __init__(
        self,
        clinic: Clinic,
        now: datetime,
        listed: Sequence[Listed],
        known: dict[str, Procedure],
        days: int,
    ) -> None:
        self.clinic, self.now, self.listed, self.known = clinic, now, listed, known
        self.days = days
        self.needed = [need.type for one in listed for need in known[one.kind].needs]
        self.gathering = Gathering(clinic, stock(clinic, now), now, self.needed)

    def plan(self, begins: int, ends: int, people: int) -> DayPlan:
        having = self.gathering.gather()
        given = Round(
            now=self.gathering.undone.minute(self.now),
            begins=begins,
            ends=ends,
            people=people,
            wait=self.clinic.house.rules(self.now).whole("plan.wait-minutes"),
            machines=tuple(having.machines),
            units=tuple(having.units),
            visits=tuple(map(self._visit, self.listed)),
        )
        given = well_timed(given)
        found = play(given)
        spare = {code: self.gathering.spare(code) for code in dict.fromkeys(self.needed)}
        extra = more(given, spare) if found.shorts else {}
        return DayPlan(
            lines=len(self.listed),
            lacks=tuple(self._lacks(found)),
            starts=tuple(self._starts(given, found)),
            extra=tuple((self._kind(code), count) for code, count in extra.items()),
            left_out=tuple(having.left_out),
            assumed=tuple(
                assumed(self.clinic.house, self._used(having.running, found), having.types)
            ),
            wait=given.wait,
            have=tuple(self._have(given, code) for code in spare),
        )

    def _visit(self, visit: Listed) -> Visit:
        procedure = self.known[visit.kind]
        needs = tuple((need.type, need.count) for need in procedure.needs)
        return Visit(self.days * MINUTES_A_DAY + visit.at, procedure.minutes, needs)

    def _lacks(self, found: Outcome) -> list[ProcedureLack]:
        return [
            ProcedureLack(
                at=self._clock(self.days * MINUTES_A_DAY + self.listed[short.visit].at),
                procedure=self.known[self.listed[short.visit].kind].name,
                line=self.listed[short.visit].number,
                lacks=short.lacks,
                kind=self._kind(short.kind),
                next_at="" if short.next_at is None else self._clock(short.next_at),
            )
            for short in found.shorts
        ]

    def _starts(self, given: Round, found: Outcome) -> list[Start]:
        """The loads that the list has to do with: those that begin before its last procedure."""
        by = start_by(given, found)
        return [
            Start(
                machine=self._machine(run),
                tag=run.machine,
                at=self._clock(run.at),
                by="" if (last := by[run.machine, run.number]) is None else self._clock(last),
                out=self._clock(run.out),
                units=run.units,
            )
            for run in found.runs
            if (run.machine, run.number) in by
        ]

    def _used(self, running: Sequence[ReadyMachine], found: Outcome) -> list[ReadyMachine]:
        tags = {run.machine for run in found.runs}
        return [machine for machine in running if machine.tag in tags]

    def _have(self, given: Round, code: str) -> tuple[str, int, int, int]:
        """A type: needed in all, ready now, in process."""
        needed = sum(dict(visit.needs).get(code, 0) for visit in given.visits)
        ready = sum(
            unit.of(code) for unit in given.units if not unit.todo and self._now(unit.since)
        )
        every = sum(unit.of(code) for unit in given.units)
        return self._kind(code), needed, ready, every - ready

    def _now(self, since: int) -> bool:
        return since <= self.gathering.undone.minute(self.now)

    def _machine(self, run: Run) -> str:
        machine = item_rows.item_row(self.clinic.store, run.machine)
        kind = self._kind(self.gathering.having.types[run.machine])
        return f"{kind}, {machine.name}" if machine is not None and machine.name else kind

    def _kind(self, code: str) -> str:
        return self.clinic.house.kind(code).name

    def _clock(self, minute: int) -> str:
        day, past = divmod(minute, MINUTES_A_DAY)
        clock = f"{past // 60:02}:{past % 60:02}"
        if day == self.days:
            return clock
        if day == 0:
            return f"today {clock}"
        words = "the day after " if day == self.days + 1 else f"{day - self.days} days later "
        return f"{words}{clock}" if day > self.days else f"in {day} days, {clock}"
