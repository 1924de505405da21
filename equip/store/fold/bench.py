"""The bench as the ledger tells of it: uses, checks ahead of a session, acts taken back."""

from collections.abc import Sequence
from typing import Any

from equip import facts
from equip.facts import Fact, micros
from equip.rules.fitness.standing import settled
from equip.store.database import Store
from equip.store.fold.by_kind import Folds
from equip.store.ledger.about import told_about
from equip.store.ledger.ledger import Entry

# --- checks ahead of a session, and acts taken back -----------------------------------------

_KEEP_CHECK = (
    "INSERT INTO checked (item, sort, at, site, position, passed, value, unit, says, who, act)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)


def _check(store: Store, entry: Entry, fact: facts.Checked) -> None:
    store.run(
        _KEEP_CHECK,
        fact.item,
        fact.check,
        micros(fact.at),
        entry.site,
        entry.position,
        int(fact.passed),
        "" if fact.value is None else str(fact.value),
        fact.unit,
        " ".join(reason.says for reason in fact.reasons),
        fact.by,
        fact.act,
    )


def _checks_over(store: Store, entry: Entry, fact: facts.ChecksOver) -> None:
    """Those made before it count no longer: a row without a sort of check for each item."""
    place = (micros(fact.at), entry.site, entry.position)
    told = (0, "", "", "", fact.by, fact.act)
    store.many(_KEEP_CHECK, [(item, "", *place, *told) for item in fact.covers])


def _withdrawn(store: Store, entry: Entry, fact: facts.Withdrawn) -> None:
    store.run("INSERT INTO withdrawn (act) VALUES (?) ON CONFLICT DO NOTHING", fact.withdrawn)


FOLDS: Folds = {
    facts.Checked: _check,
    facts.ChecksOver: _checks_over,
    facts.Withdrawn: _withdrawn,
}
"""The kinds of fact of the bench that stand alone, each with the function that folds it."""


# --- uses: one patient, one moment, the items used or opened --------------------------------

_USE_KINDS = (
    facts.UseBegun,
    facts.UseNoted,
    facts.UseFinished,
    facts.Withdrawn,
    facts.MovedToPatient,
)


def fold_uses(store: Store, entries: Sequence[Entry]) -> None:
    """Bring the table of uses up to date; whatever is added to a use tells it again in order."""
    begun: list[tuple[Any, ...]] = []
    for entry in entries:
        fact = entry.fact
        if not isinstance(fact, _USE_KINDS):
            continue
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
