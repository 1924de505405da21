"""At the chair: the indicator in a pack had not turned when it was opened.

What can hurt somebody stops in the same act: this pack, what it held, and whatever else of its
load was not used yet. Whether the load is doubted, and with it what was used already, is for a
person: what that would come to is said, and nothing of it is done.
"""

from equip import facts
from equip.desk.act import keep_back
from equip.desk.act.act import Act, alert
from equip.desk.act.answer import Answer, no, refused
from equip.desk.lookback.exposure_answer import Scope, look_back
from equip.facts import Told
from equip.rules.bench.transitions import Context
from equip.rules.fitness.standing import NOT_TURNED, Standing, settled
from equip.rules.loads.load import Load
from equip.rules.wording import counted
from equip.scan import show_tag
from equip.store.ledger.about import told_about
from equip.store.readings import case_rows, load_rows, use_rows
from equip.store.readings.use_rows import TouchRow

_NEXT = "Use nothing out of it: take another pack. Put what it held with what is to be cleaned."


def not_turned(act: Act, context: Context) -> tuple[Context, Answer]:
    """The pack in hand stops, its load's other packs are kept back, a question is proposed."""
    pack = _pack_in_hand(act, context)
    if pack is None:
        return context, refused(
            "Which pack? Nothing out of it may be used.",
            "Scan the pack whose indicator did not turn, then this card.",
        )
    if pack.spoilt == NOT_TURNED:
        return context, refused("That is written down of this pack already.", "Take another pack.")
    tag = _load_behind(act, pack.item)
    act.tell(facts.IndicatorNotTurned, pack=pack.item, load=tag, covers=pack.members)
    load = load_rows.load_of(act.store, tag) if tag else None
    says = ["The indicator in it did not turn: it proves nothing, and what it held goes round."]
    if load is None:
        says.append("No load of it is told: only this pack is stopped. Tell the practice manager.")
    else:
        says += _stop_the_rest(act, pack, load)
        says.append(_would_be_in_doubt(act, load))
        says += _used_today(act, load)
    alert(act, f"The indicator in {act.label(pack)} did not turn when the pack was opened.")
    in_use = pack.soiling is not None and pack.soiling.use == context.use != ""
    told = tuple(Told(code="remark", says=one) for one in says)
    answer = no(act.label(pack), told, item=pack.item, word="Stop", next=_NEXT + _if_told(in_use))
    return context, _with_ways_on(answer, tag if load else "", in_use=in_use)


def _pack_in_hand(act: Act, context: Context) -> Standing | None:
    """The pack scanned last, or the pack of this use that held what was scanned last."""
    if not context.item:
        return None
    standing = act.standing(context.item)
    if standing.made is not None:
        return standing
    packs = (act.standing(tag) for tag in reversed((*context.used, standing.pack)) if tag)
    return next((pack for pack in packs if context.item in pack.members and pack.made), None)


def _load_behind(act: Act, pack: str) -> str:
    """The load that a pack was sterilised in last, also once it was opened; "" if none is told."""
    listed = [entry.fact for entry in told_about(act.store, pack)]
    ran = [
        fact.load
        for _, fact in settled(listed)
        if isinstance(fact, facts.LoadEnded | facts.LoadTakenOver) and pack in fact.covers
    ]
    return ran[-1] if ran else ""


def _stop_the_rest(act: Act, pack: Standing, load: Load) -> list[str]:
    """Whatever else came out of the load and was not used yet is kept back, wherever it is."""
    name = show_tag(load.load)
    why = Told(
        code="indicator-not-turned",
        says=f"the indicator in a pack of its load {load.load} did not turn",
    )
    held = set(keep_back.hold(act, [load], why, but={pack.item, *pack.members}))
    alone = [item for item in held if act.standing(item).pack not in held]
    if not alone:
        return [f"Nothing else of load {name} is left unused."]
    verb = "is" if len(alone) == 1 else "are"
    return [f"Of load {name}, {counted(len(alone), 'other thing')} {verb} in quarantine now."]


def _used_today(act: Act, load: Load) -> list[str]:
    """A line for each use of the day that something out of the load was in."""
    today = act.house.today(act.at)
    touched = use_rows.touches_behind(act.store, load.load)
    of_today: dict[str, list[TouchRow]] = {}
    for touch in touched:
        if act.house.today(touch.at) == today:
            of_today.setdefault(touch.use, []).append(touch)
    earlier = {touch.use for touch in touched} - of_today.keys()
    says = [_used(act, touches) for touches in of_today.values()]
    return [*says, *([f"On earlier days: {counted(len(earlier), 'use')}."] if earlier else [])]


def _used(act: Act, touches: list[TouchRow]) -> str:
    first = act.standing(touches[0].item)
    when = act.asking(first).when(touches[0].at)
    what = act.label(first) if len(touches) == 1 else f"{len(touches)} things"
    return f"Used today out of that load, {when}: {what} on patient {touches[0].patient}."


def _would_be_in_doubt(act: Act, load: Load) -> str:
    """What a look-back on the load would list; it is proposed to a person, never opened here."""
    if any(load.load in case.loads and not case.unfounded for case in case_rows.doubts(act.store)):
        return "The load is in a look-back already."
    found = look_back(act.clinic, Scope(loads=(load.load,))).exposures
    patients = len({exposure.patient for exposure in found})
    return (
        "Is the whole load in doubt? If so, "
        f"{counted(len(found), 'use')} on {counted(patients, 'patient')} would be on the list: "
        "open a look-back below, or tell the practice manager."
    )


def _if_told(in_use: bool) -> str:
    return " If nothing of it met the patient, say “opened, not used”." if in_use else ""


def _with_ways_on(answer: Answer, doubt: str, *, in_use: bool) -> Answer:
    options = ("opened, not used",) if in_use else ()
    return Answer(
        answer.tone,
        answer.word,
        answer.what,
        item=answer.item,
        reasons=answer.reasons,
        next=answer.next,
        options=options,
        doubt=doubt,
    )
