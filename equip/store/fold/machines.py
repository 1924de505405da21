"""Machines as the ledger tells of them: tests, sheets of the day, spore tests, lots, fillings."""

import msgspec

from equip import facts
from equip.facts import micros
from equip.rules.loads.load import Load
from equip.store.database import Store
from equip.store.fold.by_kind import Folds
from equip.store.ledger.ledger import Entry


def _machine_test(store: Store, entry: Entry, fact: facts.MachineTested) -> None:
    store.run(
        "INSERT INTO machine_test (machine, test, at, site, position, verdict, who,"
        " cycle_no) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        fact.machine,
        fact.test,
        micros(fact.at),
        entry.site,
        entry.position,
        fact.verdict,
        fact.by,
        fact.cycle_no,
    )
    if fact.test == "spore" and not fact.load:
        _keep_spore_cycle(store, entry, fact)


def _sheet(store: Store, entry: Entry, fact: facts.SheetSigned) -> None:
    store.run(
        "INSERT INTO sheet (machine, day, who) VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
        fact.machine,
        fact.day.isoformat(),
        fact.by,
    )


# --- spore tests ----------------------------------------------------------------------------

_KEEP_SPORES = (
    "INSERT INTO spore_test (id, machine, load, lot, put, ran, read, result)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
)
_RESULTS = {"pass": "negative", "fail": "positive", "undecided": "invalid"}


def _keep_spore_cycle(store: Store, entry: Entry, fact: facts.MachineTested) -> None:
    """A spore test in a cycle without a load: it ran and was read when it was told."""
    at = micros(fact.at)
    result = _RESULTS[fact.verdict]
    store.run(_KEEP_SPORES, entry.path, fact.machine, "", "", at, at, at, result)


def keep_spores_of(store: Store, load: Load) -> None:
    """The spore tests in a load, as the load stands now."""
    store.run("DELETE FROM spore_test WHERE load = ?", load.load)
    for spores in load.spores:
        store.run(
            _KEEP_SPORES,
            f"{load.load}/{spores.lot}",
            load.machine,
            load.load,
            spores.lot,
            micros(spores.put),
            None if load.ran is None else micros(load.ran),
            None if spores.read is None else micros(spores.read),
            spores.result or "",
        )


# --- lots and fillings ----------------------------------------------------------------------


def _lot(store: Store, entry: Entry, fact: facts.LotAdded) -> None:
    store.run(
        "INSERT INTO lot (tag, sort, name, number, body, opened, finished)"
        " VALUES (?, ?, ?, ?, ?, NULL, '') ON CONFLICT (tag) DO NOTHING",
        fact.lot,
        fact.sort,
        fact.name,
        fact.number,
        facts.canonical(fact),
    )


def _lot_described(store: Store, entry: Entry, fact: facts.LotDescribed) -> None:
    row = store.one("SELECT body FROM lot WHERE tag = ?", fact.lot)
    added = facts.read(bytes(row[0])) if row else None
    if isinstance(added, facts.LotAdded):
        stated = msgspec.structs.replace(added.stated, agent=fact.agent)
        body = facts.canonical(msgspec.structs.replace(added, stated=stated))
        store.run("UPDATE lot SET body = ? WHERE tag = ?", body, fact.lot)


def _lot_opened(store: Store, entry: Entry, fact: facts.LotOpened) -> None:
    opened = "UPDATE lot SET opened = ? WHERE tag = ? AND opened IS NULL"
    store.run(opened, micros(fact.at), fact.lot)


def _lot_finished(store: Store, entry: Entry, fact: facts.LotFinished) -> None:
    store.run("UPDATE lot SET finished = ? WHERE tag = ?", fact.why, fact.lot)


def _filling(store: Store, entry: Entry, fact: facts.BathFilled) -> None:
    store.run(
        "INSERT INTO filling (machine, at, site, position, lot, who, note, act)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        fact.machine,
        micros(fact.at),
        entry.site,
        entry.position,
        fact.lot,
        fact.by,
        fact.note,
        fact.act,
    )


FOLDS: Folds = {
    facts.MachineTested: _machine_test,
    facts.SheetSigned: _sheet,
    facts.LotAdded: _lot,
    facts.LotDescribed: _lot_described,
    facts.LotOpened: _lot_opened,
    facts.LotFinished: _lot_finished,
    facts.BathFilled: _filling,
}
"""The kinds of fact about machines and lots, each with the function that folds it."""
