"""What is still to do on a thing before it is ready again, and from when somebody can go on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from equip.desk.clinic import Clinic
from equip.desk.planning.stages import whole_route
from equip.desk.register.stock import Thing
from equip.facts import ItemType, Step
from equip.rules.fitness.gates import gate_step, missing_after, missing_steps, proof, steps_behind
from equip.rules.fitness.standing import Standing
from equip.rules.planning.round import MINUTES_A_DAY
from equip.store.readings import load_rows

_DONE_ANEW = frozenset({"step-missing", "step-unproven", "inspection-due"})
"""Reasons for which a sealed pack is opened and done anew."""


@dataclass
class Undone:
    """The house at *now*: its things as Stock shows them, how each stands, when loads end."""

    clinic: Clinic
    now: datetime
    things: Mapping[str, Thing]
    standings: Mapping[str, Standing]
    ends: dict[str, datetime] = field(default_factory=dict)

    def minute(self, moment: datetime) -> int:
        """Minutes of the clinic's clock since midnight of this day; a begun minute counts."""
        local = moment.astimezone(self.clinic.house.zone)
        days = (local.date() - self.clinic.house.today(self.now)).days
        begun = local.second > 0 or local.microsecond > 0
        return days * MINUTES_A_DAY + local.hour * 60 + local.minute + begun

    def steps(
        self, standing: Standing, members: Sequence[Standing], kinds: Sequence[ItemType]
    ) -> list[tuple[Step, int]]:
        """The steps it still needs, each for so many things; a pack is done anew as a whole."""
        wrapped = standing.made is not None
        codes = {why.code for why in self.things[standing.item].reasons}
        every = whole_route(kinds, wrapped=wrapped)
        if "shelf-life-over" in codes or (wrapped and codes & _DONE_ANEW):
            return every
        if wrapped:
            comes = self._comes(standing)
            return [one for one in every if one[0] == "sterilise" and "sterilise" not in comes]
        count: dict[Step, int] = {}
        for one in members or (standing,):
            for step in self._open_steps(one):
                count[step] = count.get(step, 0) + 1
        steps = [(step, count[step]) for step, _ in every if step in count]
        if "inspect" in count and "inspect" not in dict(steps):
            steps.append(("inspect", count["inspect"]))
        return steps

    def filled_in(self, standing: Standing) -> str:
        """The machine whose load it lies in while that is filled, "" for none."""
        if standing.load_state != "filling":
            return ""
        load = load_rows.load_of(self.clinic.store, standing.load)
        return load.machine if load else ""

    def since(self, standing: Standing) -> int:
        """When it can go on: once its load is out, released, or its contact time over."""
        last = standing.done[-1] if standing.done else None
        if standing.load and standing.load_state == "running":
            return self.minute(self.ends.get(standing.load, self.now))
        if last is not None and last.load and not last.void and not last.counts:
            minutes = self.clinic.house.rules(self.now).whole("plan.release-minutes")
            return self.minute(self.now + timedelta(minutes=minutes))
        if last is not None and last.wet_at(self.now):
            return self.minute(last.wet_until)
        return self.minute(self.now)

    def _open_steps(self, standing: Standing) -> list[Step]:
        """The required steps that nobody did yet, those of a load that runs taken as done."""
        kind = self.clinic.house.kind(standing.type)
        thing = self.things.get(standing.item)
        codes = {why.code for why in thing.reasons} if thing else set()
        if "shelf-life-over" in codes:
            return [step for step, _ in whole_route([kind], wrapped=False)]
        steps: list[Step] = ["inspect"] if standing.inspect else []
        gate = gate_step(kind)
        if gate is None or not codes:
            return steps
        comes = self._comes(standing)
        steps += [one for one in missing_steps(standing, kind, self.now) if one not in comes]
        done = proof(standing, kind, self.now)
        if done is not None:
            return [*steps, *missing_after(standing, kind, done)]
        return [*steps, *([] if gate.step in comes else [gate.step]), *steps_behind(kind)]

    def _comes(self, standing: Standing) -> frozenset[Step]:
        """The steps of a load that runs or waits for its release: taken to pass."""
        last = standing.done[-1] if standing.done else None
        waits = last is not None and not last.void and not last.counts
        if last is not None and (waits or last.wet_at(self.now)):
            return frozenset(last.steps)
        if not standing.load or standing.load_state != "running":
            return frozenset()
        load = load_rows.load_of(self.clinic.store, standing.load)
        machine = self.standings.get(load.machine) if load else None
        process = self.clinic.house.kind(machine.type).process if machine else None
        return frozenset(process.steps) if process else frozenset()
