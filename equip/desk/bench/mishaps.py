"""What goes wrong at the bench: marks, the wrong patient, starting over."""

from equip import facts
from equip.desk.act import keep_back
from equip.desk.act.act import Act, alert
from equip.desk.act.answer import Answer, note, refused
from equip.desk.bench.session_acts import after_mark
from equip.facts import Told
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context

_EFFECTS = {
    "soil": "It must go round again before anybody uses it.",
    "inspect": "It is asked to be inspected before its next use.",
    "quarantine": "It is in quarantine: clean it, then have it looked at.",
    "unpack": "Unpack it and pack its contents anew.",
}


def mark(act: Act, context: Context, word: str, what: str) -> tuple[Context, Answer]:
    """Something happened to what was scanned last."""
    if not context.item:
        return context, refused("Nothing was scanned before.", "Scan the thing, then this card.")
    effect = act.house.rules(act.at).text(f"mark.{what}")
    marked = [act.standing(item) for item in _marked(act, context, what)]
    for standing in marked:
        act.tell(
            facts.Marked, item=standing.item, what=what, effect=effect, covers=standing.members
        )
        if effect == "quarantine":
            why = Told(code=what, says=f"marked “{word}” at the bench")
            keep_back.quarantine(act, standing.item, why)
            alert(act, f"{act.label(standing)} was marked “{word}” and is in quarantine.")
    after_mark(act, [standing.item for standing in marked])
    return context, note(
        word.capitalize(),
        ", ".join(act.label(standing) for standing in marked),
        item=context.item,
        says=[_EFFECTS[effect]],
        warn=True,
    )


def _marked(act: Act, context: Context, what: str) -> list[str]:
    """A tube that touched a scope marks every scope of this use with it."""
    if what != "tube-touched-scope":
        return [context.item]
    scopes = [
        item for item in context.used if item != context.item and act.kind(act.standing(item)).optic
    ]
    return [context.item, *scopes]


# --- the wrong patient, and nobody at all ------------------------------------------------------


def move(act: Act, context: Context) -> tuple[Context, Answer]:
    if not context.use:
        return context, refused("No use is in hand to move.", "Scan its patient first.")
    return transitions.asking(context, "patient-to-move-to"), note(
        "Move", "These scans belong to another patient.", next="Scan the right patient."
    )


def moved(act: Act, context: Context, patient: str) -> tuple[Context, Answer]:
    act.tell(
        facts.MovedToPatient,
        use=context.use,
        was=context.patient,
        patient=patient,
        covers=context.used,
    )
    return transitions.moved(context, patient), note(
        "Moved", "All scans of this use belong to this patient now.", patient=patient
    )


def start_over(act: Act, context: Context) -> tuple[Context, Answer]:
    return transitions.from_now(transitions.over(context)), note(
        "Start over", "Nothing is in hand."
    )
