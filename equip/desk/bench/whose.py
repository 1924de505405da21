"""After “finish”: what is scanned then is never quietly given to the patient before.

It waits until a patient is scanned, or “one more” says that it belongs to the one who just left.
"""

import msgspec

from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, note, refused, remarks
from equip.desk.bench import counts
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.standing import Standing
from equip.rules.wording import several


def tell(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    """What was used is told; after “finish” the patient is asked for first.

    What belongs to the use in hand already is not asked about: it is counted, or was dropped.
    """
    if not context.finished or standing.item in context.used:
        return counts.tell(act, context, standing)
    context = transitions.whose(context, standing.item)
    waiting = several([act.label(act.standing(one)) for one in context.no_patient])
    return context, note(
        "Whose?",
        waiting,
        item=standing.item,
        says=["The use before is finished. Nothing is written down yet."],
        next="Scan its patient; or say “one more” if it was the patient before.",
        options=("one more",),
        warn=True,
    )


def left(act: Act, waited: Context, answer: Answer) -> Answer:
    """Something else was said: what waited is written down for nobody, and *answer* says that."""
    labels = [act.label(act.standing(tag)) for tag in waited.no_patient]
    says = [f"Not written down, for no patient was scanned: {one}." for one in labels]
    tone = "warn" if answer.tone in ("note", "yes") else answer.tone
    reasons = (*answer.reasons, *remarks(says))
    return msgspec.structs.replace(answer, tone=tone, reasons=reasons)


def named(act: Act, context: Context, patient: str) -> tuple[Context, Answer]:
    """The patient of what waits was scanned."""
    waiting = context.no_patient
    return _all_told(act, transitions.with_patient(context, patient), waiting)


def one_more(act: Act, context: Context) -> tuple[Context, Answer]:
    """What waits belongs to the patient who just left, or the next scan does."""
    if not context.patient or not context.finished:
        return context, refused("No use was finished here just now.", "Scan the patient first.")
    if context.no_patient:
        return _all_told(act, transitions.more(context), context.no_patient)
    return transitions.more(context), note(
        "One more",
        "The next scan belongs to this patient again.",
        patient=context.patient,
        next="Scan what was used, then say “finish”.",
    )


def _all_told(act: Act, context: Context, waiting: tuple[str, ...]) -> tuple[Context, Answer]:
    """Each of *waiting* is told in turn, and one answer for all, with the worst tone."""
    answers = []
    for tag in waiting:
        context, answer = counts.tell(act, context, act.standing(tag))
        answers.append(answer)
    worst = min(answers, key=lambda one: _WORST.index(one.tone))
    reasons = tuple(dict.fromkeys(reason for one in answers for reason in one.reasons))
    what = several([act.label(act.standing(tag)) for tag in waiting])
    told = msgspec.structs.replace(worst, what=what, reasons=reasons, patient=context.patient)
    return context, told


_WORST = ("no", "unread", "warn", "note", "yes")
