"""Look-backs as the ledger tells of them: cases, drills, rehearsals, and what they do to gates.

A gate in doubt counts as failed from the moment it is doubted until it is not. A decision is
about the pairs of a use and a source that it names; whatever else turns up is open.
"""

from collections.abc import Iterable

from equip import facts
from equip.facts import micros
from equip.store.database import Store
from equip.store.fold.by_kind import Folds
from equip.store.fold.changed import Changed
from equip.store.fold.resting import packs_rest_again, rest_again
from equip.store.ledger.ledger import Entry

# --- the tables of cases, drills and rehearsals, as lists show them --------------------------


def _raised(store: Store, entry: Entry, fact: facts.DoubtRaised) -> None:
    store.run(
        "INSERT INTO doubt (case_id, raised, loads, why, who, unfounded, evidence, about,"
        " held, patient, hazard) VALUES (?, ?, ?, ?, ?, 0, '', '', '', '', '')"
        " ON CONFLICT (case_id) DO NOTHING",
        fact.case,
        micros(fact.at),
        ",".join(fact.loads),
        fact.why,
        fact.by,
    )


def _scoped(store: Store, entry: Entry, fact: facts.DoubtScoped) -> None:
    store.run(
        "UPDATE doubt SET loads = ?, evidence = ?, about = ?, held = ?, patient = ?, since = ?,"
        " until = ?, hazard = ? WHERE case_id = ?",
        ",".join(fact.loads),
        fact.evidence,
        fact.about,
        ",".join(fact.held),
        fact.patient,
        None if fact.since is None else micros(fact.since),
        None if fact.until is None else micros(fact.until),
        fact.hazard,
        fact.case,
    )


def _listed(store: Store, entry: Entry, fact: facts.DoubtListed) -> None:
    listed = "UPDATE doubt SET listed = ? WHERE case_id = ? AND listed IS NULL"
    store.run(listed, micros(fact.at), fact.case)


def _decided(store: Store, entry: Entry, fact: facts.DoubtDecided) -> None:
    store.run(
        "UPDATE doubt SET decided = ?, decision = ?, reason = ?, unfounded = ? WHERE case_id = ?",
        micros(fact.at),
        fact.decision,
        fact.reason,
        int(fact.unfounded),
        fact.case,
    )


def _closed(store: Store, entry: Entry, fact: facts.DoubtClosed) -> None:
    store.run("UPDATE doubt SET closed = ? WHERE case_id = ?", micros(fact.at), fact.case)


def _drill(store: Store, entry: Entry, fact: facts.DrillRun) -> None:
    store.run(
        "INSERT INTO drill (site, position, at) VALUES (?, ?, ?)",
        entry.site,
        entry.position,
        micros(fact.at),
    )


def _rehearsal(store: Store, entry: Entry, fact: facts.RehearsalRun) -> None:
    store.run(
        "INSERT INTO rehearsal (site, day, position) VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
        entry.site,
        fact.day.isoformat(),
        entry.position,
    )


FOLDS: Folds = {
    facts.DoubtRaised: _raised,
    facts.DoubtScoped: _scoped,
    facts.DoubtListed: _listed,
    facts.DoubtDecided: _decided,
    facts.DoubtClosed: _closed,
    facts.DrillRun: _drill,
    facts.RehearsalRun: _rehearsal,
}
"""The kinds of fact that lists of look-backs show, each with the function that folds it."""


# --- what cases hold in doubt, and what is decided ------------------------------------------


def fold_doubts(store: Store, entries: Iterable[Entry], changed: Changed) -> None:
    """Bring what is in doubt, and what is decided, up to date; note it in *changed*."""
    for entry in entries:
        match entry.fact:
            case facts.DoubtRaised() as fact:
                for load in fact.loads:
                    _doubt(store, fact.case, "", load, changed)
            case facts.DoubtScoped() as fact:
                _scope(store, fact, changed)
            case facts.DoubtDecided(unfounded=True) as fact:
                _lift(store, fact.case, set(), changed)
            case facts.UsesDecided() as fact:
                _decide(store, fact, changed)
            case _:
                pass


def _scope(store: Store, fact: facts.DoubtScoped, changed: Changed) -> None:
    """All that a case holds in doubt from now on; what it held besides counts again."""
    wanted = {("", load) for load in fact.loads}
    for gate in fact.gates:
        item, _, ref = gate.partition(" ")
        if ref not in fact.loads:
            wanted.add((item, ref))
    _lift(store, fact.case, wanted, changed)
    for item, ref in sorted(wanted):
        _doubt(store, fact.case, item, ref, changed)


def _lift(store: Store, case: str, but: set[tuple[str, str]], changed: Changed) -> None:
    for item, ref in store.rows("SELECT item, ref FROM in_doubt WHERE case_id = ?", case):
        if (item, ref) not in but:
            store.run(
                "DELETE FROM in_doubt WHERE case_id = ? AND item = ? AND ref = ?", case, item, ref
            )
            _touch_gates(store, item, ref, -1, changed)


def _doubt(store: Store, case: str, item: str, ref: str, changed: Changed) -> None:
    """*case* holds a gate in doubt: all of a load, or what it was to one *item*."""
    if store.run(
        "INSERT INTO in_doubt (case_id, item, ref) VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
        case,
        item,
        ref,
    ):
        _touch_gates(store, item, ref, 1, changed)


def _touch_gates(store: Store, item: str, ref: str, more: int, changed: Changed) -> None:
    which = "sort = 'gate' AND ref = ? AND (? = '' OR item = ?)"
    named = store.rows(f"SELECT item, at FROM touch WHERE {which}", ref, item, item)
    for name, at in named:
        changed.at(name, int(at))
    store.run(f"UPDATE touch SET doubt = doubt + {more} WHERE {which}", ref, item, item)
    for name, _ in named:
        rest_again(store, name, ref, changed)
    if not item:
        packs_rest_again(store, [ref], changed)


def _decide(store: Store, fact: facts.UsesDecided, changed: Changed) -> None:
    for decided in fact.uses:
        store.many(
            "INSERT INTO decided (item, ref, source, case_id) VALUES (?, ?, ?, ?)"
            " ON CONFLICT DO NOTHING",
            [(decided.item, decided.use, source, fact.case) for source in decided.sources],
        )
        row = store.one(
            "SELECT at FROM touch WHERE item = ? AND sort = 'use' AND ref = ?",
            decided.item,
            decided.use,
        )
        if row is not None:
            changed.at(decided.item, int(row[0]))
