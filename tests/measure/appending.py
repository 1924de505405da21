"""Facts a second into the ledger alone, against bare inserts of the same rows.

The floors write rows that are ready made, seals and all, by one `executemany` in a transaction of
the same size: into the same table under its triggers, and into one that nothing guards.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Any

from equip import facts
from equip.facts import Fact
from equip.store.database import Store, migrate
from equip.store.ledger import ledger
from tests.measure.lines import Line
from tests.measure.rounds import medians
from tests.measure.sizes import size

_BEGIN = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)
# Facts in one turn, by how many share a transaction.
_COUNTS = {1: size(200, 20), size(1_000, 100): size(4_000, 200)}
_UNGUARDED = """CREATE TABLE unguarded (
    site TEXT NOT NULL,
    position INTEGER NOT NULL CHECK (position > 0),
    recorded_at INTEGER NOT NULL,
    body BLOB NOT NULL,
    seal BLOB NOT NULL CHECK (length(seal) = 32),
    PRIMARY KEY (site, position)
) WITHOUT ROWID"""

Row = tuple[Any, ...]


def measure(folder: Path, rounds: int) -> list[Line]:
    """A line for each size of transaction and each floor."""
    made = Store.open(str(folder / "appended.sqlite3"))
    bare = Store.open(str(folder / "inserted.sqlite3"))
    try:
        for store in (made, bare):
            migrate(store)
        bare.run(_UNGUARDED)
        return [line for batch in _COUNTS for line in _lines(made, bare, batch, rounds)]
    finally:
        made.dispose()
        bare.dispose()


def _lines(made: Store, bare: Store, batch: int, rounds: int) -> Iterator[Line]:
    count, turns = _COUNTS[batch], 2 * rounds
    guarded = _chunks(_rows(bare, "ledger", turns * count), batch)
    free = _chunks(_rows(bare, "unguarded", turns * count), batch)
    told = iter([_fact(number) for number in range(turns * count)])
    each = count // batch
    times = medians(
        {
            "ours": partial(_append, made, told, batch, each),
            "guarded": partial(_insert, bare, "ledger", guarded, each),
            "free": partial(_insert, bare, "unguarded", free, each),
        },
        rounds,
    )
    for floor, what in (("guarded", "under the same triggers"), ("free", "without triggers")):
        beside = f"{count / times['ours']:,.0f} against {count / times[floor]:,.0f} a second"
        name = f"{batch:,} in a transaction, against rows {what}"
        yield Line(name, times["ours"] / times[floor], None, beside)


def _fact(number: int) -> Fact:
    return facts.Used(
        at=_BEGIN + timedelta(seconds=number),
        by="B00000001S",
        act=f"00000000-0000-4000-8000-{number:012}",
        bench="bench 1",
        use="00000000-0000-4000-8000-000000000000",
        item="E000000019",
        patient="tabcdefghijkl",
    )


def _append(store: Store, told: Iterator[Fact], batch: int, times: int) -> None:
    for _ in range(times):
        with store.writing():
            ledger.append(store, "TIMED", list(islice(told, batch)), _BEGIN)


def _rows(store: Store, table: str, count: int) -> list[Row]:
    """Rows that follow those there, as the ledger would have written them."""
    row = store.one(f"SELECT COALESCE(MAX(position), 0) FROM {table}")
    first = 1 + (int(row[0]) if row else 0)
    made, previous = [], facts.FIRST
    for position in range(first, first + count):
        body = facts.canonical(_fact(position))
        previous = facts.seal(previous, "TIMED", position, facts.micros(_BEGIN), body)
        made.append(("TIMED", position, facts.micros(_BEGIN), body, previous))
    return made


def _chunks(rows: Sequence[Row], batch: int) -> Iterator[Sequence[Row]]:
    for first in range(0, len(rows), batch):
        yield rows[first : first + batch]


def _insert(store: Store, table: str, chunks: Iterator[Sequence[Row]], times: int) -> None:
    sql = f"INSERT INTO {table} (site, position, recorded_at, body, seal) VALUES (?, ?, ?, ?, ?)"
    db: Any = store.db
    connection = db.connection()
    for chunk in islice(chunks, times):
        connection.execute("BEGIN IMMEDIATE")
        connection.executemany(sql, chunk)
        connection.execute("COMMIT")
