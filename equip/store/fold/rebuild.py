"""Proof that the projections follow from the ledger: fold it all again beside them, compare."""

from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory

from equip.facts import canonical, micros
from equip.store.database import Store, migrate
from equip.store.fold.project import project
from equip.store.ledger import ledger
from equip.store.ledger.ledger import Entry
from equip.store.schema.rebuilt import REBUILT

_BATCH = 2_000


def differences(store: Store, scratch: Path) -> list[str]:
    """A sentence for each table whose rows are not what the ledger adds up to."""
    with TemporaryDirectory(dir=scratch) as folder:
        beside = Store.open(str(Path(folder) / "beside.sqlite3"))
        try:
            migrate(beside)
            _refold(store, beside)
            return [says for table in REBUILT if (says := _differs(store, beside, table))]
        finally:
            beside.dispose()


FOLDS_AGAIN = frozenset(
    {
        "0011_exposure",
        "0012_look_backs",
        "0014_duties",
        "0021_exposures_whole",
        "0028_days_of_type_duties",
        "0030_duties_whole",
        "0031_what_gates_rest_on",
        "0032_what_a_look_back_holds",
        "0033_what_agents_stop",
        "0035_what_machines_served",
    }
)
"""Migrations after which a table follows in another way from what the ledger tells already."""


def migrated(store: Store) -> None:
    """Bring the schema up to date, and fold the ledger again where a table came that needs it."""
    if FOLDS_AGAIN.intersection(migrate(store)) and ledger.sites(store):
        rebuild(store)


def rebuild(store: Store) -> int:
    """Throw the projections away and fold them again in one transaction; how many entries."""
    with store.writing():
        for table in REBUILT:
            store.run(f"DELETE FROM {_quoted(table._meta.table_name)}")
        count = 0
        for batch in _batches(store):
            project(store, batch)
            count += len(batch)
        return count


def _refold(store: Store, beside: Store) -> None:
    for batch in _batches(store):
        with beside.writing():
            beside.many(
                "INSERT INTO ledger (site, position, recorded_at, body, seal)"
                " VALUES (?, ?, ?, ?, ?)",
                [_row(entry) for entry in batch],
            )
            project(beside, batch)


def _row(entry: Entry) -> tuple[str, int, int, bytes, bytes]:
    return (
        entry.site,
        entry.position,
        micros(entry.recorded_at),
        canonical(entry.fact),
        entry.seal,
    )


def _batches(store: Store) -> Iterator[list[Entry]]:
    every = ledger.everything(store)
    while batch := list(islice(every, _BATCH)):
        yield batch


def _differs(store: Store, beside: Store, table: type) -> str:
    name = table._meta.table_name  # type: ignore[attr-defined]
    columns = ", ".join(_quoted(field.column_name) for field in table._meta.sorted_fields)  # type: ignore[attr-defined]
    sql = f"SELECT {columns} FROM {_quoted(name)}"
    ours, right = _rows(store, sql), _rows(beside, sql)
    if ours == right:
        return ""
    wrong = sorted(ours ^ right, key=repr)[0]
    return (
        f"The table “{name}” is not what the ledger adds up to: {len(ours - right)} rows too many "
        f"or changed, {len(right - ours)} missing, the first about {wrong[0]}. Run rebuild."
    )


def _rows(store: Store, sql: str) -> set[tuple[object, ...]]:
    return {
        tuple(bytes(cell) if isinstance(cell, memoryview | bytes) else cell for cell in row)
        for row in store.rows(sql)
    }


def _quoted(name: str) -> str:
    return f'"{name}"'
