"""What the ledger adds up to: tables that can be thrown away and folded again at any time.

Entries are folded in the transaction that appends them. Each first changes the tables of its own
kind, by the one table of functions put together here from those of the wings; then all of them
together change the uses, where items and loads stand, and who met whom.
"""

from collections.abc import Iterable, Iterator, Sequence

from equip import facts
from equip.facts import Fact, micros
from equip.store.database import Store
from equip.store.fold import bench, loads, lookback, machines, past, people, register, upkeep
from equip.store.fold.by_kind import together
from equip.store.fold.changed import Changed
from equip.store.fold.exposures import refresh
from equip.store.fold.items import Named, fold_items
from equip.store.fold.resting import packs_rest_again
from equip.store.ledger.ledger import Entry


def _duty(store: Store, entry: Entry, fact: Fact) -> None:
    upkeep.project_duties(store, fact)


FOLDS = together(
    {
        "register": register.FOLDS,
        "people": people.FOLDS,
        "machines": machines.FOLDS,
        "loads": loads.FOLDS,
        "bench": bench.FOLDS,
        "upkeep": dict.fromkeys(upkeep.KINDS, _duty),
        "lookback": lookback.FOLDS,
        "past": past.FOLDS,
    }
)
"""Every kind of fact that has a table of its own, with the function that folds it."""


def project(store: Store, entries: Sequence[Entry]) -> None:
    """Bring every table up to date with *entries*, which are in the ledger already."""
    named = [(entry, facts.about(entry.fact)) for entry in entries]
    store.many(
        "INSERT INTO about (subject, at, site, position) VALUES (?, ?, ?, ?)"
        " ON CONFLICT DO NOTHING",
        # In the order of its index: rows that lie together are written together.
        sorted(_about(named)),
    )
    for entry in entries:
        if fold := FOLDS.get(type(entry.fact)):
            fold(store, entry, entry.fact)
    past.keep_old_loads(store, entries)
    bench.fold_uses(store, entries)
    changed = Changed()
    lookback.fold_doubts(store, entries, changed)
    fold_items(store, named, changed)
    packs_rest_again(store, loads.fold_loads(store, entries), changed)
    refresh(store, changed)


def _about(named: Iterable[Named]) -> Iterator[tuple[str, int, str, int]]:
    """A row for each subject that an entry names."""
    for entry, subjects in named:
        at = micros(entry.fact.at)
        for subject in subjects:
            yield subject, at, entry.site, entry.position
