"""Opening either database, its connections, its one writer, its migrations."""

import fcntl
import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from peewee import Database, PeeweeException, PostgresqlDatabase, SqliteDatabase
from peewee import __exception_wrapper__ as as_peewee_says  # type: ignore[attr-defined]
from playhouse.db_url import connect as connect_url
from playhouse.migrations import Runner

from equip.store.guarding import LedgerUnguarded, missing_guards

__all__ = ["CannotOpen", "LedgerUnguarded", "Store", "guard", "migrate"]

Some = TypeVar("Some")

PRAGMAS = {
    "journal_mode": "wal",
    "synchronous": "full",
    "foreign_keys": 1,
    "recursive_triggers": 1,
    "busy_timeout": 10_000,
    # In KiB, for each connection: an act that writes much touches more than the usual 2 MiB.
    "cache_size": -16_384,
    # Pages of log after which one scan waits until they are copied into the file. A scan writes
    # a dozen: at the usual 1,000 more than one in a hundred waited. This is about 64 MB.
    "wal_autocheckpoint": 16_000,
}
_MIGRATIONS = Path(__file__).with_name("migrations")
_MIGRATING = 7_345_120  # a number of our own for PostgreSQL's advisory lock


class CannotOpen(ValueError):
    """The database cannot be opened; the message says which and why."""


class Store:
    """A database, a connection for each thread, and one writer at a time.

    Opening a connection for each request is many times dearer than keeping it, and
    SQLite's own wait for the one writer is unfair; so connections stay open and a lock queues
    the writers of this process.
    """

    def __init__(self, db: Database) -> None:
        self.db = db
        self.is_postgres = isinstance(db, PostgresqlDatabase)
        self._one_writer = threading.Lock()
        self._here = threading.local()
        self._open: set[Any] = set()

    @classmethod
    def open(cls, url: str) -> "Store":
        """The store at *url*: a file's path, `sqlite:///…` or `postgresql://…`."""
        if url.startswith(("postgres://", "postgresql://")):
            return cls(_postgres_at(url))
        path = url.removeprefix("sqlite:///")
        if "://" in path:
            raise CannotOpen(
                f"A database at {path.partition('://')[0]}:// was asked for: "
                "name a file, sqlite:/// and a file, or postgresql:// and a server."
            )
        # Only `dispose` touches a connection from another thread than the one that uses it.
        db = SqliteDatabase(
            path,
            pragmas=PRAGMAS,
            lock_type="IMMEDIATE",
            autoconnect=False,
            timeout=10,
            check_same_thread=False,
        )
        return cls(db)

    def connect(self) -> None:
        """Make sure that this thread has its connection, a new one if the server dropped it."""
        if not self.db.is_connection_usable():
            self.close()
        try:
            if self.db.connect(reuse_if_open=True):
                self._open.add(self.db.connection())
        except PeeweeException as problem:
            says = " ".join(str(problem).split()).rstrip(".?")
            raise CannotOpen(f"The database cannot be opened: {says}.") from None

    def close(self) -> None:
        """Close this thread's connection."""
        if not self.db.is_closed():
            self._open.discard(self.db.connection())
            self.db.close()

    def dispose(self) -> None:
        """Close the connections of all threads; whoever still works with the store fails."""
        self.close()
        while self._open:
            self._open.pop().close()

    @contextmanager
    def writing(self) -> Iterator[None]:
        """A transaction in which nobody else writes; rolled back whole if anything goes wrong."""
        if self.in_writing:
            raise RuntimeError("one act inside another: an act is one transaction")
        self.connect()
        with self._one_writer:
            self._here.writing = True
            try:
                with self.db.atomic():
                    yield
            finally:
                self._here.writing = False

    @property
    def in_writing(self) -> bool:
        """Whether this thread is inside `writing`."""
        return bool(getattr(self._here, "writing", False))

    def settle(self) -> None:
        """Copy what the write-ahead log holds into the file, between acts rather than in one.

        Passive: it waits for nobody and nobody waits for it. Nothing to do on PostgreSQL.
        """
        if not self.is_postgres:
            self.rows("PRAGMA wal_checkpoint(PASSIVE)")

    def rows(self, sql: str, *values: Any) -> list[tuple[Any, ...]]:
        """All rows of a constant statement with ? marks."""
        return list(self.db.execute_sql(self._spelled(sql), values).fetchall())

    def one(self, sql: str, *values: Any) -> tuple[Any, ...] | None:
        """The first row, None if there is none."""
        row: tuple[Any, ...] | None = self.db.execute_sql(self._spelled(sql), values).fetchone()
        return row

    def run(self, sql: str, *values: Any) -> int:
        """Run a statement; how many rows it changed."""
        return int(self.db.execute_sql(self._spelled(sql), values).rowcount)

    def many(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """Run a statement once for each row."""
        listed = list(rows)
        if listed:
            with as_peewee_says:
                self.db.cursor().executemany(self._spelled(sql), listed)

    def _spelled(self, sql: str) -> str:
        return _for_postgres(sql) if self.is_postgres else sql


def in_chunks(values: Sequence[Some], most: int = 500) -> Iterator[Sequence[Some]]:
    """*values* in pieces that one statement may list."""
    for first in range(0, len(values), most):
        yield values[first : first + most]


def _postgres_at(url: str) -> Database:
    try:
        return connect_url(url, autoconnect=False, prefer_psycopg3=True)
    except ValueError as problem:
        raise CannotOpen(f"The database's URL cannot be read: {problem}.") from None


@cache
def _for_postgres(sql: str) -> str:
    return sql.replace("%", "%%").replace("?", "%s")


def migrate(store: Store) -> list[str]:
    """Bring the schema up to date; the names of what was done. Safe from several processes."""
    store.connect()
    with _alone(store):
        runner = Runner(store.db, str(_MIGRATIONS))
        return list(runner.up())


@contextmanager
def _alone(store: Store) -> Iterator[None]:
    """Nobody else migrates meanwhile: a lock file beside SQLite, an advisory lock otherwise."""
    if store.is_postgres:
        store.run("SELECT pg_advisory_lock(?)", _MIGRATING)
        try:
            yield
        finally:
            store.run("SELECT pg_advisory_unlock(?)", _MIGRATING)
        return
    path = str(store.db.database)
    if path == ":memory:":
        yield
        return
    with Path(f"{path}.migrating").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def guard(store: Store) -> None:
    """Refuse to go on with a ledger that could be rewritten."""
    missing = missing_guards(store.rows, postgres=store.is_postgres)
    if missing:
        raise LedgerUnguarded(
            f"The ledger stands open: {' '.join(missing)} "
            "Restore the database from a backup, and find out who opened it."
        )
