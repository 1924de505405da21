"""What the house has for a list that is played ahead: units, machines, and what is left out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from equip.desk.clinic import Clinic
from equip.desk.round_stages import NoWay, Running, Ways, holds_of, minutes_of, whole_route
from equip.desk.stock import Stock, Thing
from equip.facts import ItemType, Process, Step
from equip.rules.proofs import gate_step, missing_after, missing_steps, proof, steps_behind
from equip.rules.shelf import last_day, scope_hours
from equip.rules.standing import Standing
from equip.rules.tomorrow import MINUTES_A_DAY, Machine, Stage, Unit
from equip.scan import show_tag
from equip.store import readings

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
    running: list[Running] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    types: dict[str, str] = field(default_factory=dict)


class Gathering:
    """One look at the house, for the types that a list needs."""

    def __init__(self, clinic: Clinic, stock: Stock, now: datetime, needed: Iterable[str]) -> None:
        self.clinic, self.now, self.house = clinic, now, clinic.house
        self.rules = self.house.rules(now)
        self.needed = list(dict.fromkeys(needed))
        self.things = {one.tag: one for shelf in stock.shelves for one in shelf.things}
        self.stands = {one.item: one for one in readings.standings(clinic.store)}
        self.having = Having()
        self.ends: dict[str, datetime] = {}
        self._machines()
        self.ways = Ways(tuple(self.having.running), self.rules)

    def gather(self) -> Having:
        """Packs and, where a procedure needs one, sets go round whole; everything else alone."""
        inside = {tag for one in self.stands.values() if self._whole(one) for tag in one.members}
        units = [
            unit
            for tag, stands in sorted(self.stands.items())
            if tag not in inside and tag in self.things and (unit := self._unit(stands))
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

    def minute(self, moment: datetime) -> int:
        """Minutes of the clinic's clock since midnight of this day; a begun minute counts."""
        local = moment.astimezone(self.house.zone)
        days = (local.date() - self.house.today(self.now)).days
        begun = local.second > 0 or local.microsecond > 0
        return days * MINUTES_A_DAY + local.hour * 60 + local.minute + begun

    # --- machines ---------------------------------------------------------------------------

    def _machines(self) -> None:
        for tag, thing in sorted(self.things.items()):
            process = self.house.kind(thing.type).process
            if process is None:
                continue
            if thing.held or thing.reasons or self.stands[tag].where != "here":
                why = thing.reasons[0].says if thing.reasons else "It is not here."
                self.having.left_out.append(f"{self._name(thing)}: {why}")
                continue
            self._count_on(thing, process)

    def _count_on(self, thing: Thing, process: Process) -> None:
        minutes = minutes_of(process, self.rules)
        load = readings.load_on(self.clinic.store, thing.tag)
        free = 0
        if load is not None and load.state == "running" and load.started is not None:
            self.ends[load.load] = load.started + timedelta(minutes=minutes)
            free = self.minute(self.ends[load.load])
        machine = Machine(thing.tag, minutes, holds_of(process, self.rules), free)
        self.having.machines.append(machine)
        self.having.running.append(Running(thing.tag, process))
        self.having.types[thing.tag] = thing.type

    # --- units ------------------------------------------------------------------------------

    def _whole(self, stands: Standing) -> bool:
        if stands.opened is not None or stands.spoilt:
            return False
        return stands.made is not None or stands.type in self.needed

    def _unit(self, stands: Standing) -> Unit | None:
        members = [self.stands[tag] for tag in stands.members if tag in self.stands]
        gives: dict[str, int] = {}
        if self._whole(stands) or not members:
            for code in (stands.type, *(one.type for one in members)):
                gives[code] = gives.get(code, 0) + 1
            for loose in stands.loose:
                gives[loose.type] = gives.get(loose.type, 0) + loose.count
        gives.pop("pack", None)
        if not any(code in gives for code in self.needed):
            return None
        thing = self.things[stands.item]
        others = [why.says for why in thing.reasons if why.code not in _BY_WORK]
        if stands.owner and self.house.kind(stands.type).reuse == "single-patient":
            others.append("It belongs to one patient only.")
        if others or stands.where != "here":
            why = others[0] if others else "It is not here."
            self.having.left_out.append(f"{self._name(thing)}: {why}")
            return None
        try:
            return self._counted(stands, members, gives)
        except NoWay as problem:
            self.having.left_out.append(f"{self._name(thing)}: {problem}.")
            return None

    def _counted(
        self, stands: Standing, members: Sequence[Standing], gives: dict[str, int]
    ) -> Unit:
        wrapped = stands.made is not None
        kinds = [
            kind
            for code, count in gives.items()
            for kind in [self.house.kind(code)] * count
            if kind.sort != "set"
        ]
        thing = self.things[stands.item]
        whole = members if stands.made is not None or members else [stands]
        uses = self._uses_left([(one, self.house.kind(one.type)) for one in whole], thing.fit)
        keeps, days = self._keeps(kinds, wrapped=wrapped)
        todo = () if thing.fit else self._todo(stands, members, kinds)
        try:
            route = self._stages(whole_route(kinds, wrapped=wrapped), kinds, wrapped=wrapped)
        except NoWay:
            route, uses = (), 1
        return Unit(
            name=stands.item,
            gives=tuple(gives.items()),
            size=max(1, len(kinds)),
            route=route,
            todo=todo,
            since=max(self._since(one) for one in (stands, *members)),
            lapses=self.minute(thing.lapses) if thing.fit and thing.lapses is not None else None,
            keeps=keeps,
            keeps_days=days,
            uses_left=uses,
        )

    def _stages(
        self, steps: Sequence[tuple[Step, int]], kinds: Sequence[ItemType], *, wrapped: bool
    ) -> tuple[Stage, ...]:
        return self.ways.stages(steps, kinds, wrapped=wrapped)

    def _todo(
        self, stands: Standing, members: Sequence[Standing], kinds: Sequence[ItemType]
    ) -> tuple[Stage, ...]:
        """What is still to do before it is ready; in a load that is filled, in that machine."""
        wrapped = stands.made is not None
        codes = {why.code for why in self.things[stands.item].reasons}
        every = whole_route(kinds, wrapped=wrapped)
        if codes & {"shelf-life-over"} or (wrapped and codes & {"step-missing", "inspection-due"}):
            steps = every
        elif wrapped:
            done = self._comes(stands)
            steps = [one for one in every if one[0] == "sterilise" and "sterilise" not in done]
        else:
            count: dict[Step, int] = {}
            for one in members or (stands,):
                for step in self._open_steps(one):
                    count[step] = count.get(step, 0) + 1
            steps = [(step, count[step]) for step, _ in every if step in count]
            if "inspect" in count and "inspect" not in dict(steps):
                steps.append(("inspect", count["inspect"]))
        found = self._stages(steps, kinds, wrapped=wrapped)
        return self._in_its_load(stands, found)

    def _in_its_load(self, stands: Standing, found: tuple[Stage, ...]) -> tuple[Stage, ...]:
        if stands.load_state != "filling" or not found:
            return found
        load = readings.load_of(self.clinic.store, stands.load)
        if load is None or load.machine not in self.having.types:
            return found
        return (replace(found[0], machines=(load.machine,)), *found[1:])

    def _open_steps(self, stands: Standing) -> list[Step]:
        """The required steps that nobody did yet, those of a load that runs taken as done."""
        kind = self.house.kind(stands.type)
        thing = self.things.get(stands.item)
        codes = {why.code for why in thing.reasons} if thing else set()
        if "shelf-life-over" in codes:
            return [step for step, _ in whole_route([kind], wrapped=False)]
        steps: list[Step] = ["inspect"] if stands.inspect else []
        gate = gate_step(kind)
        if gate is None or not codes:
            return steps
        comes = self._comes(stands)
        steps += [one for one in missing_steps(stands, kind, self.now) if one not in comes]  # type: ignore[misc]
        done = proof(stands, kind, self.now)
        if done is not None:
            return [*steps, *missing_after(stands, kind, done)]  # type: ignore[list-item]
        return [*steps, *([] if gate.step in comes else [gate.step]), *steps_behind(kind)]  # type: ignore[list-item]

    def _comes(self, stands: Standing) -> frozenset[str]:
        """The steps of a load that runs or waits for its release: taken to pass."""
        last = stands.done[-1] if stands.done else None
        if last is not None and not last.void and not last.counts:
            return frozenset(last.steps)
        if last is not None and last.wet_at(self.now):
            return frozenset(last.steps)
        if stands.load and stands.load_state == "running":
            load = readings.load_of(self.clinic.store, stands.load)
            machine = self.stands.get(load.machine) if load else None
            process = self.house.kind(machine.type).process if machine else None
            return frozenset(process.steps) if process else frozenset()
        return frozenset()

    def _since(self, stands: Standing) -> int:
        """When it can go on: once its load is out, released, or its contact time over."""
        last = stands.done[-1] if stands.done else None
        if stands.load and stands.load_state == "running":
            return self.minute(self.ends.get(stands.load, self.now))
        if last is not None and last.load and not last.void and not last.counts:
            minutes = self.rules.whole("plan.release-minutes")
            return self.minute(self.now + timedelta(minutes=minutes))
        if last is not None and last.wet_at(self.now):
            return self.minute(last.wet_until)
        return self.minute(self.now)

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
        for stands, kind in things:
            if kind.reuse != "reusable":
                left.append(1)
            if kind.use_limit is not None:
                left.append(kind.use_limit - stands.uses)
            if kind.cycle_limit is not None:
                left.append(kind.cycle_limit - stands.cycles + fit)
        return min(left, default=None)

    def _first_needed(self, unit: Unit) -> tuple[int, str]:
        """What the list needs first goes first where several came at once."""
        return min(self.needed.index(code) for code, _ in unit.gives if code in self.needed), (
            unit.name
        )

    def _name(self, thing: Thing) -> str:
        kind = self.house.kind(thing.type).name
        return f"{kind}{f', {thing.name},' if thing.name else ''} {show_tag(thing.tag)}"
