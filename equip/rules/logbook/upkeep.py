"""What was due and what was done about it, each as one line: duties, work, calibrations."""

from equip import facts
from equip.rules.logbook.names import Names, Tellers, because
from equip.rules.upkeep.measuring.decision_rule import CONFORMS
from equip.rules.upkeep.words import told_reading, told_terms
from equip.rules.wording import counted, several


def _duty_set(fact: facts.DutySet, names: Names) -> str:
    return f"{fact.duty.capitalize()} of {fact.item}: {told_terms(fact)}."


def _reminders_set(fact: facts.RemindersSet, names: Names) -> str:
    ahead = "the rule’s" if fact.lead_days is None else str(fact.lead_days)
    over = "the rule’s" if fact.escalate_days is None else str(fact.escalate_days)
    return (
        f"Reminders of {fact.duty} of {fact.item}: {ahead} days ahead; others are told"
        f" when it is {over} days over."
    )


def _of_type(code: str, names: Names) -> str:
    return f" of every {names.kind(code).lower()}" if code else ""


def _type_duty_set(fact: facts.TypeDutySet, names: Names) -> str:
    return f"{fact.duty.capitalize()}{_of_type(fact.type, names)}: {told_terms(fact)}."


def _duty_met(fact: facts.DutyMet, names: Names) -> str:
    until = f", good until {fact.not_after}" if fact.not_after else ""
    counted = f", {fact.counted} counted by then" if fact.counted is not None else ""
    file = f", certificate {fact.certificate[:12]}…" if fact.certificate else ""
    note = f": {fact.note}" if fact.note else ""
    for_day = f" for {fact.due}" if fact.due != fact.done else ""
    said = f"{fact.duty.capitalize()} of {fact.item} done on {fact.done}{for_day}"
    return f"{said}{until}{counted}{file}{note}."


def _work_done(fact: facts.WorkDone, names: Names) -> str:
    parts = f" Parts: {fact.parts}." if fact.parts else ""
    cost = f" Cost: {fact.cost}." if fact.cost is not None else ""
    file = f" Certificate {fact.certificate[:12]}…" if fact.certificate else ""
    issued = f" of {fact.issued}" if fact.issued else ""
    until = f", good until {fact.not_after}" if fact.not_after else ""
    paper = f"{file or ' Certificate'}{issued}{until}." if file or issued or until else ""
    return (
        f"Work {fact.work} on {fact.item} done on {fact.done}. Found: {fact.found} "
        f"Left: {fact.left}{parts}{cost}{paper}"
    )


def _signed_off(fact: facts.WorkSignedOff, names: Names) -> str:
    word = "back to service" if fact.decision == "service" else "kept back"
    meets = ", its duty met" if fact.meets else ""
    why = f": {fact.reason}" if fact.reason else "."
    return f"Work {fact.work} on {fact.item} signed off, {word}{meets}{why}"


def _calibrated(fact: facts.Calibrated, names: Names) -> str:
    by = fact.person or fact.firm or "nobody named"
    words = [
        f"{when} {CONFORMS[one]}"
        for when, one in (("found", fact.found_is), ("left", fact.left_is))
        if one
    ]
    meets = f" Its {fact.duty} was met." if fact.duty else ""
    file = f" Certificate {fact.certificate[:12]}…" if fact.certificate else ""
    note = f" {fact.note}" if fact.note else ""
    where = f"{fact.quantity} at {counted(len(fact.points), 'point')}"
    came_to = several(words) or "not judged"
    return (
        f"{fact.item} calibrated on {fact.done} by {by}: {where}, {came_to}."
        f"{because(fact.lapses)}{meets}{file}{note}"
    )


def _electrically_tested(fact: facts.ElectricallyTested, names: Names) -> str:
    by = fact.person or fact.firm or "nobody named"
    came_to = {"pass": "passed", "fail": "failed", "undecided": "cannot be judged"}[fact.verdict]
    why = "".join(f" {one.says}" for one in fact.reasons)
    meets = f" Its {fact.duty} was met." if fact.duty else ""
    file = f" Certificate {fact.certificate[:12]}…" if fact.certificate else ""
    return (
        f"{fact.item} electrically tested on {fact.done} by {by}, class {fact.protection}: "
        f"{came_to}.{why}{because(fact.lapses)}{meets}{file}"
        f"{f' {fact.note}' if fact.note else ''}"
    )


def _work_sent(fact: facts.WorkSent, names: Names) -> str:
    shown = "is" if fact.shown else "is not"
    declared = f" Stated: {fact.declared}" if fact.declared else ""
    return (
        f"{fact.item} sent to {fact.receiver} for work {fact.work}; an effective "
        f"decontamination {shown} shown by the record.{declared}"
    )


TELLERS: Tellers = {
    facts.DutySet: _duty_set,
    facts.RemindersSet: _reminders_set,
    facts.DutyMet: _duty_met,
    facts.TypeDutySet: _type_duty_set,
    facts.DutyDropped: lambda f, n: (
        f"{f.duty.capitalize()}{' of ' + f.item if f.item else _of_type(f.type, n)} "
        f"is no duty any more: {f.why}"
    ),
    facts.MeterRead: lambda f, n: f"{f.item}: {told_reading(f)}.",
    facts.WorkRaised: lambda f, n: (
        f"Work {f.work} on {f.item} raised"
        + (f", for its {f.duty}" if f.duty else "")
        + (", out of use from now on" if f.out_of_use else "")
        + f": {f.what}"
    ),
    facts.WorkAssigned: lambda f, n: (
        f"Work {f.work} on {f.item} given to {f.person or f.firm or 'nobody'}."
    ),
    facts.WorkSent: _work_sent,
    facts.WorkReceived: lambda f, n: (
        f"{f.item} back from work {f.work}" + (f", from {f.sender}" if f.sender else "") + "."
    ),
    facts.WorkDone: _work_done,
    facts.WorkSignedOff: _signed_off,
    facts.Calibrated: _calibrated,
    facts.ElectricallyTested: _electrically_tested,
}
