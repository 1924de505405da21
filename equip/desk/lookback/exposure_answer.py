"""Look-backs: which gates a question puts in doubt, who was exposed then, who was anyway.

The answer is the same sweep with those gates taken for nothing, less the pairs of a use and a
source that were open without it. Asked from a source patient, nothing is taken away.
"""

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby

from equip import facts
from equip.desk.act.act import Refused
from equip.desk.clinic import Clinic
from equip.facts import Hazard, micros
from equip.rules.fitness.stopping import USUAL
from equip.rules.lookback.reach import around
from equip.rules.lookback.sweep import Contact, Exposure, Source, sweep
from equip.store.fold import exposures
from equip.store.fold.met import Contacts, Doubted, clears
from equip.store.ledger.about import told_about
from equip.store.ledger.ledger import Entry
from equip.store.readings import item_rows, load_rows, lot_rows, past_rows
from equip.typed import maybe_tag

_FIRST, _LAST = -(2**62), 2**62


@dataclass(frozen=True, slots=True)
class Scope:
    """What is in doubt: whole loads and single gates; or, instead, a patient as the source.

    *standing* says that a look-back of the book holds just this in doubt already.
    """

    loads: tuple[str, ...] = ()
    gates: tuple[tuple[str, str], ...] = ()
    patient: str = ""
    since: datetime | None = None
    until: datetime | None = None
    standing: bool = False


@dataclass(frozen=True, slots=True)
class ExposureAnswer:
    """Who was exposed by the doubt, who was exposed anyway, which uses nobody can trace."""

    scope: Scope
    hazard: Hazard
    exposures: tuple[Exposure, ...]
    already_open: tuple[Exposure, ...]
    gaps: tuple[Contact, ...]
    uses_looked_at: int

    @property
    def traceable(self) -> float | None:
        """The share of the uses that were looked at which stand on something known."""
        if not self.uses_looked_at:
            return None
        return 1 - len(self.gaps) / self.uses_looked_at


# --- what a question puts in doubt --------------------------------------------------------------


def of_machine(clinic: Clinic, machine: str, since: datetime, until: datetime) -> Scope:
    """Every load of a machine whose cycle ended between the two moments, both included.

    Of a machine that meets patients, what was done to its own water path then as well.
    """
    loads = load_rows.loads_of(clinic.store, machine)
    found = [load.load for load in loads if load.ended and since <= load.ended <= until]
    gates = [
        (machine, one.ref)
        for one in Contacts(clinic.store).of(machine)
        if one.what == "gate" and micros(since) <= one.at <= micros(until)
    ]
    return Scope(loads=tuple(found), gates=tuple(gates), since=since, until=until)


def of_item(clinic: Clinic, item: str, since: datetime) -> Scope:
    """Every decontamination of one item from a moment on, as when it is found damaged."""
    standing = item_rows.standing_of(clinic.store, item)
    history = Contacts(clinic.store)
    members = (item, *(standing.members if standing else ()))
    gates = [
        (member, contact.ref)
        for member in members
        for contact in history.of(member)
        if contact.what == "gate" and contact.at >= micros(since)
    ]
    return Scope(gates=tuple(gates), since=since)


def of_person(clinic: Clinic, person: str, since: datetime, until: datetime) -> Scope:
    """Every load and step that somebody had a hand in between two moments, both included."""
    entries = [e for e in told_about(clinic.store, person) if since <= e.fact.at <= until]
    loads, gates = _touched_by(clinic, entries)
    return Scope(loads=loads, gates=gates, since=since, until=until)


def of_lot(clinic: Clinic, lot: str) -> Scope:
    """Every load and step that a lot was used in."""
    loads, gates = _touched_by(clinic, told_about(clinic.store, lot))
    return Scope(loads=loads, gates=gates)


