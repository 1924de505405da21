"""What happened to loads, machines, lots and indicators, each as one line."""

from equip import facts
from equip.rules.cycles.boundaries import BOUNDARIES
from equip.rules.cycles.typed.fields import shown_name
from equip.rules.fitness.stopping import in_words
from equip.rules.logbook.names import Names, Tellers, because, done_by
from equip.rules.wording import exact_span, several

_TURNED = {"pass": "turned as it should", "fail": "did not turn", "unclear": "unclear"}


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
    return said + because(fact.reasons)


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
    asked = f" Asked about its cycle:{because(fact.asked)}" if fact.asked else ""
    answer = f" Found: {fact.answer}" if fact.answer else ""
    out = several(list(fact.released)) or "nothing"
    alone = " By one person alone: somebody else looks at it after." if fact.alone else ""
    stated = f" Said Yes to:{because(fact.stated)}" if fact.stated else ""
    says = f"Load {fact.load} released: {out}.{held}{note}{stated}{alone}{asked}{answer}"
    return f"{says}{because(fact.lapses)}"


def _tested(fact: facts.MachineTested, names: Names) -> str:
    word = {"pass": "passed", "fail": "failed", "undecided": "cannot be judged"}[fact.verdict]
    read = several([f"{name} {value}" for name, value in fact.readings.items()])
    number = f", cycle {fact.cycle_no}" if fact.cycle_no else ""
    inside = f" in load {fact.load}" if fact.load else ""
    note = f" {fact.note}" if fact.note else ""
    return (
        f"Test “{fact.test.replace('-', ' ')}” of {fact.machine}{number}{inside} {word}"
        + (f": {read}." if read else ".")
        + because(fact.reasons)
        + note
    )


def _indicator(fact: facts.IndicatorRead, names: Names) -> str:
    pack = f" {fact.pack}" if fact.pack else ""
    again = ", looked at again" if fact.again else ""
    return (
        f"Indicator of lot {fact.lot} {fact.where}{pack}, load {fact.load}{again}: "
        f"{_TURNED[fact.result]}.{because(fact.reasons)}"
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
        f"{fact.result}{grew[fact.control_grew]}.{because(fact.reasons)}"
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


def _taken_over(fact: facts.LoadTakenOver, names: Names) -> str:
    word = {"pass": "passed and let go", "fail": "failed"}.get(fact.verdict or "", "no verdict")
    programme = f", {fact.programme}" if fact.programme else ""
    return (
        f"Load {fact.load} of the time before this book on {fact.machine}{programme}: {word}; "
        f"in it {several(list(fact.covers))}"
        + (f", put in by {several(list(fact.hands))}" if fact.hands else "")
        + "."
    )


TELLERS: Tellers = {
    facts.LoadOpened: lambda f, n: f"Load {f.load} opened on {f.machine}, {f.programme}.",
    facts.LoadAdded: lambda f, n: (
        f"{f.item} put into load {f.load}"
        + (f", with {several(list(f.covers))}" if f.covers else "")
        + "."
    ),
    facts.LoadRefused: lambda f, n: f"{f.item} kept out of load {f.load}:{because(f.reasons)}",
    facts.LoadTakenOut: lambda f, n: f"{f.item} taken out of load {f.load}.",
    facts.LotPut: lambda f, n: f"Lot {f.lot} put with load {f.load}.",
    facts.LoadStarted: lambda f, n: (
        f"Load {f.load} started on {f.machine}, {f.programme}"
        + (", values typed." if f.typed else ".")
        + done_by(f.lapses, f.supervisor)
    ),
    facts.LoadEnded: _ended,
    facts.EvidenceConfirmed: _read_again,
    facts.LoadTakenOver: _taken_over,
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
    facts.LotDescribed: lambda f, n: (
        f"Lot {f.lot} holds {f.agent}, told later: it stops "
        f"{in_words(f.stops) or 'nothing that is asked for'}."
        + (f" With it was wiped: {several(list(f.covers))}." if f.covers else "")
    ),
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
    facts.SheetSigned: lambda f, n: f"Sheet of {f.day} for {f.machine} signed.{because(f.lapses)}",
}
