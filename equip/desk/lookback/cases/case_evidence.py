"""From evidence on a page to what it puts in doubt: gathered here, worked out by `rules.doubt`."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import get_args

from equip import facts
from equip.desk.act.act import Refused
from equip.desk.clinic import Clinic
from equip.desk.lookback import exposure_answer
from equip.desk.lookback.cases import spore_doubt
from equip.desk.lookback.history import title
from equip.facts import ItemType, Process, micros, moment
from equip.rules.loads.load import Load
from equip.rules.lookback import doubt_scope
from equip.rules.lookback.doubt_scope import Did, Evidence, Proposal, Ran
from equip.rules.machines.leak_and_spores import Doubt
from equip.rules.machines.sheet import kinds_for
from equip.store.fold.met import Contacts
from equip.store.ledger import ledger
from equip.store.ledger.about import told_about, withdrawn
from equip.store.readings import item_rows, load_rows, machine_rows
from equip.typed import is_digits


@dataclass(frozen=True, slots=True)
class EvidenceSeen:
    """What somebody saw: the sort of evidence, what it is about, and what more it needs.

    Of *since* and *until* both days are included. *more* is the test that failed or the step
    that was left out; *defect* says that the machine was found at fault.
    """

    evidence: Evidence
    about: str
    since: date | None = None
    until: date | None = None
    more: str = ""
    defect: bool = False


NEEDS_PERIOD = frozenset({"person", "step", "machine", "place"})
MAY_HAVE_PERIOD = frozenset({"patient", "water", "damage", "out-of-tolerance"})


def evidence_named(text: str) -> Evidence:
    if text not in get_args(Evidence):
        raise Refused(f"“{text}” is no sort of evidence here: open the look-back from its page.")
    return text  # type: ignore[return-value]


def propose(clinic: Clinic, asked: EvidenceSeen, now: datetime) -> Proposal:
    """What the evidence puts in doubt, with one sentence; nothing is written down."""
    if asked.since and asked.until and asked.until < asked.since:
        raise Refused(f"The time ends ({asked.until}) before it begins ({asked.since}).")
    if asked.evidence in NEEDS_PERIOD and asked.since is None:
        raise Refused("Say from which day on: the first day that is in doubt.")
    if asked.evidence == "step" and not asked.more:
        raise Refused("Say which step was left out.")
    period = _period(clinic, asked, now)
    match asked.evidence:
        case "load":
            return _of_load(clinic, asked.about)
        case "machine-test":
            return _of_test(clinic, asked)
        case "spores":
            return _of_spores(clinic, asked, now)
        case "sensor":
            return _of_sensor(clinic, asked.about)
        case "patient":
            return _of_patient(clinic, asked, period)
        case "damage":
            return _of_damage(clinic, asked, now)
        case "out-of-tolerance":
            return _of_tolerance(clinic, asked, period)
        case "water":
            return _of_water(clinic, asked, period)
        case "place":
            return _of_place(clinic, asked.about, period)
        case _:
            return _of_period(clinic, asked, period)


def _of_period(clinic: Clinic, asked: EvidenceSeen, period: tuple[datetime, datetime]) -> Proposal:
    name = _name(clinic, asked.about)
    match asked.evidence:
        case "lot":
            scope = exposure_answer.of_lot(clinic, asked.about)
            return doubt_scope.of_lot(name, scope.loads, scope.gates)
        case "person":
            scope = exposure_answer.of_person(clinic, asked.about, *period)
            return doubt_scope.of_person(name, scope.loads, scope.gates, *period)
        case "step":
            return doubt_scope.of_step(asked.more, name, _gates(clinic, asked.about), *period)
        case _:
            ran = _ran(load_rows.loads_of(clinic.store, asked.about))
            return doubt_scope.of_period("machine", name, ran, *period)


def _of_load(clinic: Clinic, tag: str) -> Proposal:
    load = load_rows.load_of(clinic.store, tag)
    if load is None:
        raise Refused(f"{tag} is no load in this book.")
    return doubt_scope.of_load(tag, tag, load.verdict, released=load.state == "released")


def _of_test(clinic: Clinic, asked: EvidenceSeen) -> Proposal:
    """The newest failure of that test; the last good is the same test before it."""
    process = _process(clinic, asked.about)
    kind = next((one for one in kinds_for(process) if one.id == asked.more), None)
    tests = [
        test for test in machine_rows.tests_of(clinic.store, asked.about) if test.test == asked.more
    ]
    failed = next((test.at for test in reversed(tests) if test.verdict == "fail"), None)
    if kind is None or failed is None:
        raise Refused("No test of that name failed on this machine.")
    good = [test.at for test in tests if test.verdict == "pass" and test.at < failed]
    return doubt_scope.of_machine_test(
        kind.name,
        _name(clinic, asked.about),
        clinic.house.rules(failed).text(f"test.{kind.id}.failed"),
        _ran(load_rows.loads_of(clinic.store, asked.about)),
        good[-1] if good else None,
        failed,
        defect=asked.defect,
    )


def _of_spores(clinic: Clinic, asked: EvidenceSeen, now: datetime) -> Proposal:
    process = _process(clinic, asked.about)
    found = spore_doubt.scope(clinic, asked.about, process, now, defect=asked.defect)
    scope = Doubt(found.proposed, found.back_in_service, found.unused_stock_held, found.reasons)
    return doubt_scope.of_spores(_name(clinic, asked.about), scope)


def _of_sensor(clinic: Clinic, path: str) -> Proposal:
    """From the entry that says which cycles were judged again and came out otherwise."""
    site, _, position = path.rpartition("/")
    entry = ledger.entry(clinic.store, site, int(position)) if is_digits(position, 18) else None
    fact = entry.fact if entry else None
    if not isinstance(fact, facts.Rejudged):
        raise Refused(f"“{path}” is no entry of cycles that were judged again.")
    verdicts = dict(zip(fact.flipped, fact.verdicts, strict=True))
    loads = [load_rows.load_of(clinic.store, tag) for tag in fact.flipped]
    flips = [(ran, verdicts[ran.load]) for ran in _ran(one for one in loads if one is not None)]
    return doubt_scope.of_sensor(_name(clinic, fact.machine), flips)


def _of_patient(clinic: Clinic, asked: EvidenceSeen, period: tuple[datetime, datetime]) -> Proposal:
    first, last = (micros(one) for one in period)
    uses = [one for one in Contacts(clinic.store).uses_on(asked.about) if first <= one.at <= last]
    if not uses:
        raise Refused("Nothing is recorded as used on this patient in that time.")
    since = period[0] if asked.since else None
    until = period[1] if asked.until else None
    return doubt_scope.of_patient(asked.about, len(uses), since, until)


def _of_damage(clinic: Clinic, asked: EvidenceSeen, now: datetime) -> Proposal:
    """Found at its newest inspection that failed since the last good one, else now."""
    item = asked.about
    entries = told_about(clinic.store, item)
    gone = withdrawn(clinic.store, (entry.fact.act for entry in entries))
    looked = [
        entry.fact
        for entry in entries
        if isinstance(entry.fact, facts.Stepped)
        and entry.fact.step == "inspect"
        and entry.fact.act not in gone
    ]
    failed = next((one.at for one in reversed(looked) if not one.passed), None)
    passed = [one.at for one in looked if one.passed]
    good = passed[-1] if passed else None
    if failed is not None and good is not None and failed > good:
        return doubt_scope.of_damage(_name(clinic, item), _gates(clinic, item), good, failed)
    return doubt_scope.of_damage(_name(clinic, item), _gates(clinic, item), good, now)


def _of_tolerance(
    clinic: Clinic, asked: EvidenceSeen, period: tuple[datetime, datetime]
) -> Proposal:
    """The uses of a measuring thing in the time, the day it was last good included."""
    first, last = period
    entries = told_about(clinic.store, asked.about)
    gone = withdrawn(clinic.store, (entry.fact.act for entry in entries))
    uses = [
        entry.fact
        for entry in entries
        if isinstance(entry.fact, facts.Used)
        and first <= entry.fact.at <= last
        and entry.fact.act not in gone
    ]
    patients = {use.patient for use in uses if use.patient}
    good = first if asked.since else None
    return doubt_scope.of_tolerance(
        _name(clinic, asked.about), len(uses), len(patients), good, last
    )


def _of_water(clinic: Clinic, asked: EvidenceSeen, period: tuple[datetime, datetime]) -> Proposal:
    machines = _machines_at(clinic, asked.about) if asked.about[0] == "R" else [asked.about]
    loads = [load for machine in machines for load in load_rows.loads_of(clinic.store, machine)]
    paths = [did for machine in machines for did in _gates(clinic, machine)]
    good = period[0] if asked.since else None
    return doubt_scope.of_water(_name(clinic, asked.about), _ran(loads), good, period[1], paths)


def _of_place(clinic: Clinic, place: str, period: tuple[datetime, datetime]) -> Proposal:
    """Machines that stand there by their loads, and what was put away there and lay there then."""
    loads = [
        load
        for machine in _machines_at(clinic, place)
        for load in load_rows.loads_of(clinic.store, machine)
    ]
    stored = _stored_at(clinic, place, *period)
    return doubt_scope.of_period("place", _name(clinic, place), _ran(loads), *period, stored)


def _stored_at(clinic: Clinic, place: str, since: datetime, until: datetime) -> Iterator[Did]:
    """The last decontamination of each thing that lay at *place* at some time of the period."""
    history = Contacts(clinic.store)
    for entry in told_about(clinic.store, place):
        fact = entry.fact
        if not isinstance(fact, facts.Placed) or fact.at > until:
            continue
        for item in (fact.item, *fact.covers):
            used = (
                contact for contact in history.after(item, micros(fact.at)) if contact.what == "use"
            )
            left = next((moment(contact.at) for contact in used), None)
            before = history.before(item, micros(fact.at))
            gate = next((contact for contact in before if contact.what == "gate"), None)
            if gate is not None and (left is None or left >= since):
                yield Did(item, gate.ref, moment(gate.at))


def _gates(clinic: Clinic, item: str) -> list[Did]:
    """Every decontamination of an item; of a set or a pack, of what is in it."""
    standing = item_rows.standing_of(clinic.store, item)
    history = Contacts(clinic.store)
    return [
        Did(member, contact.ref, moment(contact.at))
        for member in (item, *(standing.members if standing else ()))
        for contact in history.of(member)
        if contact.what == "gate"
    ]


def _ran(loads: Iterable[Load]) -> list[Ran]:
    return [
        Ran(load.load, load.ended, load.verdict, load.state == "released")
        for load in loads
        if load.ended is not None
    ]


def _machines_at(clinic: Clinic, place: str) -> list[str]:
    return [
        standing.item
        for standing in item_rows.standings(clinic.store)
        if standing.place == place and _has_water(clinic.house.kind(standing.type))
    ]


def _has_water(kind: ItemType) -> bool:
    """Whether it runs loads, or sends water into patients."""
    return kind.process is not None or kind.holds == "day"


def _process(clinic: Clinic, machine: str) -> Process:
    standing = item_rows.standing_of(clinic.store, machine)
    process = clinic.house.kind(standing.type).process if standing else None
    if process is None:
        raise Refused(f"{machine} is no machine with tests of its own.")
    return process


def _name(clinic: Clinic, subject: str) -> str:
    if not told_about(clinic.store, subject):
        raise Refused(f"Nothing in this book goes by “{subject}”: open it from its page.")
    return title(clinic, subject)


def _period(clinic: Clinic, asked: EvidenceSeen, now: datetime) -> tuple[datetime, datetime]:
    """From the start of the first day to the end of the last, by the clock of the clinic."""
    zone = clinic.house.zone
    first = datetime.combine(asked.since or date(1970, 1, 2), time(0), zone)
    if asked.until is None:
        return first, now
    after = datetime.combine(asked.until + timedelta(days=1), time(0), zone)
    return first, after - timedelta(microseconds=1)
