"""Uses: one patient, one moment, the things used or opened. A projection of the ledger."""

from collections.abc import Sequence
from typing import Any

from equip import facts
from equip.facts import Fact, micros
from equip.rules.fitness.standing import settled
from equip.store.database import Store
from equip.store.ledger.about import told_about
from equip.store.ledger.ledger import Entry

USE_KINDS = (facts.UseBegun, facts.UseNoted, facts.UseFinished)


def project_uses(store: Store, entries: Sequence[Entry]) -> None:
    """Bring the table of uses up to date; whatever is added to a use tells it again in order."""
    begun: list[tuple[Any, ...]] = []
    for entry in entries:
        fact = entry.fact
        if isinstance(fact, facts.UseBegun):
            begun.append(_begun(entry.site, fact))
            continue
        store.many(_BEGIN, begun)
        begun = []
        if isinstance(fact, facts.Withdrawn):
            for use in _uses_in(store, fact.covers):
                _tell_again(store, use)
        elif isinstance(fact, facts.UseNoted | facts.UseFinished | facts.MovedToPatient):
            _tell_again(store, fact.use)
    store.many(_BEGIN, begun)


_BEGIN = (
    "INSERT INTO use (id, site, patient, at, who, place, ear, soil)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, '') ON CONFLICT (id) DO NOTHING"
)


def _begun(site: str, fact: facts.UseBegun) -> tuple[Any, ...]:
    return fact.use, site, fact.patient, micros(fact.at), fact.by, fact.place, fact.ear


def _uses_in(store: Store, subjects: Sequence[str]) -> list[str]:
    return [s for s in subjects if store.one("SELECT 1 FROM use WHERE id = ?", s) is not None]


def _tell_again(store: Store, use: str) -> None:
    store.run("DELETE FROM use WHERE id = ?", use)
    entries = told_about(store, use)
    for index, fact in settled([entry.fact for entry in entries]):
        _tell(store, entries[index].site, fact)


def _tell(store: Store, site: str, fact: Fact) -> None:
    match fact:
        case facts.UseBegun():
            store.run(_BEGIN, *_begun(site, fact))
        case facts.UseNoted():
            if fact.ear:
                store.run("UPDATE use SET ear = ? WHERE id = ?", fact.ear, fact.use)
            if fact.soil:
                store.run("UPDATE use SET soil = ? WHERE id = ?", fact.soil, fact.use)
        case facts.UseFinished():
            store.run("UPDATE use SET finished = ? WHERE id = ?", micros(fact.at), fact.use)
        case _:
            pass
