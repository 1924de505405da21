"""In spite of a no: a named authority lets a thing be used once, with a reason."""

from equip import facts
from equip.desk.act.act import Act, Refused, told
from equip.desk.act.answer import Answer, no, remarks
from equip.desk.act.rights import as_themselves, need
from equip.desk.bench.uses import keep_use
from equip.desk.lookback import injuries
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.why_not import Why


def card(act: Act, context: Context) -> tuple[Context, Answer]:
    """A way through for a named authority: which reasons it may set aside is one table.

    Whom the item is known to carry is said before the choice.
    """
    reasons = _overridable(act, context)
    carries = injuries.told(
        act.clinic, injuries.may_carry(act.clinic, context.item, act.at), act.at
    )
    return transitions.asking(context, "reason"), no(
        act.label(act.standing(context.item)),
        [*told(reasons), *remarks(carries)],
        item=context.item,
        word="Why?",
        next="Type the reason. It is printed wherever this use is shown.",
    )


def explained(act: Act, context: Context, reason: str) -> tuple[Context, Answer]:
    """The reason was typed: the refusal is set aside, once, and the use is written down."""
    reasons = _overridable(act, context)
    standing = act.standing(context.item)
    act.tell(
        facts.Overridden,
        item=standing.item,
        reasons=told(reasons),
        reason=reason,
        patient=context.patient,
    )
    context = transitions.asking(context, "")
    if context.patient:
        context = keep_use(act, context, standing, asked=True, reasons=reasons)
    return context, Answer(
        "warn",
        "Allowed",
        act.label(standing),
        item=standing.item,
        reasons=told(reasons),
        next=f"By {act.house.person_name(act.by)}: {reason}",
    )


def _overridable(act: Act, context: Context) -> list[Why]:
    if not context.item or not context.refused:
        raise Refused("Nothing was refused just now: scan the thing first.")
    act.by = as_themselves(act, context.badge, "set a refusal aside")
    reasons = act.why_not_use(act.standing(context.item), context)
    fixed = [why for why in reasons if not why.overridable]
    if fixed:
        raise Refused(f"Nobody can set this aside: {fixed[0].says}")
    need(act, "override", "set a refusal aside")
    return reasons
