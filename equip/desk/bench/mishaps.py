"""What goes wrong at the bench, and what is taken back: marks, undo, another patient."""

from collections.abc import Sequence

from equip import facts
from equip.desk.act import keep_back
from equip.desk.act.act import Act, alert
from equip.desk.act.answer import Answer, note, unread
from equip.desk.act.rights import need
from equip.desk.bench.session_acts import after_mark
from equip.facts import Told
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.standing import settled
from equip.scan import show_tag
from equip.store.ledger import ledger
from equip.store.ledger.about import told_about
from equip.store.ledger.ledger import Entry
from equip.store.readings import act_rows

_EFFECTS = {
    "soil": "It must go round again before anybody uses it.",
    "inspect": "It is asked to be inspected before its next use.",
    "quarantine": "It is in quarantine: clean it, then have it looked at.",
    "unpack": "Unpack it and pack its contents anew.",
}


def mark(act: Act, context: Context, word: str, what: str) -> tuple[Context, Answer]:
    """Something happened to what was scanned last."""
    if not context.item:
        return context, unread("Nothing was scanned before.", "Scan the thing, then this card.")
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


# --- taking back ----------------------------------------------------------------------------


def undo(act: Act, context: Context) -> tuple[Context, Answer]:
    """The last act of this bench is withdrawn as a whole, and stays visible."""
    if not context.undoable:
        return context, unread("There is nothing of this bench to take back.")
    last = context.undoable[-1]
    span = act_rows.act_span(act.store, last)
    if span is None:
        return transitions.untold(context, last, ()), unread("That act wrote nothing down.")
    entries = list(ledger.entries(act.store, *span))
    if gone_on := _gone_on(act, entries):
        return context, unread(
            f"Load {show_tag(gone_on)} has gone on since: that act stays.",
            "Take out what does not belong in it, or end it and reject it.",
        )
    if any(e.fact.by != act.by for e in entries):
        theirs = act.house.person_name(entries[0].fact.by)
        need(act, "undo", f"take back what {theirs} wrote down")
    covers = tuple(dict.fromkeys(name for e in entries for name in facts.about(e.fact)))
    act.tell(facts.Withdrawn, withdrawn=last, covers=covers)
    gone = tuple(e.fact.item for e in entries if isinstance(e.fact, facts.Used))
    gone += tuple(e.fact.load for e in entries if isinstance(e.fact, facts.LoadOpened))
    stays = [e.fact for e in entries if isinstance(e.fact, facts.Quarantined)]
    gone_missing = [e.fact for e in entries if isinstance(e.fact, facts.PieceMissing)]
    count = len(entries)
    lines = (
        "1 line is withdrawn and stays" if count == 1 else f"{count} lines are withdrawn and stay"
    )
    says = [f"Its quarantine stands: {fact.why.says}" for fact in stays]
    says += ["The search stands: if nothing is missing, say “found”." for _ in gone_missing]
    says += [_stays_used(act, e.fact) for e in entries if isinstance(e.fact, facts.Used)]
    return transitions.untold(context, last, gone), note(
        "Taken back",
        f"{lines} visible in the book.",
        says=says,
        warn=bool(says),
    )


def _stays_used(act: Act, used: facts.Used) -> str:
    """What was unwrapped or used stays so although its use is withdrawn: it meets nobody before it
    has gone round again. What was made fit since is left as it is."""
    whole = [act.standing(tag) for tag in dict.fromkeys((used.item, *used.covers))]
    pack = next((one for one in whole if one.made is not None), None)
    chosen = pack or whole[0]
    label = act.label(chosen)
    if chosen.soiling is None or chosen.soiling.use != used.use:
        return f"{label} has gone on since: it is left as it stands."
    act.tell(
        facts.Marked,
        item=chosen.item,
        what="use-taken-back",
        effect="unpack" if pack is not None else "soil",
        covers=chosen.members,
    )
    if act.kind(chosen).reuse == "single-use":
        return f"{label} stays used: throw it away."
    if pack is not None:
        return f"{label} stays opened: pack its contents anew."
    return f"{label} stays used: send it round again."


_CARRIES_A_LOAD_ON = (
    facts.LotPut,
    facts.SporeTestPut,
    facts.LoadStarted,
    facts.LoadEnded,
    facts.EvidenceConfirmed,
    facts.LoadJudged,
    facts.StagesCorrected,
    facts.IndicatorRead,
    facts.LoadReleased,
    facts.LoadRejected,
)


def _gone_on(act: Act, entries: Sequence[Entry]) -> str:
    """A load whose opening, start or end these are and that another act has carried on since.

    Without them what was told of it later would hang in the air: things in a load of no machine.
    """
    steps = facts.LoadOpened | facts.LoadStarted | facts.LoadEnded
    for load in dict.fromkeys(e.fact.load for e in entries if isinstance(e.fact, steps)):
        told = told_about(act.store, load)
        last, inside = entries[-1], set[str]()
        for index, fact in settled([one.fact for one in told]):
            if (told[index].site, told[index].position) <= (last.site, last.position):
                continue
            if isinstance(fact, facts.LoadAdded):
                inside.add(fact.item)
            elif isinstance(fact, facts.LoadTakenOut):
                inside.discard(fact.item)
            elif isinstance(fact, _CARRIES_A_LOAD_ON):
                return load
        if inside:
            return load
    return ""


def move(act: Act, context: Context) -> tuple[Context, Answer]:
    if not context.use:
        return context, unread("No use is in hand to move.", "Scan its patient first.")
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
    return transitions.over(context), note("Start over", "Nothing is in hand.")
