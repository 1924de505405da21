"""What a decontamination stops: what the route asks of the step, and what its means can do.

A step is not effective by its name. Chemistry stops what its agent stops, if a lot says which agent
it was and it stayed wet for its contact time; heat stops what its programme stops. The rule book
says what each stops, germ by germ; whoever acts writes down what that came to as hazards.
"""

from collections.abc import Collection, Iterable
from typing import Literal, get_args

from equip.facts import Hazard, ItemType, RouteStep, Step
from equip.rules.fitness.standing import Done
from equip.rules.wording import several
from equip.scan import show_tag

Germ = Literal[
    "vegetative-bacteria",
    "enveloped-viruses",
    "other-viruses",
    "mycobacteria",
    "spores",
    "prions",
]
GERMS: tuple[Germ, ...] = get_args(Germ)

USUAL: Hazard = "bacteria-viruses"
NEEDS: dict[Hazard, tuple[Germ, ...]] = {
    "bacteria-viruses": (
        "vegetative-bacteria",
        "enveloped-viruses",
        "other-viruses",
        "mycobacteria",
    ),
    "spores": ("spores",),
    "prions": ("prions",),
}
"""What has to be stopped before a hazard is: all of it, but for what the rule book spares."""

CAN_STOP: tuple[Step, ...] = ("disinfect", "sterilise")
"""The steps for which the rule book knows any means."""


def hazards_of(germs: Collection[Germ], spared: Collection[Germ] = ()) -> tuple[Hazard, ...]:
    """The hazards that are stopped where all of *germs* are; those *spared* need not be."""
    return tuple(
        hazard
        for hazard, needs in NEEDS.items()
        if all(germ in germs for germ in needs if germ not in spared or len(needs) == 1)
    )


def stopped(kind: ItemType, done: Done) -> frozenset[Hazard]:
    """The hazards that *done* stops by the type's route and by its means.

    Of a load that nobody judged yet, or that was judged before anybody wrote down what it stops,
    the route says it, but that a disinfection stops no more than the usual hazard. A step by hand
    of which nobody wrote that down stops nothing.
    """
    asked = frozenset(
        hazard for step in kind.route if step.step in done.steps for hazard in step.stops
    )
    return asked & _by_means(done, asked)


def enough(step: RouteStep, done: Done) -> bool:
    """Whether *done* stops what *step* has to stop before an item may be used after it.

    That is the usual hazard where the step is there to stop it, else all that it is there for. A
    step that is to stop nothing needs nothing.
    """
    return _needed(step) <= _by_means(done, frozenset(step.stops))


def falls_short(kind: ItemType, done: Done) -> bool:
    """Whether *done* is a step that has to stop something on the type's route, and does not."""
    return any(step.step in done.steps and not enough(step, done) for step in kind.route)


def _needed(step: RouteStep) -> frozenset[Hazard]:
    return frozenset({USUAL}) if USUAL in step.stops else frozenset(step.stops)


def _by_means(done: Done, otherwise: frozenset[Hazard]) -> frozenset[Hazard]:
    if done.stops is not None:
        return frozenset(done.stops)
    if not done.load:
        return frozenset()
    return otherwise if "sterilise" in done.steps else otherwise & {USUAL}


# --- in words --------------------------------------------------------------------------------


def in_words(hazards: Iterable[Hazard]) -> str:
    """Hazards as they are said: bacteria and viruses, spores."""
    return several([hazard.replace("-", " and ") for hazard in hazards])


def why_too_little(step: RouteStep, done: Done) -> str:
    """Why *done* is not enough for *step*, and what would be, in one sentence."""
    needs = in_words(sorted(_needed(step)))
    if done.load:
        return (
            f"Load {show_tag(done.load)} ran a programme that does not stop {needs}: "
            "run it by one that does."
        )
    if not done.lots:
        return (
            f"Its step “{step.step}” was told without a lot, so nothing shows that it stopped "
            f"{needs}: scan the packet, then do it again."
        )
    lot = show_tag(done.lots[0])
    if not done.agent:
        return (
            f"Nobody told which agent is in lot {lot}, so nothing shows that the step "
            f"“{step.step}” stopped {needs}: say so under Lots, or take another packet."
        )
    return (
        f"The step “{step.step}” was done with {done.agent} (lot {lot}), which does not stop "
        f"{needs}: take one that does, and do it again."
    )


# --- a type ----------------------------------------------------------------------------------


def meets_patients(kind: ItemType) -> bool:
    """Whether it goes from patient to patient, so that something on its way has to be effective.

    What is for one use or one patient does not; of a set, its items answer for themselves.
    """
    return kind.contact != "neither" and kind.reuse == "reusable" and kind.sort != "set"


def can_be_effective(step: RouteStep) -> bool:
    """Whether there are any means by which *step* stops what it is there to stop."""
    return step.step in CAN_STOP and "prions" not in _needed(step) and bool(step.stops)


def why_no_type(kind: ItemType) -> list[str]:
    """Every reason why a type must not be saved: nothing effective, or a step that cannot be."""
    never = [
        f"“{step.step}” cannot be an effective step: nothing that is done in it stops "
        f"{in_words(step.stops)}."
        for step in kind.route
        if step.stops and not can_be_effective(step)
    ]
    if never or not meets_patients(kind) or any(step.stops for step in kind.route):
        return never
    way = "it touches patients" if kind.contact == "touches" else "it sends water or air into them"
    return [
        f"{kind.name} has nothing effective on its route, and {way}: make “disinfect” or "
        "“sterilise” its effective step, or say that it is for one use only."
    ]
