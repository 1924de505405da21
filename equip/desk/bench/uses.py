"""Before, with and after a patient: asking, using, telling what was used, and what went wrong."""

from datetime import datetime, timedelta

import msgspec

from equip import acts, facts
from equip.desk.act import keep_back
from equip.desk.act.act import Act, alert, told
from equip.desk.act.answer import Answer, no, note, refused, remarks, yes
from equip.desk.bench import shared_machines
from equip.desk.fitness.not_known import says_not_known
from equip.desk.people import competence
from equip.facts import Told
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness import held
from equip.rules.fitness.day_gate import what_makes_fit
from equip.rules.fitness.gates import declared_lapse, gate_step, lapse
from equip.rules.fitness.standing import Done, Standing
from equip.rules.fitness.why_not import Why, item_at_fault
from equip.rules.wording import day
from equip.scan import show_tag
from equip.store.readings import item_rows

_WAY_ON = {
    "soiled": "Put it with what is to be cleaned.",
    "never-processed": "Send it through its route first.",
    "quarantined": "Leave it in quarantine.",
    "load-not-released": "Have its load released, or take another.",
    "load-not-finished": "Take another; this one is still in process.",
    "still-wet": "Leave it wet, then rinse it; or take another.",
    "single-use-again": "Throw it away and take a new one.",
    "in-a-pack": "Scan the pack it is in.",
    "which-patient": "Scan the patient, then this.",
    "service-overdue": "Take another machine, or have the service done.",
    "waterline-due": "Take another, or disinfect its waterline and rinse it.",
    "piece-missing": "Look for the piece; when it is there, say “found”.",
    "set-incomplete": "Make the set complete, or take another.",
    "check-missing": "Say “check”, check it, then scan it again.",
    "check-failed": "Put it right and check it again, or take another.",
    "machine-unchecked": "Scan the machine, say “check”, check it, then scan this again.",
    "machine-failed": "Put the machine right and check it, or scan the one it is used with.",
    "machine-not-fit": "Scan the machine it is used with first, or have this one made fit.",
}
_AGAIN = "Put it aside to go round again."


# --- asking ---------------------------------------------------------------------------------


def lay_up(act: Act, context: Context) -> tuple[Context, Answer]:
    return transitions.laying_up(context), note(
        "Lay up", "Each scan asks whether it may be used.", next="Scan the first thing."
    )


