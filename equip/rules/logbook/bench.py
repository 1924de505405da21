"""What happened at the bench, each as one line: uses, steps, marks, packs, checks."""

from equip import facts
from equip.rules.fitness.held import DO
from equip.rules.fitness.session import KINDS as CHECKS
from equip.rules.fitness.session import shown
from equip.rules.fitness.stopping import in_words
from equip.rules.logbook.names import Names, Tellers, because, done_by
from equip.rules.wording import several, span

_EARS = {"": "", "left": ", left ear", "right": ", right ear", "both": ", both ears"}


def _at(place: str, names: Names) -> str:
    return f" in {names.place(place)}" if place else ""


def _used(fact: facts.Used, names: Names) -> str:
    verb = "Opened for" if fact.opened_only else "Used on"
    more = f", with {several(list(fact.covers))}" if fact.covers else ""
    unfit = f". It was not fit:{because(fact.reasons)}" if fact.reasons else "."
    who = done_by(fact.lapses, fact.supervisor)
    return f"{verb} patient {fact.patient}: {fact.item}{more}{unfit}{who}"


def _asked(fact: facts.Asked, names: Names) -> str:
    who = f" for patient {fact.patient}" if fact.patient else ""
    if fact.allowed:
        return f"Asked{who}: {fact.item} may be used."
    return f"Asked{who}: {fact.item} refused.{because(fact.reasons)}"


def _noted(fact: facts.UseNoted, names: Names) -> str:
    parts = []
    if fact.ear:
        parts.append(f"ear {fact.ear}")
    if fact.soil:
        parts.append(f"soil {fact.soil}")
    if fact.opened:
        parts.append(f"{several(list(fact.opened))} opened, not used")
    return f"Noted for patient {fact.patient}: {several(parts) or 'nothing'}."


def _stepped(fact: facts.Stepped, names: Names) -> str:
    means = [*([fact.with_what] if fact.with_what else []), *(f"lot {lot}" for lot in fact.lots)]
    with_what = f" with {several(means)}" if means else ""
    more = f" and {several(list(fact.covers))}" if fact.covers else ""
    who = done_by(fact.lapses, fact.supervisor)
    if fact.step == "inspect":
        verdict = "passed" if fact.passed else "failed"
        return f"Inspection {verdict}: {fact.item}{more}{with_what}.{who}"
    return f"Step “{fact.step}” done: {fact.item}{more}{with_what}.{_contact(fact)}{who}"


def _contact(fact: facts.Stepped) -> str:
    """How long it had to stay wet, and that whoever did it lets it go by that, or may not."""
    if fact.unreleased:
        return " It does not count: whoever did it has no right to let it go."
    stops = _stops(fact)
    if not fact.contact_s:
        return stops
    wet = f" It has to stay wet for {span(fact.contact_s)}; with that {fact.by} releases it."
    return wet + stops


def _stops(fact: facts.Stepped) -> str:
    """What it stops by its agent, where anybody asked."""
    if fact.stops is None:
        return ""
    what = in_words(fact.stops) if fact.stops else "nothing that is asked for"
    return (
        f" {fact.agent} stops {what}." if fact.agent else " Without a known agent it stops nothing."
    )


def _packed(fact: facts.Packed, names: Names) -> str:
    inside = list(fact.contents)
    inside += [f"{loose.count} × {names.kind(loose.type)}" for loose in fact.loose]
    out_of = f" out of load {fact.load}" if fact.load else ""
    hand = several([f"“{step}”" for step in fact.by_hand])
    by_hand = f" Done to its untagged contents by hand: {hand}." if hand else ""
    steps = several([f"“{step}”" for step in fact.unsaid])
    unsaid = f" Nobody recorded {steps} of its untagged contents." if steps else ""
    return f"Pack {fact.pack} sealed{out_of}, with {several(inside) or 'nothing'}.{by_hand}{unsaid}"


def _quarantined(fact: facts.Quarantined, names: Names) -> str:
    return f"Quarantine ({DO[fact.how]}): {fact.item}, {fact.why.says}"


def _lifted(fact: facts.QuarantineLifted, names: Names) -> str:
    whole = f"Quarantine of {fact.item} lifted: {fact.reason}"
    if fact.why is None:
        return whole
    by = f" Found safe to handle by {fact.confirmed_by}." if fact.confirmed_by else ""
    return f"Quarantine of {fact.item} lifted of this reason: {fact.why.says}. {fact.reason}.{by}"


def _checked(fact: facts.Checked, names: Names) -> str:
    name = CHECKS[fact.check].name
    read = "" if fact.value is None else f" {shown(fact.value, fact.unit)},"
    came_to = "good" if fact.passed else "not good"
    remark = f" {fact.note}" if fact.note else ""
    who = done_by(fact.lapses, fact.supervisor)
    return f"Checked: {name} of {fact.item},{read} {came_to}.{because(fact.reasons)}{who}{remark}"


def _checks_over(fact: facts.ChecksOver, names: Names) -> str:
    why = "The session is over" if fact.why == "session" else "It was marked"
    return f"{why}: the checks of {several(list(fact.covers))} hold no longer."


def _marked(fact: facts.Marked, names: Names) -> str:
    if fact.what == "use-taken-back":
        return f"{fact.item} stays opened or used, though its use was taken back."
    return f"{fact.item} marked “{fact.what.replace('-', ' ')}”."


TELLERS: Tellers = {
    facts.Asked: _asked,
    facts.UseBegun: lambda f, n: (
        f"Use on patient {f.patient}{_EARS[f.ear]} begun{_at(f.place, n)}."
    ),
    facts.Used: _used,
    facts.UseNoted: _noted,
    facts.UseFinished: lambda f, n: f"Use on patient {f.patient} finished.",
    facts.Marked: _marked,
    facts.Hurt: lambda f, n: (
        f"{f.person} was hurt by {f.item}"
        + (f", which may carry {several(list(f.sources))}" if f.sources else "")
        + "."
        + (f" Not known: whom {several(list(f.not_known))} met before." if f.not_known else "")
    ),
    facts.Stepped: _stepped,
    facts.StepRefused: lambda f, n: (
        f"Step “{f.step}” refused: {f.item}"
        + (f" with lot {several(list(f.lots))}" if f.lots else "")
        + f".{because(f.reasons)}"
    ),
    facts.Packed: _packed,
    facts.Placed: lambda f, n: f"{f.item} put in {n.place(f.place) or f.place}.",
    facts.Quarantined: _quarantined,
    facts.QuarantineLifted: _lifted,
    facts.Overridden: lambda f, n: (
        f"{f.item} allowed"
        + (f" for patient {f.patient}" if f.patient else "")
        + f" in spite of:{because(f.reasons)} Reason given: {f.reason}"
    ),
    facts.Withdrawn: lambda f, n: (
        "An act was taken back" + (f": {f.reason}" if f.reason else "") + "."
    ),
    facts.MovedToPatient: lambda f, n: (
        f"Scans of one use moved from patient {f.was} to patient {f.patient}."
    ),
    facts.Checked: _checked,
    facts.ChecksOver: _checks_over,
}
