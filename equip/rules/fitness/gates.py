"""Which effective decontamination stands behind a thing, what it lacks, and when it lapses."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, tzinfo
from operator import attrgetter

from equip.facts import ItemType, RouteStep, Step
from equip.rules.fitness.shelf import ShelfLimits, lapses_at
from equip.rules.fitness.standing import Declared, Done, Standing
from equip.rules.fitness.stopping import enough
from equip.rules.wording import day_over, when

_WET: frozenset[Step] = frozenset({"wipe", "clean", "rinse", "disinfect"})


@dataclass(frozen=True, slots=True)
class Asking:
    """What a question about fitness is asked against: the moment, the zone, the limits, whom.

    *telling* is true where the use has happened and is only written down.
    """

    at: datetime
    zone: tzinfo
    shelf: ShelfLimits
    patient: str = ""
    use: str = ""
    place_sort: str = "clinical"
    telling: bool = False

    def when(self, moment: datetime) -> str:
        return when(moment, self.at, self.zone)


Member = tuple[Standing, ItemType]


def gate_step(kind: ItemType) -> RouteStep | None:
    """The last step of the route that is an effective decontamination; None if it has none."""
    return next((step for step in reversed(kind.route) if step.stops), None)


def proof(standing: Standing, kind: ItemType, at: datetime) -> Done | None:
    """The effective decontamination that makes it fit again at *at*, the last one.

    It passed, was released where release is needed, its contact time is over, and it stops what the
    step has to stop. The same by hand again without that, or in doubt, undoes what came before:
    nobody knows what it was done for.
    """
    gate = gate_step(kind)
    if gate is None:
        return None
    # The case of a machine is wiped between its patients: that reaches no water path.
    wet = _WET if kind.holds == "use" else frozenset[Step]()
    from_it_on = {one.step for one in kind.route[kind.route.index(gate) :]}
    for done in reversed(standing.done):
        if gate.step in done.steps:
            if done.counts and not done.wet_at(at) and enough(gate, done):
                return done
            if not done.load:
                return None
        if not (wet - from_it_on).isdisjoint(done.steps):
            return None  # washed or wiped anew since: whatever made it fit before is gone
    return None


def proof_inside(standing: Standing, members: Sequence[Member]) -> Done | None:
    """Where things were sterilised first and packed after it: the earliest of their proofs.

    None unless every thing inside was fit when the pack was made, and nothing in it is loose.
    """
    if standing.made is None or standing.loose:
        return None
    proofs = [proof(one, kind, standing.made) for one, kind in members if kind.sort != "set"]
    sure = [done for done in proofs if done is not None and done.at <= standing.made]
    return min(sure, key=attrgetter("at")) if sure and len(sure) == len(proofs) else None


def missing_steps(standing: Standing, kind: ItemType, before: datetime) -> list[Step]:
    """Required steps ahead of the last gate that nobody recorded by *before*.

    What a load did that failed, cannot be judged or was rejected, was not done.
    """
    recorded = {
        step for done in standing.done if done.at <= before and not done.void for step in done.steps
    }
    return [step for step in steps_ahead(kind) if step not in recorded]


def steps_ahead(kind: ItemType) -> list[Step]:
    """Required steps of the route ahead of its last effective decontamination."""
    return [step.step for step in _ahead(kind)]


def _ahead(kind: ItemType) -> list[RouteStep]:
    gate = gate_step(kind)
    if gate is None:
        return []
    return [step for step in kind.route[: kind.route.index(gate)] if step.required]


def unproven_steps(standing: Standing, kind: ItemType, before: datetime) -> list[Done]:
    """What was done by *before* for required steps ahead of the last gate and does not count.

    Its load waits for its log or its release, failed, or was rejected; or whoever did it by hand
    may not let it go. A step that was done again in a way that counts is not among them.
    """
    found: list[Done] = []
    for step in _ahead(kind):
        tried = [done for done in standing.done if done.at <= before and step.step in done.steps]
        if tried and not any(one.counts and enough(step, one) for one in tried):
            found.append(tried[-1])
    return list(dict.fromkeys(found))


def skipped_steps(standing: Standing, kind: ItemType, before: datetime) -> list[Step]:
    """Those of `missing_steps` that nobody even tried; what was tried and does not count, waits."""
    tried = {step for one in unproven_steps(standing, kind, before) for step in one.steps}
    return [step for step in missing_steps(standing, kind, before) if step not in tried]


def missing_after(standing: Standing, kind: ItemType, done: Done) -> list[Step]:
    """Required steps after the last gate, such as rinsing the agent off, not recorded since."""
    gate = gate_step(kind)
    if gate is None or standing.made is not None:
        return []
    since = {step for one in standing.done if one.at >= done.at for step in one.steps}
    return [step for step in steps_behind(kind) if step not in since]


def steps_behind(kind: ItemType) -> list[Step]:
    """Required steps after the last gate but putting it away."""
    gate = gate_step(kind)
    if gate is None:
        return []
    behind = kind.route[kind.route.index(gate) + 1 :]
    return [step.step for step in behind if step.required and step.step != "store"]


def declared_lapse(declared: Declared, kind: ItemType, asking: Asking) -> datetime | None:
    """When the fitness that was declared on going live runs out, None if nothing limits it.

    It ages from the day that was declared, from its first hour; where no day was, or the same day,
    from the declaration.
    """
    gate = gate_step(kind)
    since, day = declared.at, declared.day
    if day is not None and day < since.astimezone(asking.zone).date():
        since = datetime.combine(day, time(0), asking.zone)
    return lapses_at(
        since,
        wrapped=declared.sealed,
        sterilised=gate is not None and gate.step == "sterilise",
        optic=kind.optic,
        place=asking.place_sort,
        limits=asking.shelf,
        zone=asking.zone,
    )


def lapse(standing: Standing, kind: ItemType, done: Done, asking: Asking) -> datetime | None:
    """When the fitness that *done* gave runs out, None if the rule book sets no limit."""
    if kind.holds == "day":
        return day_over(done.wet_until, asking.zone)
    return lapses_at(
        done.at,
        wrapped=done.wrapped or standing.made is not None,
        packed_after=standing.made is not None and done not in standing.done,
        sterilised="sterilise" in done.steps,
        optic=kind.optic,
        place=asking.place_sort,
        limits=asking.shelf,
        zone=asking.zone,
    )