def ask(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    """May this be used? Asking changes nothing but the book: both answers are kept."""
    reasons = act.why_not_use(standing, context)
    act.tell(
        facts.Asked,
        item=standing.item,
        allowed=not reasons,
        reasons=told(reasons),
        patient=context.patient,
        place=context.place,
    )
    context = transitions.noticed(context, standing.item, refused=bool(reasons))
    if reasons:
        return context, refusal(act, context, standing, reasons)
    return context, _allowed(act, standing, "Next: scan the next one.")


def refusal(act: Act, context: Context, standing: Standing, reasons: list[Why]) -> Answer:
    """A no with every reason and a way through: what to do with it, what to take instead."""
    way = _WAY_ON.get(reasons[0].code, _AGAIN)
    other = alternative(act, context, standing)
    if other is not None:
        way = f"{way} Take {other}."
    elif all(why.overridable for why in reasons):
        way = f"{way} Somebody with authority may say “used anyway” and give a reason."
    return no(act.label(standing), told(reasons), item=standing.item, next=way)


def alternative(act: Act, context: Context, standing: Standing, look_at: int = 40) -> str | None:
    """Another of the same type that may be used now, and where it is."""
    if not standing.type or standing.type == "pack":
        return None
    kind = act.kind(standing)
    for other in item_rows.standings_of_type(act.store, standing.type, look_at):
        if other.item == standing.item:
            continue
        if all(why.code == "in-a-pack" for why in act.why_not_use(other, context)):
            tag = other.pack or other.item
            where = act.house.place_name(other.place)
            name = (
                f"{kind.name.lower()} {show_tag(tag)}"
                if not other.pack
                else f"pack {show_tag(tag)}"
            )
            return f"{name}, {where}" if where else name
    return None


def _allowed(act: Act, standing: Standing, way: str) -> Answer:
    return yes(act.label(standing), item=standing.item, says=why_fit(act, standing), next=way)


def why_fit(act: Act, standing: Standing) -> list[str]:
    """What makes it fit: the last effective decontamination, how long it holds, counts."""
    kind = act.kind(standing)
    asking = act.asking(standing)
    says = []
    done = what_makes_fit(standing, kind, act.members(standing), act.at, act.house.zone)
    if done is not None:
        says.append(_says_done(act, standing, done))
        until = lapse(standing, kind, done, asking)
        if until is not None:
            says.append(_says_until(act, until))
    elif standing.declared is not None and gate_step(kind):
        who = act.house.person_name(standing.declared_by)
        says.append(f"Declared fit on going live by {who}; no load of ours stands behind it.")
        until = declared_lapse(standing.declared, kind, asking)
        if until is not None:
            says.append(_says_until(act, until))
    if kind.use_limit:
        says.append(f"Use {standing.uses + 1} of {kind.use_limit}.")
    if gaps := says_not_known(act.clinic, standing, act.at):
        says.append(gaps)
    return says


def _says_done(act: Act, standing: Standing, done: Done) -> str:
    asking = act.asking(standing)
    if not done.load:
        whose = f", released by {act.house.person_name(done.by)}" if done.contact_s else ""
        return f"Last step “{done.steps[-1]}” {asking.when(done.at)}{whose}."
    released = f", released {asking.when(done.released)}" if done.released else ""
    verb = "Sterilised" if "sterilise" in done.steps else "Disinfected"
    return f"{verb} {asking.when(done.at)}, load {show_tag(done.load)}{released}."


def _says_until(act: Act, until: datetime) -> str:
    zone = act.house.zone
    local = until.astimezone(zone)
    if (local.hour, local.minute) == (0, 0):
        last = local - timedelta(days=1)
        return f"Use by {day(last, act.at.astimezone(zone))}."
    return f"Use until {act.asking(Standing(item='')).when(until)}."


# --- using and telling ----------------------------------------------------------------------


def use(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    """The patient is in the chair: a no is a refusal, a yes is a use."""
    who = competence.doer(act, context, "use")
    if who.stops:
        return competence.question(act, context, "use", who)
    reasons = act.why_not_use(standing, context)
    if reasons:
        return ask(act, context, standing)
    way = "Next: scan the next one, or say “finish”."
    answer = _with_lapses(_allowed(act, standing, way), who)
    answer = _which_machine(act, context, standing, answer)
    return keep_use(act, context, standing, asked=True, reasons=[]), _used_on(context, answer)


def _used_on(context: Context, answer: Answer) -> Answer:
    """*answer* to a use that is written down: never to be taken for one that only asked."""
    word = "Used" if answer.word == "Yes" else answer.word
    return msgspec.structs.replace(answer, word=word, patient=context.patient, kept=True)


def _which_machine(act: Act, context: Context, standing: Standing, answer: Answer) -> Answer:
    """*answer*, asking for the machine behind an instrument where several can be meant."""
    says = shared_machines.unnamed(act, context, standing, standing.members)
    if not says:
        return answer
    tone = "warn" if answer.tone == "note" else answer.tone
    reasons = (*answer.reasons, *remarks(says))
    return msgspec.structs.replace(answer, tone=tone, reasons=reasons)


def _with_lapses(answer: Answer, who: competence.Doer) -> Answer:
    """A yes stays a yes; what stands against whoever uses it is a warning beside it."""
    if not who.lapses:
        return answer
    return msgspec.structs.replace(answer, tone="warn", reasons=(*answer.reasons, *who.lapses))


def tell(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    """After the patient: whatever is scanned was used, fit or not, and is written down."""
    before, opened = context, _sealed_around(act, standing)
    reasons = _reasons_told(act, context, standing, opened)
    who = competence.doer(act, context, "use")
    context = keep_use(act, context, standing, asked=False, reasons=reasons)
    return context, _used_on(context, _told(act, before, standing, reasons, who))


def _told(
    act: Act, before: Context, standing: Standing, reasons: list[Why], who: competence.Doer
) -> Answer:
    """How it stood when it was used; one that was not fit is kept back."""
    at_fault = item_at_fault(reasons)
    if at_fault:
        do = _keep_back(act, standing, at_fault)
        return no(
            act.label(standing),
            [*told(reasons), *who.lapses],
            item=standing.item,
            word="Used, not fit",
            next=f"It is in quarantine now: {do}, and tell the practice manager.",
        )
    if reasons or who.lapses:
        return Answer(
            "warn",
            "Used",
            act.label(standing),
            item=standing.item,
            reasons=(*told(reasons), *who.lapses),
            next=f"Written down with the reasons. {_after_use(act, standing, reasons)}",
        )
    answer = note("Used", act.label(standing), item=standing.item, next="Next: scan the next one.")
    return _which_machine(act, before, standing, answer)


def _after_use(act: Act, standing: Standing, reasons: list[Why]) -> str:
    """What is wrong with the session is put right now; the thing itself goes round as ever."""
    if any(why.code.startswith("machine-") for why in reasons):
        return "Scan the machine, say “check”, and check it before it is used on anybody else."
    if any(why.fault == "session" for why in reasons):
        return "Say “check” and check it before it is used on anybody else."
    return "Send it through its route." if act.kind(standing).route else ""


def _sealed_around(act: Act, standing: Standing) -> Standing | None:
    """The sealed pack that must have been opened for a thing inside it to be used."""
    return act.standing(standing.pack) if standing.pack else None


def _reasons_told(
    act: Act, context: Context, standing: Standing, opened: Standing | None
) -> list[Why]:
    reasons = act.why_not_use(standing, context, telling=True)
    if opened is None:
        return reasons
    own = [why for why in reasons if why.code not in ("in-a-pack", "shelf-life-over")]
    around = act.why_not_use(opened, context, telling=True)
    known = {(why.code, why.says) for why in own}
    return own + [why for why in around if (why.code, why.says) not in known]


def keep_use(
    act: Act, context: Context, standing: Standing, *, asked: bool, reasons: list[Why]
) -> Context:
    """The use is written down, with the sealed pack around it and all that lay in there."""
    context = in_use(act, context)
    covers = standing.members
    if standing.pack:
        pack = act.standing(standing.pack)
        covers = (standing.pack, *(one for one in pack.members if one != standing.item))
    who = competence.doer(act, context, "use")
    act.tell(
        facts.Used,
        use=context.use,
        item=standing.item,
        patient=context.patient,
        asked=asked,
        covers=covers,
        reasons=told(reasons),
        lapses=who.lapses,
        supervisor=who.supervisor,
    )
    machines = shared_machines.met(act, context, standing, covers)
    for machine in machines:
        _keep_met(act, context, machine, asked=asked)
    return transitions.used(context, standing.item, (*covers, *(one.item for one in machines)))


def _keep_met(act: Act, context: Context, machine: Standing, *, asked: bool) -> None:
    """The machine behind it met the patient too; one that was not fit is kept back."""
    reasons = act.why_not_use(machine, context, telling=True)
    act.tell(
        facts.Used,
        use=context.use,
        item=machine.item,
        patient=context.patient,
        asked=asked,
        reasons=told(reasons),
    )
    if at_fault := item_at_fault(reasons):
        _keep_back(act, machine, at_fault)


def in_use(act: Act, context: Context) -> Context:
    """A use is begun once something of it must be written down, and not before."""
    if context.use:
        return context
    act.tell(
        facts.UseBegun,
        use=act.id,
        patient=context.patient,
        place=context.place,
        ear=context.ear,
    )
    return transitions.using(context, act.id)


def _keep_back(act: Act, standing: Standing, reasons: list[Why]) -> str:
    """What may be done with it now. A pouch is thrown away: what is kept back of a pack are the
    instruments it held."""
    cause = next((why for why in reasons if why.code != "quarantined"), reasons[0])
    why = Told(code="used-unfit", says=f"used although not fit. {cause.says}")
    kept = [act.standing(item) for item in standing.members or (standing.item,)]
    for one in kept:
        keep_back.quarantine(act, one.item, why)
    alert(act, f"{act.label(standing)} was used although it was not fit: {cause.says}")
    before = [reason for one in kept for reason in one.quarantines]
    return held.to_do(before, held.kept_how(act.kind(kept[0])))


# --- around a use ---------------------------------------------------------------------------


def start(act: Act, context: Context) -> tuple[Context, Answer]:
    if not context.patient:
        return context, refused("No patient is in hand.", "Scan the patient, then “start a use”.")
    who = competence.doer(act, context, "use")
    if who.stops:
        return competence.question(act, transitions.started(context), "use", who)
    context = in_use(act, context)
    return transitions.started(context), note(
        "Started",
        "A use begins: each scan asks first.",
        patient=context.patient,
        next="Scan what you open.",
    )


def finish(act: Act, context: Context) -> tuple[Context, Answer]:
    if not context.use:
        return context, refused("No use is in hand.", "Scan the patient and what was used first.")
    act.tell(facts.UseFinished, use=context.use, patient=context.patient, covers=context.used)
    count = len(context.used)
    things = "1 item" if count == 1 else f"{count} items"
    unnamed = shared_machines.unnamed_in(act, context)
    return transitions.finished(context), note(
        "Finished",
        f"{things} used or opened: the time to cleaning runs from now.",
        patient=context.patient,
        says=unnamed,
        warn=bool(unnamed),
        next="Next: scan the next patient. Something forgotten? Say “one more”, then scan it.",
        options=("one more",),
    )


def opened_only(act: Act, context: Context) -> tuple[Context, Answer]:
    """What was just scanned in this use was opened but met nobody."""
    standing = act.standing(context.item)
    if not context.use or standing.soiling is None or standing.soiling.use != context.use:
        return context, refused(
            "Nothing was scanned in this use.", "Scan it first, then this card."
        )
    act.tell(
        facts.UseNoted,
        use=context.use,
        patient=context.patient,
        opened=(standing.item, *standing.members),
    )
    return context, note(
        "Opened",
        f"{act.label(standing)}: opened, not used. It still goes round again.",
        item=standing.item,
    )


def ear(act: Act, context: Context, which: facts.Ear) -> tuple[Context, Answer]:
    if not context.patient:
        return context, refused("No patient is in hand.", "Scan the patient first.")
    context = transitions.eared(context, which)
    if context.use:
        act.tell(facts.UseNoted, use=context.use, patient=context.patient, ear=which)
    word = "Both ears" if which == "both" else f"{which.capitalize()} ear"
    return context, note(word, "Noted for this use.", patient=context.patient)


def soil(act: Act, context: Context, what: str = "") -> tuple[Context, Answer]:
    """What the instruments met: it decides how hard they are to clean."""
    if not context.patient:
        return context, refused("No patient is in hand.", "Scan the patient first.")
    if not what:
        return context, note("Soil", "Which?", options=acts.words("soil"), next="Say or scan one.")
    context = in_use(act, context)
    act.tell(facts.UseNoted, use=context.use, patient=context.patient, soil=what)
    return context, note("Soil", f"{what}, noted for this use.", patient=context.patient)
