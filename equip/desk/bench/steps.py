"""The steps by hand on the way back to fit for use: wipe, clean, rinse, dry, disinfect, inspect."""

from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, no, note
from equip.desk.bench import packing, timed_steps
from equip.desk.bench.hands_off import not_to_be_touched
from equip.desk.bench.way_on import way_on
from equip.desk.people import competence
from equip.facts import Step, Told
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.clocks import why_too_late
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import waits_ahead
from equip.rules.people.competence import STEP_TASKS
from equip.rules.wording import several

_FIRST_TOUCH = ("wipe", "clean", "rinse")


def step_card(
    act: Act, context: Context, word: str, step: Step, passed: bool
) -> tuple[Context, Answer]:
    """The card says which step; every scan after it is an item that went through it.

    While untagged instruments lie ready for a pack it says what was done to them by hand.
    """
    if context.mode == "pack" and context.loose and passed:
        return packing.by_hand(act, context, step)
    context = transitions.stepping(context, step, passed)
    who = competence.doer(act, context, STEP_TASKS[step])
    if who.stops:
        return competence.question(act, context, STEP_TASKS[step], who)
    return context, note(word.capitalize(), "Scan what went through this step.")


def step(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    done = context.step
    assert done  # noqa: S101 — only called in this mode
    if (refused := not_to_be_touched(act, standing)) is not None:
        return transitions.noticed(context, standing.item), refused
    who = competence.doer(act, context, STEP_TASKS[done])
    if who.stops:
        return competence.question(act, context, STEP_TASKS[done], who)
    lot = timed_steps.lot_in_hand(act, context)
    context = transitions.noticed(context, standing.item)
    if (refused := timed_steps.refused(act, context, standing, lot)) is not None:
        return context, refused
    told = timed_steps.stepped(act, context, standing, lot, who)
    context = transitions.touched(context, standing.item)
    if not context.passed:
        return context, no(
            act.label(standing),
            [Told(code="inspection-failed", says="It failed inspection and is out of use.")],
            item=standing.item,
            word="Failed",
            next="Say what is wrong (bent, blocked, image fault), or send it round again.",
        )
    way = way_on(act, standing)
    if (other := timed_steps.answered(act, context, standing, told, way)) is not None:
        return other
    says = _waited(act, standing, done) + _off_route(act, standing, done)
    says += waits_ahead(standing, act.kind(standing), act.at) if done == "inspect" else []
    says += [one.says for one in who.lapses]
    return context, note(
        "Done",
        act.label(standing),
        item=standing.item,
        says=says,
        next=way,
        warn=bool(says),
    )


def _waited(act: Act, standing: Standing, done: str) -> list[str]:
    """The use-to-clean clock: soil that dries is harder to remove."""
    soiling = standing.soiling
    if soiling is None or done not in _FIRST_TOUCH or standing.done:
        return []
    limit = act.house.rules(act.at).whole("wait.use-to-clean-minutes")
    late = why_too_late(soiling.ended or soiling.at, act.at, limit)
    return [reason.says for reason in late]


def _off_route(act: Act, standing: Standing, done: str) -> list[str]:
    route = [step.step for step in act.kind(standing).route]
    if not route or done in route:
        return []
    return [f"“{done}” is not on its route: {several(list(route))}."]
