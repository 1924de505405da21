"""What comes next on the way back to fit for use: one answer, whoever asks.

It is read off how an item stands after a step, never off the step alone: what was done and does not
count is still to do, and nothing is ready to be put away that lacks a step.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from equip.facts import ItemType, RouteStep, Step
from equip.rules.fitness.gates import gate_step, missing_after, proof
from equip.rules.fitness.standing import Done, Standing
from equip.rules.fitness.stopping import enough
from equip.rules.fitness.why_not import overtaken


@dataclass(frozen=True, slots=True)
class NextStep:
    """*steps* are still to do, in the order of the route; *optional* may be done before the last.

    *waits* is the load whose log or release comes first, "" for none. *proven* is whether the
    effective decontamination stands.
    """

    steps: tuple[Step, ...] = ()
    optional: tuple[Step, ...] = ()
    waits: str = ""
    proven: bool = False

    @property
    def ready(self) -> bool:
        """Nothing is left to do but to put it away."""
        return self.proven and not self.steps and not self.waits


def next_step(standing: Standing, kind: ItemType, at: datetime) -> NextStep | None:
    """What comes next for an item that stands so at *at*; None for a type without a gate.

    What has to stay wet yet is asked about once its time is over.
    """
    gate = gate_step(kind)
    if gate is None:
        return None
    done = proof(standing, kind, at)
    if done is not None and overtaken(standing, kind, done):
        done = None
    turn = kind.route.index(gate)
    ahead, behind = kind.route[:turn], kind.route[turn + 1 :]
    left, waits = _open(standing, ahead, at if done is None else done.at)
    tried = [one for one in standing.done if gate.step in one.steps]
    awaited = standing.load if standing.load_state in ("filling", "running") else ""
    if tried and _awaited(tried[-1]):
        awaited = awaited or tried[-1].load
    waits = waits or awaited
    if done is None and awaited:
        pass  # what comes behind it is told once it counts
    elif done is None or left:
        left += [gate.step, *_required(behind)]
    else:
        left = missing_after(standing, kind, done)
    if standing.inspect and "inspect" not in left:
        turns = {one.step: turn for turn, one in enumerate(kind.route)}
        left = sorted(["inspect", *left], key=lambda step: turns.get(step, -1))
    # What is washed or wiped after the gate undoes it: then only what stands behind it is offered.
    since = turn + 1 if done is not None and gate.step not in left else 0
    return NextStep(tuple(left), _optional(standing, kind, left, since), waits, done is not None)


def _required(steps: Iterable[RouteStep]) -> list[Step]:
    return [one.step for one in steps if one.required and one.step != "store"]


def _open(
    standing: Standing, steps: Iterable[RouteStep], before: datetime
) -> tuple[list[Step], str]:
    """The required of *steps* that nobody did by *before* in a way that counts, and a load that
    waits for its log or release."""
    left: list[Step] = []
    waits = ""
    for step in steps:
        if not step.required:
            continue
        tried = [one for one in standing.done if one.at <= before and step.step in one.steps]
        if any(one.counts and enough(step, one) for one in tried):
            continue
        if tried and _awaited(tried[-1]):
            waits = waits or tried[-1].load
        else:
            left.append(step.step)
    return left, waits


def _awaited(done: Done) -> bool:
    """Whether it was a load that may count yet."""
    return bool(done.load) and not done.void and not done.counts


def _optional(standing: Standing, kind: ItemType, left: list[Step], since: int) -> tuple[Step, ...]:
    """What may be left out, from *since* and the last step done on, ahead of the last left."""
    route = [one.step for one in kind.route]
    recorded = {step for done in standing.done for step in done.steps}
    until = max((route.index(step) for step in left if step in route), default=0)
    since = max(since, *(turn for turn, step in enumerate(route) if step in recorded), 0)
    return tuple(
        one.step
        for one in kind.route[since:until]
        if not one.required and one.step not in recorded and one.step != "store"
    )
