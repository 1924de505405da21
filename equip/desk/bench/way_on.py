"""The next step, in words: after a step by hand, and after the release of a load."""

from collections.abc import Iterable
from functools import reduce

from equip.desk.act.act import Act
from equip.facts import about
from equip.rules.fitness.next_step import NextStep, next_step
from equip.rules.fitness.standing import Standing, after
from equip.rules.fitness.why_not import item_at_fault
from equip.rules.wording import several
from equip.scan import show_tag

PUT_AWAY = "Put it away."


def way_on(act: Act, standing: Standing) -> str:
    """What comes next for an item, once what this act has told of it has happened."""
    stands = _told(act, standing)
    comes = _next(act, stands)
    if comes is None:
        return ""
    if not comes.ready:
        return _says(comes)
    against = item_at_fault(act.why_not_use(stands))
    wet = against and against[0].code == "still-wet"
    return PUT_AWAY if not against or wet else f"Not to be put away: {against[0].says}"


def after_release(act: Act, items: Iterable[str]) -> str:
    """What comes next for what was let go: put away only what lacks no step."""
    left: list[str] = []
    waits = ""
    for item in items:
        comes = _next(act, _told(act, act.standing(item)))
        if comes is None or comes.ready:
            continue
        left += [step for step in comes.steps if step not in left]
        waits = waits or comes.waits
    if not left and not waits:
        return "Put it away: say “store”."
    return _says(NextStep(steps=tuple(left), waits=waits))  # type: ignore[arg-type]


def _told(act: Act, standing: Standing) -> Standing:
    told = (fact for fact in act.told if standing.item in about(fact))
    return reduce(after, told, standing)


def _next(act: Act, standing: Standing) -> NextStep | None:
    at = act.at
    if standing.done and standing.done[-1].wet_until > at:
        at = standing.done[-1].wet_until  # its contact time is told by itself
    return next_step(standing, act.kind(standing), at)


def _says(comes: NextStep) -> str:
    says = []
    if comes.waits:
        says.append(f"Load {show_tag(comes.waits)} is not released yet.")
    if len(comes.steps) == 1:
        says.append(f"{'Then' if comes.proven else 'Now'} {comes.steps[0]}.")
    elif comes.steps:
        says.append(f"Still to do: {several(list(comes.steps))}.")
    if comes.optional:
        says.append(f"May be done before: {several(list(comes.optional))}.")
    return " ".join(says)
