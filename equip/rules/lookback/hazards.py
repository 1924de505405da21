"""What a step of the route does against each hazard: a gate, a gate without proof, or nothing.

A decontamination counts against a hazard if the thing's type says that its step stops it, if
every required step ahead of that step was recorded since the thing was last soiled, and if it
passed and was released. Which of these hold is kept as bits, so that one row answers for every
hazard.
"""

from functools import cache
from typing import get_args

from equip.facts import Hazard, ItemType
from equip.rules.fitness.standing import Done, Standing
from equip.rules.lookback.sweep import Effect

HAZARDS: tuple[Hazard, ...] = get_args(Hazard)
BIT: dict[Hazard, int] = {hazard: 1 << place for place, hazard in enumerate(HAZARDS)}
USUAL: Hazard = "bacteria-viruses"


def could_stop(kind: ItemType, stands: Standing, done: Done) -> tuple[int, int]:
    """The hazards that *done* stops if it passed: by bits with every step ahead, and without.

    *stands* is the item with *done* among what was done since it was last soiled.
    """
    recorded = {
        step
        for one in stands.done
        if one.at <= done.at and not one.void and one is not done
        for step in one.steps
    } | set(done.steps)
    whole = short = 0
    skipped = False
    for step in kind.route:
        if step.stops and step.step in done.steps:
            if skipped:
                short |= _bits(step.stops)
            else:
                whole |= _bits(step.stops)
        skipped = skipped or (step.required and step.step not in recorded)
    return whole, short & ~whole


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
def _bits(hazards: tuple[Hazard, ...]) -> int:
    return sum({BIT[hazard] for hazard in hazards})
