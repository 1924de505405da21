"""What the cycle record of a load says, gathered from the book; `deliver.record` puts it on paper.

A patient reference stands in none of what is gathered here.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from equip import typed
from equip.deliver.paper.record import CycleRecord, RecordedReason, RecordedRule, RecordedThing, pdf
from equip.desk.act.act import Refused
from equip.desk.clinic import Clinic, House
from equip.desk.cycles.picture.cycle import drawn_of
from equip.desk.cycles.reasons import CAUTION, explained
from equip.facts import RuleUsed
from equip.rules.cycles import figures
from equip.rules.loads.load import Load
from equip.rules.wording import several
from equip.scan import show_tag
from equip.store.ledger import ledger
from equip.store.ledger.about import told_about, withdrawn
from equip.store.ledger.ledger import Entry
from equip.store.readings import case_rows, item_rows, load_rows

_STANDS = {"pass": "Passed", "fail": "Failed", "undecided": "Cannot be judged"}
_BASIS = {
    "memory": "memory: check it",
    "second-hand": "second-hand: check it",
    "common practice": "common practice: check it",
    "clinic": "this clinic",
}


def load_named(clinic: Clinic, text: str) -> Load:
    """The load of that tag, however it was typed; Refused if there is none."""
    tag = typed.tag(text)
    load = load_rows.load_of(clinic.store, tag)
    if load is None:
        raise Refused(f"There is no load {show_tag(tag)} in this book: check the tag.")
    return load


def record_pdf(clinic: Clinic, load: Load, now: datetime) -> bytes:
    """The cycle record as PDF, made at *now*; Refused while the load has not run."""
    return pdf(record_of(clinic, load, now))


def record_of(clinic: Clinic, load: Load, now: datetime) -> CycleRecord:
    """Everything the record says; Refused while the load has not run."""
    if load.state in ("filling", "running"):
        raise Refused(
            f"Load {show_tag(load.load)} has not ended yet: a cycle record is made once it has."
        )
    says = _Saying(clinic)
    entries = told_about(clinic.store, load.load)
    return CycleRecord(
        load=show_tag(load.load),
        clinic=f"{says.house.name} (site {says.house.site})",
        verdict=_STANDS.get(load.verdict or "", "Not judged"),
        good=load.verdict == "pass",
        decision=tuple(_decision(says, load)),
        identity=tuple(_identity(says, load)),
        reasons=tuple(_reasons(load)),
        drawn=drawn_of(clinic, load),
        no_picture=_no_picture(load),
        figures=tuple(figures.shown(load.figures)),
        rules=tuple(
            RecordedRule(
                id=rule.id,
                value=f"{rule.value} {rule.unit}".rstrip(),
                basis=_BASIS.get(rule.basis, rule.basis or "not told"),
                source=rule.source,
            )
            for rule in load.rules
        ),
        things=tuple(_things(says, load)),
        caution=CAUTION,
        proof=tuple(_proof(says, load, entries)),
        made=says.when(now),
    )


@dataclass(frozen=True, slots=True)
class _Saying:
    """Times, people and things of one clinic in words that last."""

    clinic: Clinic

    @property
    def house(self) -> House:
        return self.clinic.house

    def when(self, moment: datetime | None) -> str:
        """The whole date, with the zone's short name: nobody must guess which summer time."""
        if moment is None:
            return "not recorded"
        there = moment.astimezone(self.house.zone)
        return f"{there.day} {there:%b %Y %H:%M %Z}"

    def person(self, tag: str) -> str:
        return f"{self.house.person_name(tag)}, {show_tag(tag)}" if tag else "not recorded"

    def thing(self, tag: str) -> str:
        """Its type, its own name if it has one, its tag."""
        row = item_rows.item_row(self.clinic.store, tag)
        if row is None:
            return show_tag(tag)
        own = f", {row.name}" if row.name else ""
        return f"{self.house.kind(row.type).name}{own}, {show_tag(tag)}"