def _touched_by(
    clinic: Clinic, entries: Iterable[Entry]
) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """Loads that are named, and for each step by hand the gate that it is or that rests on it."""
    history = Contacts(clinic.store)
    loads: dict[str, None] = {}
    gates: dict[tuple[str, str], None] = {}
    for entry in entries:
        fact = entry.fact
        if isinstance(fact, facts.Stepped):
            for item in (fact.item, *fact.covers):
                for contact in history.after(item, micros(fact.at)):
                    if contact.what == "use":
                        break
                    if contact.what == "gate":
                        gates[item, contact.ref] = None
                        break
        elif load := getattr(fact, "load", ""):
            loads[load] = None
    return tuple(loads), tuple(gates)


# --- the answer ---------------------------------------------------------------------------------


def look_back(
    clinic: Clinic, scope: Scope, hazard: Hazard = USUAL, generations: int = 1
) -> ExposureAnswer:
    """Who was exposed: by the doubt alone, or by the patient whom it is asked of."""
    if hazard == "prions" and not scope.patient:
        raise Refused(
            "Nothing here stops prions, so every use would be listed: ask from a named patient."
        )
    if scope.patient:
        return _from_patient(clinic, scope, hazard, generations)
    return _from_doubt(clinic, scope, hazard, generations)


def _from_doubt(clinic: Clinic, scope: Scope, hazard: Hazard, generations: int) -> ExposureAnswer:
    doubted = Doubted(frozenset(scope.loads), frozenset(scope.gates), scope.standing)
    then = Contacts(clinic.store, hazard, doubted)
    starts = [(gate.item, gate.at) for load in scope.loads for gate in then.gates_of(load)]
    starts += [
        (item, contact.at)
        for item, ref in scope.gates
        for contact in then.gates_of(ref)
        if contact.item == item
    ]
    looked_at = around(then, starts, clears)
    found = list(sweep(looked_at))
    before = _pairs(sweep(then.without_doubt(looked_at)))
    added = _less(found, before)
    answer = ExposureAnswer(
        scope=scope,
        hazard=hazard,
        exposures=tuple(added),
        already_open=tuple(_less(open_now(clinic, hazard), _pairs(added))),
        gaps=tuple(then.gaps_in(looked_at)),
        uses_looked_at=sum(contact.what == "use" for contact in looked_at),
    )
    return _further(then, answer, generations)


def _from_patient(clinic: Clinic, scope: Scope, hazard: Hazard, generations: int) -> ExposureAnswer:
    history = Contacts(clinic.store, hazard)
    first = _FIRST if scope.since is None else micros(scope.since)
    last = _LAST if scope.until is None else micros(scope.until)
    uses = [one for one in history.uses_on(scope.patient) if first <= one.at <= last]
    looked_at = around(history, [(one.item, one.at) for one in uses], clears)
    wanted = {one.ref for one in uses}
    found = _by(sweep(looked_at), wanted)
    answer = ExposureAnswer(
        scope=scope,
        hazard=hazard,
        exposures=tuple(found),
        already_open=(),
        gaps=tuple(history.gaps_in(looked_at)),
        uses_looked_at=sum(contact.what == "use" for contact in looked_at),
    )
    return _further(history, answer, generations)


def _further(history: Contacts, answer: ExposureAnswer, generations: int) -> ExposureAnswer:
    """Whom those exposed may have exposed in turn, generation by generation."""
    known = _pairs(answer.exposures)
    listed = list(answer.exposures)
    wave = list(listed)
    for _ in range(generations - 1):
        since: dict[str, int] = {}
        for exposure in wave:
            since[exposure.patient] = min(exposure.at, since.get(exposure.patient, exposure.at))
        wave = []
        for patient, at in since.items():
            later = [use for use in history.uses_on(patient) if use.at >= at]
            wanted = {use.ref for use in later}
            looked_at = around(history, [(use.item, use.at) for use in later], clears)
            wave += _less(_by(sweep(looked_at), wanted), known)
        wave = _joined(wave)
        known |= _pairs(wave)
        listed = _joined([*listed, *wave])
        if not wave:
            break
    return replace(answer, exposures=tuple(listed))


