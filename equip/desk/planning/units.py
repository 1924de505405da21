"""What the house has for a list that is played ahead: units, machines, and what is left out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from equip.desk.clinic import Clinic
from equip.desk.planning.stages import NoWay, ReadyMachine, Ways, holds_of, minutes_of, whole_route
from equip.desk.planning.todo import Undone
from equip.desk.register.stock import Stock, Thing
from equip.facts import ItemType, Process, Step
from equip.rules.fitness.gates import gate_step
from equip.rules.fitness.shelf import last_day, scope_hours
from equip.rules.fitness.standing import Standing
from equip.rules.planning.round import Machine, Stage, Unit
from equip.scan import show_tag
from equip.store.readings import item_rows, load_rows

_BY_WORK = frozenset(
    {
        "never-processed",
        "soiled",
        "load-not-finished",
        "load-not-released",
        "load-failed",
        "load-undecided",
        "load-refused",
        "still-wet",
        "step-refused",
        "step-missing",
        "step-unproven",
        "inspection-due",
        "shelf-life-over",
    }
)
"""Reasons that the way back mends; with any other a thing is left out."""


@dataclass
class Having:
    """Units and machines, and in sentences what could not be counted on."""

    units: list[Unit] = field(default_factory=list)
    machines: list[Machine] = field(default_factory=list)
    running: list[ReadyMachine] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    types: dict[str, str] = field(default_factory=dict)


class Gathering:
    """One look at the house, for the types that a list needs."""

    def __init__(self, clinic: Clinic, stock: Stock, now: datetime, needed: Iterable[str]) -> None:
        self.clinic, self.now, self.house = clinic, now, clinic.house
        self.rules = self.house.rules(now)
        self.needed = list(dict.fromkeys(needed))
        self.things = {one.tag: one for shelf in stock.shelves for one in shelf.things}
        self.standings = {one.item: one for one in item_rows.standings(clinic.store)}
        self.having = Having()
        self.undone = Undone(clinic, now, self.things, self.standings)
        self._machines()
        self.ways = Ways(tuple(self.having.running), self.rules)

    def gather(self) -> Having:
        """Packs and, where a procedure needs one, sets go round whole; everything else alone."""
        inside = {tag for one in self.standings.values() if self._whole(one) for tag in one.members}
        units = [
            unit
            for tag, standing in sorted(self.standings.items())
            if tag not in inside and tag in self.things and (unit := self._unit(standing))
        ]
        self.having.units = sorted(units, key=self._first_needed)
        return self.having

    def spare(self, code: str) -> Unit:
        """One more of a type as it would come: ready, alone or, untagged, in a pack of its own."""
        kind = self.house.kind(code)
        wrapped = not kind.tagged
        uses = self._uses_left([(Standing(item=""), kind)], fit=True)
        try:
            route = self._stages(whole_route([kind], wrapped=wrapped), [kind], wrapped=wrapped)
        except NoWay:
            route, uses = (), 1
        keeps, days = self._keeps([kind], wrapped=wrapped)
        return Unit(kind.name, ((code, 1),), 1, route, keeps=keeps, keeps_days=days, uses_left=uses)

    # --- machines ---------------------------------------------------------------------------

    def _machines(self) -> None:
        for tag, thing in sorted(self.things.items()):
            process = self.house.kind(thing.type).process
            if process is None:
                continue
            if thing.held or thing.reasons or self.standings[tag].where != "here":
                why = thing.reasons[0].says if thing.reasons else "It is not here."
                self.having.left_out.append(f"{self._name(thing)}: {why}")
                continue
            self._count_on(thing, process)

    def _count_on(self, thing: Thing, process: Process) -> None:
        minutes = minutes_of(process, self.rules)
        load = load_rows.load_on(self.clinic.store, thing.tag)
        free = 0
        if load is not None and load.state == "running" and load.started is not None:
            self.undone.ends[load.load] = load.started + timedelta(minutes=minutes)
            free = self.undone.minute(self.undone.ends[load.load])
        machine = Machine(thing.tag, minutes, holds_of(process, self.rules), free)
        self.having.machines.append(machine)
        self.having.running.append(ReadyMachine(thing.tag, process))
        self.having.types[thing.tag] = thing.type

    # --- units ------------------------------------------------------------------------------

    def _whole(self, standing: Standing) -> bool:
        if standing.opened is not None or standing.spoilt:
            return False
        return standing.made is not None or standing.type in self.needed

    def _unit(self, standing: Standing) -> Unit | None:
        members = [self.standings[tag] for tag in standing.members if tag in self.standings]
        gives: dict[str, int] = {}
        if self._whole(standing) or not members:
            for code in (standing.type, *(one.type for one in members)):
                gives[code] = gives.get(code, 0) + 1
            for loose in standing.loose:
                gives[loose.type] = gives.get(loose.type, 0) + loose.count
        gives.pop("pack", None)
        if not any(code in gives for code in self.needed):
            return None
        thing = self.things[standing.item]
        others = [why.says for why in thing.reasons if why.code not in _BY_WORK]
        if standing.owner and self.house.kind(standing.type).reuse == "single-patient":
            others.append("It belongs to one patient only.")
        if others or standing.where != "here":
            why = others[0] if others else "It is not here."
            self.having.left_out.append(f"{self._name(thing)}: {why}")
            return None
        try:
            return self._counted(standing, members, gives)
        except NoWay as problem:
            self.having.left_out.append(f"{self._name(thing)}: {problem}.")
            return None

    def _counted(
        self, standing: Standing, members: Sequence[Standing], gives: dict[str, int]
    ) -> Unit:
        wrapped = standing.made is not None
        kinds = [
            kind
            for code, count in gives.items()
            for kind in [self.house.kind(code)] * count
            if kind.sort != "set"
        ]
        thing, minute = self.things[standing.item], self.undone.minute
        whole = members if standing.made is not None or members else [standing]
        uses = self._uses_left([(one, self.house.kind(one.type)) for one in whole], thing.fit)
        keeps, days = self._keeps(kinds, wrapped=wrapped)
        todo = () if thing.fit else self._todo(standing, members, kinds)
        try:
            route = self._stages(whole_route(kinds, wrapped=wrapped), kinds, wrapped=wrapped)
        except NoWay:
            route, uses = (), 1
        return Unit(
            name=standing.item,
            gives=tuple(gives.items()),
            size=max(1, len(kinds)),
            route=route,
            todo=todo,
            since=max(self.undone.since(one) for one in (standing, *members)),
            lapses=minute(thing.lapses) if thing.fit and thing.lapses is not None else None,
            keeps=keeps,
            keeps_days=days,
            uses_left=uses,
        )

    def _stages(
        self, steps: Sequence[tuple[Step, int]], kinds: Sequence[ItemType], *, wrapped: bool
    ) -> tuple[Stage, ...]:
        return self.ways.stages(steps, kinds, wrapped=wrapped)

    def _todo(
        self, standing: Standing, members: Sequence[Standing], kinds: Sequence[ItemType]
    ) -> tuple[Stage, ...]:
        """What is still to do before it is ready; in a load that is filled, in that machine."""
        steps = self.undone.steps(standing, members, kinds)
        found = self._stages(steps, kinds, wrapped=standing.made is not None)
        machine = self.undone.filled_in(standing)
        if not found or machine not in self.having.types:
            return found
        return (replace(found[0], machines=(machine,)), *found[1:])

    def _keeps(self, kinds: Sequence[ItemType], *, wrapped: bool) -> tuple[int | None, int | None]:
        """How long it stays fit once it was done anew: minutes, and days after its own day."""
        limits = self.house.shelf(self.now)
        minutes, days = [], []
        for kind in kinds:
            gate = gate_step(kind)
            if gate is not None and kind.optic and gate.step != "sterilise":
                hours = scope_hours(kind.optic, limits)
                minutes += [] if hours is None else [hours * 60 + 1]
            elif gate is not None:
                day = last_day(date.min, wrapped=wrapped, place="clinical", limits=limits)
                days += [] if day is None else [(day - date.min).days]
        return min(minutes, default=None), min(days, default=None)

    def _uses_left(self, things: Sequence[tuple[Standing, ItemType]], fit: bool) -> int | None:
        """How often its makers let it be used yet; what is for one use is used once."""
        left = []
        for standing, kind in things:
            if kind.reuse != "reusable":
                left.append(1)
            if kind.use_limit is not None:
                left.append(kind.use_limit - standing.uses)
            if kind.cycle_limit is not None:
                left.append(kind.cycle_limit - standing.cycles + fit)
        return min(left, default=None)

    def _first_needed(self, unit: Unit) -> tuple[int, str]:
        """What the list needs first goes first where several came at once."""
        return min(self.needed.index(code) for code, _ in unit.gives if code in self.needed), (
            unit.name
        )

    def _name(self, thing: Thing) -> str:
        kind = self.house.kind(thing.type).name
        return f"{kind}{f', {thing.name},' if thing.name else ''} {show_tag(thing.tag)}"
