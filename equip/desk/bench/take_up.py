"""“Go on here”: whoever looked at what is in hand at this bench works on with it."""

from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, note
from equip.desk.bench.doing import doing
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.scan import show_tag


def card(act: Act, context: Context) -> tuple[Context, Answer]:
    """Say what is in hand; the scans that follow are for it."""
    who = act.house.person_name(context.badge or context.signed)
    says = [f"{who} works here now; the bench is {doing(context)}."]
    if context.load:
        says.append(f"Load {show_tag(context.load)} is in hand.")
    return transitions.taken_up(context), note(
        "Go on",
        "This patient is in hand." if context.patient else "No patient is in hand.",
        patient=context.patient,
        says=says,
        next="Scan again what was not written down.",
    )
