"""What look-backs do to gates and to exposures: held in doubt, counting again, decided.

A gate in doubt counts as failed from the moment it is doubted until it is not. A decision is
about the pairs of a use and a source that it names; whatever else turns up is open.
"""

from collections.abc import Iterable

from equip import facts
from equip.facts import micros
from equip.store.database import Store
from equip.store.fold.contacts import Changed
from equip.store.ledger.ledger import Entry


def project_doubts(store: Store, entries: Iterable[Entry], changed: Changed) -> None:
    """Bring what is in doubt, and what is decided, up to date."""
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


def keep_case(store: Store, entry: Entry) -> None:
    """The table of look-backs and the one of drills, as lists show them."""
    match entry.fact:
        case facts.DoubtScoped() as fact:
            store.run(
                "UPDATE doubt SET loads = ?, evidence = ?, about = ? WHERE case_id = ?",
                ",".join(fact.loads),
                fact.evidence,
                fact.about,
                fact.case,
            )
        case facts.DoubtListed() as fact:
            store.run(
                "UPDATE doubt SET listed = ? WHERE case_id = ? AND listed IS NULL",
                micros(fact.at),
                fact.case,
            )
        case facts.DoubtClosed() as fact:
            store.run("UPDATE doubt SET closed = ? WHERE case_id = ?", micros(fact.at), fact.case)
        case facts.DrillRun() as fact:
            store.run(
                "INSERT INTO drill (site, position, at) VALUES (?, ?, ?)",
                entry.site,
                entry.position,
                micros(fact.at),
            )
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
    for name, at in store.rows(f"SELECT item, at FROM touch WHERE {which}", ref, item, item):
        changed.at(name, int(at))
    store.run(f"UPDATE touch SET doubt = doubt + {more} WHERE {which}", ref, item, item)


def _decide(store: Store, fact: facts.UsesDecided, changed: Changed) -> None:
    for one in fact.uses:
        store.many(
            "INSERT INTO decided (item, ref, source, case_id) VALUES (?, ?, ?, ?)"
            " ON CONFLICT DO NOTHING",
            [(one.item, one.use, source, fact.case) for source in one.sources],
        )
        row = store.one(
            "SELECT at FROM touch WHERE item = ? AND sort = 'use' AND ref = ?", one.item, one.use
        )
        if row is not None:
            changed.at(one.item, int(row[0]))
