"""The time before this book: how far its files came in, what loads and people were called."""

from collections.abc import Iterable, Sequence

from equip import facts
from equip.store.database import Store
from equip.store.fold.by_kind import Folds
from equip.store.ledger.ledger import Entry


def keep_old_names(store: Store, sort: str, named: Iterable[tuple[str, str]]) -> None:
    """What loads or people were called before this book, each beside its tag."""
    store.many(
        "INSERT INTO old_name (sort, text, tag) VALUES (?, ?, ?) ON CONFLICT (sort, text)"
        " DO UPDATE SET tag = excluded.tag",
        [(sort, text, tag) for text, tag in named],
    )


def keep_old_loads(store: Store, entries: Sequence[Entry]) -> None:
    """The names of the loads taken over, all at once: a past brings in thousands of them."""
    taken_over = [e.fact for e in entries if isinstance(e.fact, facts.LoadTakenOver)]
    keep_old_names(store, "load", [(fact.old, fact.load) for fact in taken_over if fact.old])


def _brought_in(store: Store, entry: Entry, fact: facts.PastBroughtIn) -> None:
    store.run(
        "INSERT INTO past (digest, name, line, rows_in) VALUES (?, ?, ?, ?)"
        " ON CONFLICT (digest) DO NOTHING",
        fact.digest,
        fact.name,
        fact.line,
        fact.rows,
    )


FOLDS: Folds = {facts.PastBroughtIn: _brought_in}
"""The kinds of fact about the past itself, each with the function that folds it."""
