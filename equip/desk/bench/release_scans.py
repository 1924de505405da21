"""A passed load at the bench: why it may not be released, what is asked first, its release."""

from equip.desk.act.act import Act, Refused
from equip.desk.act.answer import Answer, no, note
from equip.desk.act.rights import as_themselves
from equip.desk.bench.way_on import after_release
from equip.desk.cycles import reference_questions
from equip.desk.loads.release import release_load, why_not_release
from equip.desk.loads.release_questions import asked_before
from equip.rules.bench.transitions import Context
from equip.rules.loads.load import Load
from equip.scan import show_tag
from equip.store.readings import load_rows

_SAID = ("stages-corrected", "machine-limits-not-known")
"""What a passed load was judged without, or was corrected in: said ahead of its release."""


def load_in_hand(act: Act, context: Context) -> Load:
    load = load_rows.load_of(act.store, context.load) if context.load else None
    if load is None:
        raise Refused("No load is in hand: scan the machine or the load's label first.")
    return load


def passed(act: Act, load: Load, what: str, first: str = "") -> Answer:
    """What stops its release; or what it was judged without, and each question ahead of the word
    “release”. *first* is what is done with it before anything else."""
    if reasons := why_not_release(act.clinic, load, act.signed, act.at):
        way = f"{first} Put that right, or have it released by whoever may.".strip()
        return no(what, reasons, word="Not yet", next=way)
    questions = asked_before(act.clinic, load)
    says = [one.says for one in load.reasons if one.code in _SAID]
    says += [f"Not so yet: {one.says}" for one in questions.waits]
    if asked := reference_questions.open_questions(act.clinic, load):
        way = f"{first} Answer what is asked on its page under Loads, and release it there.".strip()
        return note("Passed", what, says=[*says, *(one.says for one in asked)], next=way, warn=True)
    asks = [one.says for one in questions.asks]
    way = "Is the answer to each Yes? Say “release”." if asks else "It may be released."
    return note(
        "Passed",
        what,
        says=[*says, *asks],
        next=f"{first} {way}".strip(),
        options=("release",),
        warn=bool(questions.waits),
    )


def release(act: Act, context: Context) -> tuple[Context, Answer]:
    """Whoever's badge is in hand releases, signed in as themselves."""
    load = load_in_hand(act, context)
    act.by = as_themselves(act, context.badge, "release a load")
    waits = asked_before(act.clinic, load).waits
    held = release_load(act, load, act.by)
    says = [f"{show_tag(item)} is held back." for item in held]
    says += [one.says for one in load.reasons if one.code in _SAID]
    says += [f"Not to be used yet. {one.says}" for one in waits]
    return context, note(
        "Released",
        f"{show_tag(load.load)}, by {act.house.person_name(act.signed)}",
        says=says,
        warn=bool(held or waits),
        next=after_release(act, [put.item for put in load.inside if put.item not in held]),
    )
