"""The sheet of an injury, gathered from the book: as it is known now, and what was said then."""

from collections.abc import Mapping
from datetime import datetime
from fractions import Fraction

from equip import facts
from equip.deliver.paper.injury import BetweenLine, InjurySheet, SourceLine
from equip.desk.act.act import Act
from equip.desk.clinic import Clinic
from equip.desk.lookback import gate_words, injuries
from equip.desk.lookback.history import title
from equip.desk.lookback.injuries import CarriedBy, may_carry
from equip.facts import MayCarry, moment
from equip.rules.lookback.carried import last_gate
from equip.rules.lookback.sweep import Contact
from equip.scan import show_tag
from equip.store.ledger import ledger
from equip.store.ledger.about import newest_about, told_about
from equip.store.ledger.ledger import Entry

SURE = {
    "certain": "certain: nothing recorded lies between that use and the injury",
    "no-proof": "no proof: what was done between is not judged, or a step before it is not told",
    "possible": "possible: it was mixed with others, and nobody can tell which it was",
}
CAUTIONS = (
    "This sheet says what is recorded. It does not say what the injury may lead to: that is for "
    "occupational health, local policy and law.",
    "Asked about bacteria and viruses. Against prions nothing in this book counts as effective: "
    "for that question the whole history of the instrument matters.",
)


def injury_at(clinic: Clinic, site: str, position: int) -> Entry | None:
    """The entry of an injury; None if that is none."""
    found = ledger.entry(clinic.store, site, position)
    return found if found is not None and isinstance(found.fact, facts.Hurt) else None


def newest_injury(clinic: Clinic, tag: str) -> Entry | None:
    """The last time that somebody was hurt by a thing; None if nobody was."""
    newest = newest_about(clinic.store, tag, 20)
    if not any(isinstance(one.fact, facts.Hurt) for one in newest):
        newest = told_about(clinic.store, tag)
    hurt = [one for one in newest if isinstance(one.fact, facts.Hurt) and one.fact.item == tag]
    return hurt[-1] if hurt else None


def tokens_in(clinic: Clinic, entry: Entry) -> list[str]:
    """Every patient whom the sheet names."""
    fact = _hurt(entry)
    found = may_carry(clinic, fact.item, fact.at)
    patients = [one.patient for one in found.carried] + [one.patient for one in found.between]
    return sorted({one for one in patients if one})


def unmask(act: Act, entry: Entry, reason: str) -> dict[str, str]:
    """Who these patients are, for whoever looks after the injured; each is written down."""
    tokens = tokens_in(act.clinic, entry)
    for token in tokens:
        act.tell(facts.Unmasked, patient=token, reason=reason)
    return {token: act.clinic.vault.reveal(token) for token in tokens}


def sheet(
    clinic: Clinic, entry: Entry, now: datetime, references: Mapping[str, str] | None = None
) -> InjurySheet:
    """All that the sheet says; patients as tokens unless their *references* were looked up."""
    fact = _hurt(entry)
    found = may_carry(clinic, fact.item, fact.at)
    who = references or {}
    return InjurySheet(
        clinic=f"{clinic.house.name} (site {clinic.house.site})",
        entry=entry.path,
        person=clinic.house.person_name(fact.person),
        instrument=_instrument(clinic, fact.item),
        when=_stamp(clinic, fact.at),
        sources=tuple(_source(clinic, one, who) for one in found.carried),
        last_gates=tuple(_last_gates(clinic, found)),
        between=tuple(_between(clinic, found, who)),
        not_known=tuple(injuries.unknown(item) for item in found.not_known),
        since_told=_since_told(fact, found),
        unmasked="Patients stand by their references: who looked them up, and why, is in the book."
        if references is not None
        else "Patients stand by tokens. A manager can look up who they are, with a reason.",
        cautions=CAUTIONS,
        made=_stamp(clinic, now),
    )


def _hurt(entry: Entry) -> facts.Hurt:
    fact = entry.fact
    assert isinstance(fact, facts.Hurt)  # noqa: S101 — asked only for such an entry
    return fact


def _instrument(clinic: Clinic, tag: str) -> str:
    if tag.startswith("L"):
        return f"an untagged instrument of load {show_tag(tag)}"
    return title(clinic, tag)


def _source(clinic: Clinic, carried: MayCarry, who: Mapping[str, str]) -> SourceLine:
    share = Fraction(carried.share)
    part = "" if share == 1 else f" ({injuries.share_says(share)})"
    patient = (
        who.get(carried.patient, carried.patient) if carried.patient else "from outside, not known"
    )
    item = title(clinic, carried.item)
    return SourceLine(patient, _stamp(clinic, carried.at), item, SURE[carried.certainty] + part)


def _last_gates(clinic: Clinic, found: CarriedBy) -> list[tuple[str, str]]:
    rows = []
    for item in found.items:
        gate = last_gate(found.between, item)
        says = "None is recorded."
        if gate is not None:
            says = f"{_stamp(clinic, moment(gate.at))}, {gate_words.name(gate)}, {gate.entry}"
        rows.append((title(clinic, item), says))
    return rows


def _between(clinic: Clinic, found: CarriedBy, who: Mapping[str, str]) -> list[BetweenLine]:
    """Everything after the last gate that cleared each thing, mixing included."""
    since: dict[str, int] = {}
    for contact in found.between:
        if contact.effect == "clears":
            since[contact.item] = max(contact.at, since.get(contact.item, contact.at))
    return [
        BetweenLine(
            when=_stamp(clinic, moment(contact.at)),
            item=title(clinic, contact.item),
            says=_says(clinic, contact, who),
            entry=contact.entry,
        )
        for contact in found.between
        if contact.effect != "clears" and contact.at >= since.get(contact.item, contact.at)
    ]


def _says(clinic: Clinic, contact: Contact, who: Mapping[str, str]) -> str:
    match contact.what:
        case "use":
            return f"Used on, or opened for, patient {who.get(contact.patient, contact.patient)}."
        case "outside":
            return "Came in from outside: whom it met there is not known."
        case "made":
            out_of = f"load {show_tag(contact.ref)}" if contact.ref else "no load that is told"
            return f"Packed with untagged contents out of {out_of}."
        case _:
            return f"{gate_words.says(clinic, contact)}."


def _since_told(fact: facts.Hurt, found: CarriedBy) -> str:
    """Late entries may have changed what was said at the bench; the sheet says so."""
    now = {one.patient for one in found.carried if one.patient}
    then = set(fact.sources)
    if now == then:
        return ""
    return (
        f"At the bench {len(then)} of them were named; entries made later changed that: "
        f"{len(now - then)} more, {len(then - now)} fewer."
    )


def _stamp(clinic: Clinic, at: datetime) -> str:
    return f"{at.astimezone(clinic.house.zone):%Y-%m-%d %H:%M}"
