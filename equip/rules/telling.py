"""Each kind of fact as one line of the logbook. Tags and tokens stand in it as they are."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from equip import facts
from equip.facts import Fact, Told
from equip.rules.competence import OUTCOMES, TASKS
from equip.rules.conformity import CONFORMS
from equip.rules.duty_words import told_reading, told_terms
from equip.rules.session_checks import KINDS as CHECKS
from equip.rules.session_checks import shown
from equip.rules.stages import BOUNDARIES
from equip.rules.typed_fields import shown_name
from equip.rules.wording import counted, exact_span, several, span

Margin = Literal["", "gate", "doubt", "no"]


@dataclass(frozen=True, slots=True)
class Names:
    """How a line names types and places."""

    kind: Callable[[str], str]
    place: Callable[[str], str]


def tell(fact: Fact, names: Names) -> str:
    """*fact* as a sentence for whoever reads the book."""
    return _TELLERS[type(fact)](fact, names)


def margin(fact: Fact) -> Margin:
    """The mark beside the line: an effective decontamination, a doubt, a no.

    A released load is one only if its machine disinfects or sterilises: whoever knows says so.
    """
    match fact:
        case facts.LoadReleased() | facts.LoadTakenOver(verdict="pass"):
            return "gate"
        case facts.LoadTakenOver():
            return "doubt"
        case facts.Stepped(step="disinfect", passed=True, unreleased=False):
            return "gate"
        case facts.MachineTested(verdict="fail") | facts.Checked(passed=False):
            return "doubt"
        case facts.SporeTestRead(result="positive"):
            return "doubt"
        case facts.IndicatorRead():
            spoils = {"indicator-failed", "indicator-unclear"}
            return "" if spoils.isdisjoint(one.code for one in fact.reasons) else "doubt"
        case facts.LoadJudged():
            return "" if fact.verdict == "pass" else "doubt"
        case facts.Used():
            return "doubt" if fact.reasons else ""
        case facts.EvidenceConfirmed():
            return "doubt" if fact.differs else ""
        case facts.Asked():
            return "" if fact.allowed else "no"
        case facts.LoadRefused() | facts.StepRefused():
            return "no"
        case facts.LoadRejected() | facts.Quarantined() | facts.DoubtRaised() | facts.Hurt():
            return "doubt"
        case facts.IndicatorNotTurned():
            return "doubt"
        case facts.ElectricallyTested():
            return "" if fact.verdict == "pass" else "doubt"
        case facts.Calibrated(found_is="fail" | "conditional-fail"):
            return "doubt"
        case facts.WorkSignedOff(decision="keep"):
            return "doubt"
        case facts.LogUnclaimed() | facts.DoubtScoped() | facts.DoubtContained():
            return "doubt"
        case _:
            return ""


def _because(reasons: Sequence[Told]) -> str:
    return "".join(f" {reason.says}" for reason in reasons if reason.code != "remark")


def _at(place: str, names: Names) -> str:
    return f" in {names.place(place)}" if place else ""


RISKS = {
    "A": "category A, a gross error or a practice proven to carry a high risk",
    "B": "category B, a lower chance that blood or body fluid was passed on",
    "none": "no risk seen",
}
"""As in the published steps for such an event (Patel and others 2008, step 4)."""
_EARS = {"": "", "left": ", left ear", "right": ", right ear", "both": ", both ears"}
_ARRIVED = {
    "factory-new": "new from its maker",
    "loaned": "on loan from outside",
    "repaired": "back from repair",
    "second-hand": "second-hand",
    "go-live": "taken over on going live",
}


def _used(fact: facts.Used, names: Names) -> str:
    verb = "Opened for" if fact.opened_only else "Used on"
    more = f", with {several(list(fact.covers))}" if fact.covers else ""
    unfit = f". It was not fit:{_because(fact.reasons)}" if fact.reasons else "."
    who = _done_by(fact.lapses, fact.supervisor)
    return f"{verb} patient {fact.patient}: {fact.item}{more}{unfit}{who}"


def _asked(fact: facts.Asked, names: Names) -> str:
    who = f" for patient {fact.patient}" if fact.patient else ""
    if fact.allowed:
        return f"Asked{who}: {fact.item} may be used."
    return f"Asked{who}: {fact.item} refused.{_because(fact.reasons)}"


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
    who = _done_by(fact.lapses, fact.supervisor)
    if fact.step == "inspect":
        verdict = "passed" if fact.passed else "failed"
        return f"Inspection {verdict}: {fact.item}{more}{with_what}.{who}"
    return f"Step “{fact.step}” done: {fact.item}{more}{with_what}.{_contact(fact)}{who}"


def _contact(fact: facts.Stepped) -> str:
    """How long it had to stay wet, and that whoever did it lets it go by that, or may not."""
    if fact.unreleased:
        return " It does not count: whoever did it has no right to let it go."
    if not fact.contact_s:
        return ""
    return f" It has to stay wet for {span(fact.contact_s)}; with that {fact.by} releases it."


def _packed(fact: facts.Packed, names: Names) -> str:
    inside = list(fact.contents)
    inside += [f"{loose.count} × {names.kind(loose.type)}" for loose in fact.loose]
    out_of = f" out of load {fact.load}" if fact.load else ""
    return f"Pack {fact.pack} sealed{out_of}, with {several(inside) or 'nothing'}."


def _ended(fact: facts.LoadEnded, names: Names) -> str:
    number = f", cycle {fact.cycle_no}" if fact.cycle_no else ", no cycle number"
    log = f", log {fact.log[:12]}…" if fact.log else ""
    typed = ", values typed" if fact.typed else ""
    photo = f", photo {fact.photo[:12]}…" if fact.photo else ""
    second = f", also read by {fact.second_reader}" if fact.second_reader else ""
    return f"Load {fact.load} ended on {fact.machine}{number}{log}{typed}{photo}{second}."


def _read_again(fact: facts.EvidenceConfirmed, names: Names) -> str:
    differs = several([shown_name(name) for name in fact.differs])
    what = f"it differs in: {differs}" if differs else "the same"
    return f"Load {fact.load}: what {fact.machine} showed was read by a second person, {what}."


def _judged(fact: facts.LoadJudged, names: Names) -> str:
    word = {"pass": "pass", "fail": "fail", "undecided": "cannot be judged"}[fact.verdict]
    number = f", by the log of cycle {fact.cycle_no}" if fact.cycle_no else ""
    read = f", as read by {several(list(fact.readers))}" if fact.readers else ""
    photo = f", photo {fact.photo[:12]}…" if fact.photo else ""
    said = f"Load {fact.load} judged by {fact.programme}{number}{read}{photo}: {word}."
    return said + _because(fact.reasons)


def _corrected(fact: facts.StagesCorrected, names: Names) -> str:
    where = [
        f"the {BOUNDARIES.get(name, name)} at {exact_span(float(seconds))}"
        for name, seconds in sorted(fact.boundaries.items())
    ]
    what = several(where) or "as they were found again"
    return f"Stages of load {fact.load} corrected by hand, {what}: {fact.reason}"


def _released(fact: facts.LoadReleased, names: Names) -> str:
    held = f" Held back: {several(list(fact.held))}." if fact.held else ""
    note = f" {fact.note}" if fact.note else ""
    asked = f" Asked about its cycle:{_because(fact.asked)}" if fact.asked else ""
    answer = f" Found: {fact.answer}" if fact.answer else ""
    out = several(list(fact.released)) or "nothing"
    return f"Load {fact.load} released: {out}.{held}{note}{asked}{answer}{_because(fact.lapses)}"


def _quarantined(fact: facts.Quarantined, names: Names) -> str:
    how = "bag it, do not clean it" if fact.how == "bag-it" else "clean it now"
    return f"Quarantine ({how}): {fact.item}, {fact.why.says}"


def _tested(fact: facts.MachineTested, names: Names) -> str:
    word = {"pass": "passed", "fail": "failed", "undecided": "cannot be judged"}[fact.verdict]
    read = several([f"{name} {value}" for name, value in fact.readings.items()])
    number = f", cycle {fact.cycle_no}" if fact.cycle_no else ""
    inside = f" in load {fact.load}" if fact.load else ""
    note = f" {fact.note}" if fact.note else ""
    return (
        f"Test “{fact.test.replace('-', ' ')}” of {fact.machine}{number}{inside} {word}"
        + (f": {read}." if read else ".")
        + _because(fact.reasons)
        + note
    )


_TURNED = {"pass": "turned as it should", "fail": "did not turn", "unclear": "unclear"}


def _indicator(fact: facts.IndicatorRead, names: Names) -> str:
    pack = f" {fact.pack}" if fact.pack else ""
    again = ", looked at again" if fact.again else ""
    return (
        f"Indicator of lot {fact.lot} {fact.where}{pack}, load {fact.load}{again}: "
        f"{_TURNED[fact.result]}.{_because(fact.reasons)}"
    )


def _spore_put(fact: facts.SporeTestPut, names: Names) -> str:
    control = "with a control" if fact.with_control else "without a control"
    return f"Spore test of lot {fact.lot} put into load {fact.load} on {fact.machine}, {control}."


def _spore_read(fact: facts.SporeTestRead, names: Names) -> str:
    grew = {True: "; its control grew", False: "; its control did not grow", None: ""}
    hours = f" after {fact.incubated_h} h" if fact.incubated_h is not None else ""
    heat = f" at {fact.incubator_c} °C" if fact.incubator_c is not None else ""
    return (
        f"Spore test of lot {fact.lot} in load {fact.load} on {fact.machine} read{hours}{heat}: "
        f"{fact.result}{grew[fact.control_grew]}.{_because(fact.reasons)}"
    )


def _rejudged(fact: facts.Rejudged, names: Names) -> str:
    cycles = "1 cycle" if fact.judged == 1 else f"{fact.judged} cycles"
    flips = f"another verdict for {several(list(fact.flipped))}" if fact.flipped else "no flip"
    return (
        f"Judged again, {cycles} of {fact.machine} from {fact.since} to {fact.until} by "
        f"{fact.book}: {flips}. {fact.reason}"
    )


def _layout_set(fact: facts.LayoutSet, names: Names) -> str:
    how = "as described in Setup" if fact.layout else "as the plain log"
    return f"The logs of {fact.machine} are read {how} from now on: {fact.reason}"


def _unclaimed(fact: facts.LogUnclaimed, names: Names) -> str:
    number = f"cycle {fact.cycle_no}" if fact.cycle_no else "no cycle number"
    return (
        f"A log of {fact.machine} belongs to no load: “{fact.name}”, {number}. {fact.why}".strip()
    )


def _proof_given(fact: facts.ProofGiven, names: Names) -> str:
    about = [fact.case, *fact.loads, f"patient {fact.patient}" if fact.patient else ""]
    of = several([one for one in about if one])
    masked = f"patients named: {fact.reason}" if fact.unmasked else "patients as tokens"
    return (
        f"Proof file given, asked {fact.question}"
        + (f" ({of})" if of else "")
        + f"; {masked}; its digest begins {fact.digest[:12]}."
    )


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


def _taken_over(fact: facts.LoadTakenOver, names: Names) -> str:
    word = {"pass": "passed and let go", "fail": "failed"}.get(fact.verdict or "", "no verdict")
    programme = f", {fact.programme}" if fact.programme else ""
    return (
        f"Load {fact.load} of the time before this book on {fact.machine}{programme}: {word}; "
        f"in it {several(list(fact.covers))}"
        + (f", put in by {several(list(fact.hands))}" if fact.hands else "")
        + "."
    )


def _raised(fact: facts.DoubtRaised, names: Names) -> str:
    on = f" on {several(list(fact.loads))}" if fact.loads else ""
    return f"Look-back {fact.case} opened{on}: {fact.why}"


def _scoped(fact: facts.DoubtScoped, names: Names) -> str:
    parts = [f"load {load}" for load in fact.loads]
    parts += [f"what was done to {item}" for item in dict.fromkeys(fact.items)]
    parts += [f"whom patient {fact.patient} may have exposed"] if fact.patient else []
    on = f" on account of {fact.about}" if fact.about else ""
    left = f" Left out: {len(fact.left_out)} of what was proposed." if fact.left_out else ""
    return (
        f"In doubt by look-back {fact.case}{on}: {several(parts) or 'no load and no step'}. "
        f"{fact.says}{left} Reason given: {fact.reason}"
    )


def _listed(fact: facts.DoubtListed, names: Names) -> str:
    return (
        f"Look-back {fact.case} listed: {counted(fact.uses, 'use')}, "
        f"{counted(fact.patients, 'patient')}, {counted(fact.gaps, 'gap')}; "
        f"digest {fact.digest[:12]}…"
    )


def _uses_decided(fact: facts.UsesDecided, names: Names) -> str:
    patients = counted(len(set(fact.patients)), "patient")
    return (
        f"By look-back {fact.case} decided about {counted(len(fact.uses), 'use')} on {patients}: "
        f"{fact.decision}. {fact.reason}"
    )


def _doubt_step(fact: facts.DoubtStep, names: Names) -> str:
    word = {
        "establish": "established",
        "tell": "told",
        "follow-up": "followed up",
        "learn": "learnt",
    }[fact.step]
    about = f" (patient {several(list(fact.patients))})" if fact.patients else ""
    return f"Look-back {fact.case}, {word}{about}: {fact.says}"


def _drill(fact: facts.DrillRun, names: Names) -> str:
    share = "" if fact.traceable is None else f", {fact.traceable * 100:.1f} % traceable"
    chosen = "at random" if fact.at_random else "by hand"
    return (
        f"Drill on load {fact.load}, chosen {chosen}: {counted(fact.uses, 'use')} on "
        f"{counted(fact.patients, 'patient')} listed in {fact.seconds} s{share}."
    )


def _rehearsal(fact: facts.RehearsalRun, names: Names) -> str:
    weakest = f" Weakest link: {fact.links[0].says}" if fact.links else ""
    share = "" if fact.traceable is None else f", {fact.traceable * 100:.1f} % traceable"
    return (
        f"Rehearsal of {fact.day} on load {fact.load}: {counted(fact.uses, 'use')} on "
        f"{counted(fact.patients, 'patient')} listed in {fact.seconds} s, "
        f"{counted(fact.unproven, 'use')} unproven{share}.{weakest}"
    )


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
    return f"{fact.item} calibrated on {fact.done} by {by}: {where}, {came_to}.{meets}{file}{note}"


def _electrically_tested(fact: facts.ElectricallyTested, names: Names) -> str:
    by = fact.person or fact.firm or "nobody named"
    came_to = {"pass": "passed", "fail": "failed", "undecided": "cannot be judged"}[fact.verdict]
    why = "".join(f" {one.says}" for one in fact.reasons)
    meets = f" Its {fact.duty} was met." if fact.duty else ""
    file = f" Certificate {fact.certificate[:12]}…" if fact.certificate else ""
    return (
        f"{fact.item} electrically tested on {fact.done} by {by}, class {fact.protection}: "
        f"{came_to}.{why}{meets}{file}{f' {fact.note}' if fact.note else ''}"
    )


def _work_sent(fact: facts.WorkSent, names: Names) -> str:
    shown = "is" if fact.shown else "is not"
    declared = f" Stated: {fact.declared}" if fact.declared else ""
    return (
        f"{fact.item} sent to {fact.receiver} for work {fact.work}; an effective "
        f"decontamination {shown} shown by the record.{declared}"
    )


def _assessed(fact: facts.CompetenceAssessed, names: Names) -> str:
    found = OUTCOMES[fact.outcome]
    until = f", until {fact.until}" if fact.until else ""
    by = f", assessed by {fact.assessor or fact.outside}" if fact.assessor or fact.outside else ""
    paper = f" Certificate {fact.file[:12]}…." if fact.file else ""
    evidence = f" {fact.evidence}" if fact.evidence else ""
    return (
        f"{fact.person} for “{TASKS[fact.task]}”: {found} from {fact.since}{until}{by}."
        f"{evidence}{paper}"
    )


def _done_by(lapses: Sequence[Told], supervisor: str) -> str:
    """Whether whoever did it was competent, if that was in question, and who stood beside them."""
    return _because(lapses) + (f" Supervised by {supervisor}." if supervisor else "")


def _checked(fact: facts.Checked, names: Names) -> str:
    name = CHECKS[fact.check].name
    read = "" if fact.value is None else f" {shown(fact.value, fact.unit)},"
    came_to = "good" if fact.passed else "not good"
    remark = f" {fact.note}" if fact.note else ""
    return f"Checked: {name} of {fact.item},{read} {came_to}.{_because(fact.reasons)}{remark}"


def _checks_over(fact: facts.ChecksOver, names: Names) -> str:
    why = "The session is over" if fact.why == "session" else "It was marked"
    return f"{why}: the checks of {several(list(fact.covers))} hold no longer."


_TELLERS: dict[type[Fact], Callable[[Any, Names], str]] = {
    facts.SiteOpened: lambda f, n: f"{f.name} opened its book: site {f.site}, rules {f.book}.",
    facts.TypeDefined: lambda f, n: f"Type “{f.type.name}” ({f.type.code}) defined.",
    facts.ProcedureDefined: lambda f, n: (
        f"Procedure “{f.procedure.name}” {'defined' if f.procedure.offered else 'taken off'}: "
        f"{f.procedure.minutes} min, "
        + several([f"{one.count} × {n.kind(one.type)}" for one in f.procedure.needs])
        + "."
    ),
    facts.ItemAdded: lambda f, n: (
        f"{n.kind(f.type)} {f.item} on the register, {_ARRIVED[f.arrival]}"
        + (f", declared fit by {f.declared_by}" if f.declared_by else "")
        + (f", known as {several(list(f.aliases))}" if f.aliases else "")
        + "."
    ),
    facts.Arrived: lambda f, n: (
        f"{f.item} came in, {_ARRIVED[f.arrival]}"
        + (f", from {f.sender}" if f.sender else "")
        + "."
    ),
    facts.SentOut: lambda f, n: f"{f.item} sent to {f.receiver} ({f.why}).",
    facts.Retired: lambda f, n: f"{f.item} retired: {f.why}.",
    facts.TagReplaced: lambda f, n: f"{f.item} carries the tag {f.tag} now: {f.why}.",
    facts.Joined: lambda f, n: f"{f.item} joined set {f.set}.",
    facts.Left: lambda f, n: f"{f.item} left set {f.set}.",
    facts.PlaceAdded: lambda f, n: f"Place {f.place}: {f.name}.",
    facts.PersonAdded: lambda f, n: (
        f"Person {f.person}: {f.name}, {f.role}"
        + (f", may {several(list(f.rights))}" if f.rights else "")
        + ("" if f.active else "; no longer works here")
        + "."
    ),
    facts.CompetenceAssessed: _assessed,
    facts.LapseAllowed: lambda f, n: (
        f"{f.person} may go on with “{TASKS[f.task]}” from {f.since} until {f.until} although "
        f"their competence lapsed: {f.reason}"
    ),
    facts.LapseExplained: lambda f, n: (
        f"{f.person} goes on with “{TASKS[f.task]}”.{_because(f.reasons)} Reason given: {f.reason}"
    ),
    facts.RuleSet: lambda f, n: f"Rule {f.rule} set to {f.value} from {f.since}: {f.reason}",
    facts.Asked: _asked,
    facts.UseBegun: lambda f, n: (
        f"Use on patient {f.patient}{_EARS[f.ear]} begun{_at(f.place, n)}."
    ),
    facts.Used: _used,
    facts.UseNoted: _noted,
    facts.UseFinished: lambda f, n: f"Use on patient {f.patient} finished.",
    facts.Marked: lambda f, n: f"{f.item} marked “{f.what.replace('-', ' ')}”.",
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
        + f".{_because(f.reasons)}"
    ),
    facts.Packed: _packed,
    facts.Placed: lambda f, n: f"{f.item} put in {n.place(f.place) or f.place}.",
    facts.Quarantined: _quarantined,
    facts.QuarantineLifted: lambda f, n: f"Quarantine of {f.item} lifted: {f.reason}",
    facts.Overridden: lambda f, n: (
        f"{f.item} allowed"
        + (f" for patient {f.patient}" if f.patient else "")
        + f" in spite of:{_because(f.reasons)} Reason given: {f.reason}"
    ),
    facts.Withdrawn: lambda f, n: (
        "An act was taken back" + (f": {f.reason}" if f.reason else "") + "."
    ),
    facts.MovedToPatient: lambda f, n: (
        f"Scans of one use moved from patient {f.was} to patient {f.patient}."
    ),
    facts.LoadOpened: lambda f, n: f"Load {f.load} opened on {f.machine}, {f.programme}.",
    facts.LoadAdded: lambda f, n: (
        f"{f.item} put into load {f.load}"
        + (f", with {several(list(f.covers))}" if f.covers else "")
        + "."
    ),
    facts.LoadRefused: lambda f, n: f"{f.item} kept out of load {f.load}:{_because(f.reasons)}",
    facts.LoadTakenOut: lambda f, n: f"{f.item} taken out of load {f.load}.",
    facts.LotPut: lambda f, n: f"Lot {f.lot} put with load {f.load}.",
    facts.LoadStarted: lambda f, n: (
        f"Load {f.load} started on {f.machine}, {f.programme}"
        + (", values typed." if f.typed else ".")
        + _done_by(f.lapses, f.supervisor)
    ),
    facts.LoadEnded: _ended,
    facts.EvidenceConfirmed: _read_again,
    facts.LoadTakenOver: _taken_over,
    facts.PastBroughtIn: lambda f, n: (
        f"Brought in from the past: “{f.name}” up to line {f.line}, {f.rows} rows."
    ),
    facts.LoadJudged: _judged,
    facts.StagesCorrected: _corrected,
    facts.LoadReleased: _released,
    facts.LoadRejected: lambda f, n: f"Load {f.load} rejected: {f.reason}.",
    facts.LotAdded: lambda f, n: (
        f"Lot {f.lot} came in: {f.name}, lot number {f.number}"
        + (f", good until {f.expires}" if f.expires else "")
        + "."
    ),
    facts.LotOpened: lambda f, n: f"Lot {f.lot} opened.",
    facts.LotFinished: lambda f, n: f"Lot {f.lot} taken out of use: {f.why}.",
    facts.IndicatorRead: _indicator,
    facts.IndicatorNotTurned: lambda f, n: (
        f"The indicator in pack {f.pack} of load {f.load or 'unknown'} had not turned when it was "
        f"opened: {several(list(f.covers)) or 'what it held'} goes round again."
    ),
    facts.SporeTestPut: _spore_put,
    facts.SporeTestRead: _spore_read,
    facts.BathFilled: lambda f, n: (
        f"Bath {f.machine} filled anew from lot {f.lot}." + (f" {f.note}" if f.note else "")
    ),
    facts.MachineTested: _tested,
    facts.ReferenceChosen: lambda f, n: (
        f"The cycle of load {f.load} kept as the reference of {f.machine} for {f.programme}: "
        f"{f.reason}"
    ),
    facts.Rejudged: _rejudged,
    facts.LayoutSet: _layout_set,
    facts.LogUnclaimed: _unclaimed,
    facts.LogExplained: lambda f, n: (
        f"What the log {f.log[:12]}… of {f.machine} was, which belongs to no load: {f.reason}"
    ),
    facts.SheetSigned: lambda f, n: f"Sheet of {f.day} for {f.machine} signed.{_because(f.lapses)}",
    facts.DoubtRaised: _raised,
    facts.DoubtDecided: lambda f, n: (
        f"Look-back {f.case} decided"
        + (", unfounded" if f.unfounded else "")
        + f": {f.decision}. {f.reason}"
    ),
    facts.DoubtScoped: _scoped,
    facts.DoubtContained: lambda f, n: (
        f"For look-back {f.case} kept back: {several(list(f.items)) or 'nothing'}."
    ),
    facts.DoubtListed: _listed,
    facts.RiskJudged: lambda f, n: f"Risk of look-back {f.case}: {RISKS[f.category]}. {f.reason}",
    facts.UsesDecided: _uses_decided,
    facts.DoubtStep: _doubt_step,
    facts.DoubtClosed: lambda f, n: f"Look-back {f.case} closed: {f.reason}",
    facts.DrillRun: _drill,
    facts.RehearsalRun: _rehearsal,
    facts.DutySet: _duty_set,
    facts.RemindersSet: _reminders_set,
    facts.ProofGiven: _proof_given,
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
    facts.Checked: _checked,
    facts.ChecksOver: _checks_over,
    facts.Unmasked: lambda f, n: f"Who patient {f.patient} is was looked up: {f.reason}",
}