def open_now(clinic: Clinic, hazard: Hazard = USUAL) -> list[Exposure]:
    """Every exposure on present knowledge, whether a look-back decided it or not.

    Against the usual hazard they are kept as they stand; against another every item is swept.
    """
    if hazard == USUAL:
        return exposures.exposures_now(clinic.store)
    history = Contacts(clinic.store, hazard)
    found: list[Exposure] = []
    for item in exposures.items_used(clinic.store):
        found += exposures.every_by(history, item)
    return sorted(found, key=_in_order)


def _in_order(exposure: Exposure) -> tuple[int, str, str]:
    return exposure.at, exposure.item, exposure.use


# --- pairs --------------------------------------------------------------------------------------

Pair = tuple[str, str, str]


def _pairs(found: Iterable[Exposure]) -> set[Pair]:
    return {
        (exposure.item, exposure.use, source.use)
        for exposure in found
        for source in exposure.sources
    }


def _less(found: Iterable[Exposure], known: set[Pair]) -> list[Exposure]:
    kept = (
        _with(
            exposure,
            [s for s in exposure.sources if (exposure.item, exposure.use, s.use) not in known],
        )
        for exposure in found
    )
    return [exposure for exposure in kept if exposure is not None]


def _by(found: Iterable[Exposure], uses: Container[str]) -> list[Exposure]:
    """What is left of exposures by these uses as sources."""
    kept = (_with(exposure, [s for s in exposure.sources if s.use in uses]) for exposure in found)
    return [exposure for exposure in kept if exposure is not None]


def _with(exposure: Exposure, sources: Sequence[Source]) -> Exposure | None:
    """The exposure by these sources alone; None if there are none."""
    if not sources:
        return None
    surest = max(source.certainty for source in sources)
    share = (
        exposure.share if len(sources) == len(exposure.sources) else max(s.share for s in sources)
    )
    return exposure._replace(certainty=surest, share=share, sources=tuple(sources))


def _joined(found: Iterable[Exposure]) -> list[Exposure]:
    """One exposure a use of an item, with every source once."""
    key = lambda exposure: (exposure.at, exposure.item, exposure.use)  # noqa: E731
    joined = []
    for _, group in groupby(sorted(found, key=key), key=key):
        same_use = list(group)
        sources = {source.use: source for exposure in same_use for source in exposure.sources}
        whole = _with(same_use[0]._replace(sources=()), list(sources.values()))
        if whole is not None:
            joined.append(whole._replace(share=max(exposure.share for exposure in same_use)))
    return joined


# --- names --------------------------------------------------------------------------------------


def load_named(clinic: Clinic, text: str) -> str:
    """The load of that tag, old name or, if it is the only one, machine's own number."""
    return _named(clinic, "load", text, "L")


def item_named(clinic: Clinic, text: str, letters: str = "EDPS") -> str:
    known = item_rows.aliased(clinic.store, text)
    if known is not None and known[0] in letters:
        return known
    return _named(clinic, "item", text, letters)


def person_named(clinic: Clinic, text: str) -> str:
    named = [one.tag for one in clinic.house.staff.values() if one.name.lower() == text.lower()]
    if len(named) == 1:
        return named[0]
    return _named(clinic, "person", text, "B")


def lot_named(clinic: Clinic, text: str) -> str:
    named = [lot.tag for lot in lot_rows.lots(clinic.store) if lot.number == text]
    if len(named) == 1:
        return named[0]
    return _named(clinic, "lot", text, "T")


def _named(clinic: Clinic, sort: str, text: str, letters: str) -> str:
    if (known := past_rows.old_name(clinic.store, sort, text)) is not None:
        return known
    tag = maybe_tag(text)
    if tag and tag[0] in letters and told_about(clinic.store, tag):
        return tag
    raise Refused(f"“{text}” is no {sort} in this book: check the spelling.")