def _decision(says: _Saying, load: Load) -> Iterator[str]:
    if load.verdict == "undecided":
        yield "Treat it as not passed."
    if load.state == "released":
        held = sum(put.item in load.held for put in load.inside)
        but = f", but {held} of {len(load.inside)} held back" if held else ", all of it"
        yield f"Released {says.when(load.decided)} by {says.person(load.decided_by)}{but}."
        if load.stated:
            yield f"Said Yes to: {' '.join(one.says for one in load.stated)}"
    elif load.state == "rejected":
        yield f"Rejected {says.when(load.decided)} by {says.person(load.decided_by)}."
    else:
        yield "Not decided yet: nothing of it may be used."
    if load.note:
        yield f"{'Reason' if load.state == 'rejected' else 'Note'}: {load.note}"
    for case in case_rows.doubts(says.clinic.store):
        if load.load in case.loads:
            ended = "not decided yet" if case.decided is None else f"decided: {case.decision}"
            yield f"In look-back {case.case} since {says.when(case.raised)}, {ended}."


def _identity(says: _Saying, load: Load) -> Iterator[tuple[str, str]]:
    yield "Load", show_tag(load.load)
    yield "Machine", says.thing(load.machine)
    row = item_rows.item_row(says.clinic.store, load.machine)
    if row is not None and row.serial:
        yield "Its serial number", row.serial
    yield "Programme", _programme(says, load)
    yield "Cycle number", load.cycle_no or "none recorded"
    yield "Opened", says.when(load.opened)
    yield "Started", says.when(load.started)
    yield "Ended", says.when(load.ended)
    yield "Started by", says.person(load.started_by)
    yield "Evidence", _evidence(load)
    if load.second_reader:
        yield "Also read by", says.person(load.second_reader)


def _programme(says: _Saying, load: Load) -> str:
    machine = item_rows.standing_of(says.clinic.store, load.machine)
    process = says.house.kind(machine.type).process if machine else None
    known = process.programmes if process else ()
    name = next((p.name for p in known if p.judged_by == load.programme), "")
    return f"{name} ({load.programme})" if name else load.programme


def _evidence(load: Load) -> str:
    if load.log:
        return "the machine’s log"
    return "values read off the machine" if load.typed else "none"


def _no_picture(load: Load) -> str:
    if load.log:
        return "The log that was handed in cannot be drawn; its figures are those of the judgement."
    return "There is nothing to draw: no log was handed in."


def _reasons(load: Load) -> Iterator[RecordedReason]:
    for reason in explained(load):
        yield RecordedReason(reason.number, reason.says, reason.at, _by(reason.rules))


def _by(rules: Iterable[RuleUsed]) -> str:
    return "; ".join(f"{rule.id} {rule.value} {rule.unit}".rstrip() for rule in rules)


def _things(says: _Saying, load: Load) -> Iterator[RecordedThing]:
    for put in load.inside:
        inside = several([says.thing(one) for one in put.covers])
        yield RecordedThing(
            what=f"{says.thing(put.item)}, with {inside}" if inside else says.thing(put.item),
            wrapped="yes" if put.wrapped else "no",
            put_in_by=says.person(put.by),
            became=_became(load, put.item),
        )


def _became(load: Load, item: str) -> str:
    if item in load.released:
        return "released"
    if item in load.held:
        return "held back"
    return "rejected" if load.state == "rejected" else "not decided"


def _proof(says: _Saying, load: Load, entries: list[Entry]) -> Iterator[tuple[str, str]]:
    store = says.clinic.store
    yield "SHA-256 of the log", load.log or "no log"
    yield "Rule book, digest", load.book or "not judged"
    yield "Judged by", load.judge or "not judged"
    gone = withdrawn(store, (entry.fact.act for entry in entries))
    yield "Entries in the ledger", "; ".join(_positions(entries, gone))
    heads = ledger.heads(store)
    for site in sorted({entry.site for entry in entries}):
        yield f"Newest seal of {site}", f"{heads[site].seal.hex()} at {site}/{heads[site].position}"


def _positions(entries: Iterable[Entry], gone: set[str]) -> Iterator[str]:
    """What each entry tells and where it stands, those alike in one."""

    def told(entry: Entry) -> tuple[str, str]:
        kind = str(type(entry.fact).__struct_config__.tag).removeprefix("load-").replace("-", " ")
        back = " (taken back)" if entry.fact.act in gone else ""
        return f"{kind}{back}", entry.site

    for (kind, site), alike in groupby(entries, key=told):
        where = [entry.position for entry in alike]
        yield f"{kind} {site}/{', '.join(map(str, where))}"
