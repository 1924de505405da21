"""Pieces of work, each folded from what the ledger tells of it."""

from equip.rules.upkeep.work import Work, fold
from equip.store.database import Store
from equip.store.ledger.about import told_about


def work_of(store: Store, work: str) -> Work | None:
    """The piece of work of that name, None if there is none."""
    if store.one("SELECT 1 FROM work WHERE id = ?", work) is None:
        return None
    return fold(work, (entry.fact for entry in told_about(store, work)))


def open_work(store: Store, item: str = "") -> list[Work]:
    """What is not signed off yet, of one item or of all, oldest first."""
    rows = store.rows(
        "SELECT id FROM work WHERE closed IS NULL AND (? = '' OR item = ?) ORDER BY raised, id",
        item,
        item,
    )
    return _folded(store, [row[0] for row in rows])


def closed_work(store: Store, item: str = "", most: int = 30) -> list[Work]:
    """What was signed off, newest first."""
    rows = store.rows(
        "SELECT id FROM work WHERE closed IS NOT NULL AND (? = '' OR item = ?)"
        " ORDER BY closed DESC, id LIMIT ?",
        item,
        item,
        most,
    )
    return _folded(store, [row[0] for row in rows])


def _folded(store: Store, names: list[str]) -> list[Work]:
    found = (work_of(store, name) for name in names)
    return [work for work in found if work is not None]
