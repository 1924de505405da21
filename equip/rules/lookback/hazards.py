"""What a step of the route does against each hazard: a gate, a gate without proof, or nothing.

A decontamination counts against a hazard if the item's type says that its step stops it and its
agent or programme does (`rules/fitness/stopping`), if every required step ahead of that step was
recorded since the item was last soiled and still holds (a load among them passed, was released and
is in no doubt), and if it passed and was released.
What it stops is kept as bits, so that one row answers for every hazard; the loads that it rests
on are kept by name, so that it falls when one of them falls.
"""

from collections.abc import Callable
from functools import cache
from typing import get_args

from equip.facts import Hazard, ItemType
from equip.rules.fitness.standing import Done, Standing
from equip.rules.fitness.stopping import USUAL, enough, stopped
from equip.rules.lookback.sweep import Effect

HAZARDS: tuple[Hazard, ...] = get_args(Hazard)
BIT: dict[Hazard, int] = {hazard: 1 << place for place, hazard in enumerate(HAZARDS)}


def could_stop(kind: ItemType, done: Done) -> int:
    """The hazards that *done* stops by the type's route and by its means, as bits, if nothing
    stands against it."""
    return _bits(stopped(kind, done))


def is_to_stop(kind: ItemType, done: Done) -> bool:
    """Whether *done* is a step that the type's route has for stopping something."""
    return any(step.stops for step in kind.route if step.step in done.steps)


NOTHING = "-"
"""Stands for a required step of which nothing is recorded that could still count."""


def rests_on(kind: ItemType, standing: Standing, done: Done) -> str:
    """The loads that *done* rests on: for each required step ahead of it, those that did it.

    Groups apart by `;`, loads of one group by a blank: one of each group has to hold. `!` ahead of
    a group says that its load has to stop the usual hazard too, for the step is there to. A step
    that was done by hand, or by *done* itself, needs no group; one that nobody recorded is
    `NOTHING`.
    A pack of untagged contents rests on the load that they came out of. *standing* is the item with
    *done* among what was done since it was last soiled.
    """
    turns = [turn for turn, step in enumerate(kind.route) if step.stops and step.step in done.steps]
    ahead = kind.route[: turns[-1]] if turns else ()
    before = [one for one in standing.done if one.at <= done.at and one is not done]
    groups = [standing.out_of] if standing.out_of else []
    groups += [NOTHING] if standing.unsaid else []
    for step in ahead:
        if not step.required or step.step in done.steps:
            continue
        tried = [one for one in before if step.step in one.steps]
        if any(not one.load and one.counts and enough(step, one) for one in tried):
            continue
        loads = " ".join(one.load for one in tried if one.load)
        must_stop = _STOPS if loads and USUAL in step.stops else ""
        groups.append(f"{must_stop}{loads or NOTHING}")
    return ";".join(dict.fromkeys(groups))


_STOPS = "!"


def holds(rests: str, counts: Callable[[str, bool], bool]) -> bool:
    """Whether one load of each group that something rests on counts, as *counts* says of a load
    and of whether it has to stop the usual hazard."""
    return all(
        any(
            load != NOTHING and counts(load, group.startswith(_STOPS))
            for load in group.removeprefix(_STOPS).split()
        )
        for group in rests.split(";")
        if group
    )


def loads_in(rests: str) -> list[str]:
    """Every load that something rests on."""
    groups = (group.removeprefix(_STOPS) for group in rests.split(";"))
    return [load for group in groups for load in group.split() if load != NOTHING]


def stops_usual(bits: int) -> bool:
    """Whether what is stopped, as bits, includes the usual hazard."""
    return bool(bits & BIT[USUAL])


def effect(whole: int, short: int, state: str, hazard: Hazard) -> Effect:
    """What a gate does against *hazard*; *state* is proven, open (no decision yet) or void."""
    bit = BIT[hazard]
    if state == "void" or not (whole | short) & bit:
        return "void"
    return "clears" if state == "proven" and whole & bit else "unproven"


def state_of(done: Done) -> str:
    """proven if it passed and, where that is needed, was released; void if it is known to be
    nothing; open while nobody has said."""
    if done.counts:
        return "proven"
    return "void" if done.refused or done.verdict == "fail" else "open"


@cache
def _bits(hazards: frozenset[Hazard]) -> int:
    return sum(BIT[hazard] for hazard in hazards)
