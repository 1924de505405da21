"""Spore tests as the ledger tells them: those in loads, and those in test cycles of their own."""

from equip.facts import MachineTested, micros
from equip.rules.loads.load import Load
from equip.store.database import Store
from equip.store.ledger.ledger import Entry

_KEEP = (
    "INSERT INTO spore_test (id, machine, load, lot, put, ran, read, result)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
)
_RESULTS = {"pass": "negative", "fail": "positive", "undecided": "invalid"}


def keep_spore_cycle(store: Store, entry: Entry, told: MachineTested) -> None:
    """A spore test in a cycle without a load: it ran and was read when it was told."""
    at = micros(told.at)
    store.run(_KEEP, entry.path, told.machine, "", "", at, at, at, _RESULTS[told.verdict])


def keep_spores_of(store: Store, load: Load) -> None:
    """The spore tests in a load, as the load stands now."""
    store.run("DELETE FROM spore_test WHERE load = ?", load.load)
    for one in load.spores:
        store.run(
            _KEEP,
            f"{load.load}/{one.lot}",
            load.machine,
            load.load,
            one.lot,
            micros(one.put),
            None if load.ran is None else micros(load.ran),
            None if one.read is None else micros(one.read),
            one.result or "",
        )
