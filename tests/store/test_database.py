"""Opening either database: schema, connections, the one writer, the guards of the ledger."""

import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import peewee
import pytest
from playhouse.schema_diff import diff_models

from equip.store.database import CannotOpen, LedgerUnguarded, Store, guard, migrate
from equip.store.schema.kept import KEPT
from equip.store.schema.rebuilt import REBUILT, Counter

TABLES = (*KEPT, *REBUILT, Counter)
ROOT = Path(__file__).parents[2]

sqlite_alone = pytest.mark.parametrize("sort", ["sqlite"], indirect=True)


@pytest.fixture
def empty(empty_url: str) -> Any:
    store = Store.open(empty_url)
    store.connect()
    yield store
    store.dispose()


# --- the schema -----------------------------------------------------------------------------


def test_migrations_make_everything_from_nothing_and_the_second_time_do_nothing(
    empty: Store,
) -> None:
    first = migrate(empty)
    second = migrate(empty)

    assert first[:2] == ["0001_ledger", "0002_house"]
    assert second == []
    guard(empty)


def test_three_processes_that_migrate_at_once_all_succeed_and_only_one_does_the_work(
    empty: Store, empty_url: str
) -> None:
    work = (
        "import sys; from equip.store.database import Store, migrate;"
        "store = Store.open(sys.argv[1]); print(len(migrate(store))); store.dispose()"
    )

    racers = [
        subprocess.Popen(
            [sys.executable, "-c", work, empty_url],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(3)
    ]
    ends = [racer.communicate(timeout=60) for racer in racers]

    assert [racer.returncode for racer in racers] == [0, 0, 0], ends
    assert sorted(said.strip() == "0" for said, _ in ends) == [False, True, True]
    guard(empty)


def test_the_migrated_schema_lacks_nothing_that_the_tables_name(store: Store) -> None:
    with store.db.bind_ctx(TABLES):
        found = diff_models(store.db, TABLES)

    assert not found, f"write the next migration in equip/store/migrations: {found}"


def test_the_migrated_columns_have_the_types_that_the_tables_name(
    store: Store, empty: Store
) -> None:
    """The differ compares names only, so both schemas are made and compared column by column."""
    with empty.db.bind_ctx(TABLES):
        empty.db.create_tables(TABLES)

    for table in TABLES:
        name = table._meta.table_name
        made = _columns(store, name)
        assert made == _columns(empty, name), (
            f"{name}: its migration and equip/store/schema differ in a type or in the order;"
            " a column that is added comes last"
        )


def _columns(store: Store, table: str) -> list[tuple[str, str, bool, bool]]:
    return [
        (column.name, column.data_type, column.null, column.primary_key)
        for column in store.db.get_columns(table)
    ]


# --- the guards -----------------------------------------------------------------------------


def test_a_ledger_as_it_was_made_is_guarded(store: Store) -> None:
    guard(store)


@pytest.mark.parametrize("trigger", ["ledger_no_update", "ledger_no_delete", "ledger_in_order"])
def test_a_ledger_without_one_of_its_triggers_is_refused_by_that_name(
    store: Store, trigger: str
) -> None:
    store.run(f"DROP TRIGGER {trigger}{' ON ledger' if store.is_postgres else ''}")

    with pytest.raises(LedgerUnguarded, match=f"The trigger {trigger} is missing"):
        guard(store)


def test_a_trigger_that_was_made_anew_to_do_nothing_is_refused(store: Store) -> None:
    if store.is_postgres:
        store.run("DROP TRIGGER ledger_no_update ON ledger")
        store.run(
            "CREATE TRIGGER ledger_no_update BEFORE UPDATE ON ledger FOR EACH ROW"
            " WHEN (false) EXECUTE FUNCTION ledger_refuse()"
        )
        store.run("ALTER TABLE ledger ENABLE ALWAYS TRIGGER ledger_no_update")
    else:
        store.run("DROP TRIGGER ledger_no_update")
        store.run(
            "CREATE TRIGGER ledger_no_update BEFORE UPDATE ON ledger WHEN 0"
            " BEGIN SELECT RAISE(ABORT, 'the ledger is told, never edited'); END"
        )

    with pytest.raises(LedgerUnguarded, match="ledger_no_update is not the one that was made"):
        guard(store)


def test_guards_that_are_switched_off_or_hollow_are_refused(
    store: Store, unguarded: Callable[[], AbstractContextManager[None]]
) -> None:
    with unguarded(), pytest.raises(LedgerUnguarded) as refused:
        guard(store)
    guard(store)

    assert all(
        name in str(refused.value)
        for name in ("ledger_no_update", "ledger_no_delete", "ledger_in_order")
    )


def test_a_guard_whose_function_was_emptied_is_refused(store: Store) -> None:
    if not store.is_postgres:
        store.run("DROP TRIGGER ledger_no_delete")
        store.run("CREATE TRIGGER ledger_no_delete BEFORE DELETE ON ledger BEGIN SELECT 1; END")
    else:
        store.run(
            "CREATE OR REPLACE FUNCTION ledger_refuse() RETURNS trigger LANGUAGE plpgsql"
            " AS $$BEGIN RETURN OLD; END$$"
        )

    with pytest.raises(LedgerUnguarded, match="ledger_no_delete is not the one that was made"):
        guard(store)


# --- one writer -----------------------------------------------------------------------------


def _file(store: Store, name: str) -> None:
    store.run("INSERT INTO file (sha256, name, bytes) VALUES (?, ?, ?)", name, name, b"")


def _files(store: Store) -> list[str]:
    return [row[0] for row in store.rows("SELECT name FROM file ORDER BY name")]


def test_what_fails_half_way_leaves_nothing_behind(store: Store) -> None:
    with pytest.raises(ZeroDivisionError), store.writing():
        _file(store, "a")
        _ = 1 / 0

    assert _files(store) == []
    assert not store.in_writing


def test_an_act_inside_another_is_refused_and_the_next_one_goes_on(store: Store) -> None:
    with (
        pytest.raises(RuntimeError, match="one act inside another"),
        store.writing(),
        store.writing(),
    ):
        pass
    with store.writing():
        _file(store, "a")

    assert _files(store) == ["a"]


@pytest.mark.parametrize("apart", [False, True], ids=["one store", "a store each"])
def test_threads_that_read_and_then_write_lose_nothing(
    store: Store, database_url: str, apart: bool
) -> None:
    """Four hands count up one number; read first, then write: the pattern that loses updates."""
    store.run("INSERT INTO counter (letter, last) VALUES ('E', 0)")
    failed: list[BaseException] = []

    def count_up() -> None:
        mine = Store.open(database_url) if apart else store
        try:
            for _ in range(25):
                with mine.writing():
                    lock = " FOR UPDATE" if mine.is_postgres else ""
                    [(last,)] = mine.rows(f"SELECT last FROM counter WHERE letter = 'E'{lock}")
                    mine.run("UPDATE counter SET last = ? WHERE letter = 'E'", last + 1)
        except BaseException as problem:
            failed.append(problem)
        finally:
            mine.close()

    hands = [threading.Thread(target=count_up) for _ in range(4)]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()

    assert failed == []
    assert store.one("SELECT last FROM counter") == (100,)


def test_a_second_act_of_this_process_waits_until_the_first_is_done(store: Store) -> None:
    order = []

    def second() -> None:
        with store.writing():
            order.append("second")
        store.close()

    thread = threading.Thread(target=second)
    with store.writing():
        thread.start()
        thread.join(timeout=0.2)
        order.append("first")
    thread.join()

    assert order == ["first", "second"]


# --- statements -----------------------------------------------------------------------------


def test_a_statement_reads_the_same_on_both_databases_with_a_per_cent_sign_in_it(
    store: Store,
) -> None:
    for name in ("50 %", "fifty"):
        _file(store, name)

    found = store.rows("SELECT name FROM file WHERE name LIKE '% %' AND name <> ?", "x")

    assert found == [("50 %",)]


def test_many_rows_or_none_go_in_by_one_statement(store: Store) -> None:
    sql = "INSERT INTO file (sha256, name, bytes) VALUES (?, ?, ?)"

    with store.writing():
        store.many(sql, iter([("1", "a", b""), ("2", "b", b"")]))
        store.many(sql, [])

    assert _files(store) == ["a", "b"]


def test_the_same_error_comes_from_one_row_and_from_many(store: Store) -> None:
    _file(store, "a")

    with pytest.raises(peewee.IntegrityError):
        _file(store, "a")
    with pytest.raises(peewee.IntegrityError), store.writing():
        store.many("INSERT INTO file (sha256, name, bytes) VALUES (?, ?, ?)", [("a", "a", b"")])


# --- connections ----------------------------------------------------------------------------


def test_each_thread_keeps_its_own_connection(store: Store) -> None:
    mine = store.db.connection()
    theirs = []

    def look() -> None:
        store.connect()
        theirs.append(store.db.connection())
        store.connect()
        theirs.append(store.db.connection())

    thread = threading.Thread(target=look)
    thread.start()
    thread.join()
    store.connect()

    assert store.db.connection() is mine
    assert theirs[0] is theirs[1] is not mine


def test_disposing_closes_the_connections_of_all_threads(store: Store) -> None:
    theirs = []

    def look() -> None:
        store.connect()
        theirs.append(store.db.connection())

    thread = threading.Thread(target=look)
    thread.start()
    thread.join()
    theirs.append(store.db.connection())

    store.dispose()

    for connection in theirs:
        with pytest.raises((peewee.sqlite3.ProgrammingError, _psycopg_error())):
            connection.execute("SELECT 1")


def _psycopg_error() -> type[Exception]:
    import psycopg

    return psycopg.OperationalError


def test_a_connection_that_was_lost_is_made_anew(store: Store) -> None:
    store.db.connection().close()
    if not store.is_postgres:
        store.close()

    store.connect()

    assert store.one("SELECT 1") == (1,)


@sqlite_alone
def test_an_entry_is_on_the_disk_when_the_act_is_done(store: Store) -> None:
    """In WAL mode anything less than FULL can lose the last acts at a power cut."""
    assert store.one("PRAGMA journal_mode") == ("wal",)
    assert store.one("PRAGMA synchronous") == (2,)


@sqlite_alone
def test_the_library_that_is_used_is_past_the_fault_that_can_lose_a_reset_wal(
    store: Store,
) -> None:
    """SQLite 3.7.0 to 3.51.2 could lose commits when two connections met at a WAL reset."""
    [version] = store.one("SELECT sqlite_version()") or ("0",)

    assert tuple(map(int, version.split("."))) > (3, 51, 2)


@pytest.mark.parametrize(
    "url",
    [
        "mysql://somewhere/book",
        "/no/such/folder/book.sqlite3",
        "postgresql://nobody@127.0.0.1:1/book",
        "postgresql://somewhere:port/book",
    ],
)
def test_a_database_that_cannot_be_opened_is_one_sentence(url: str) -> None:
    with pytest.raises(CannotOpen) as refused:
        Store.open(url).connect()

    assert str(refused.value).startswith(("The database", "A database"))
    assert "\n" not in str(refused.value)
    assert str(refused.value).endswith(".")


def test_a_file_that_is_no_database_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "letter.txt"
    path.write_text("Dear Sir or Madam, " * 100)

    with pytest.raises(CannotOpen, match="file is not a database"):
        Store.open(str(path)).connect()


def test_a_file_may_be_named_by_a_url(tmp_path: Path) -> None:
    store = Store.open(f"sqlite:///{tmp_path / 'book.sqlite3'}")

    store.connect()
    store.run("CREATE TABLE a (b)")
    store.dispose()

    assert (tmp_path / "book.sqlite3").is_file()


@sqlite_alone
def test_a_book_in_memory_is_made_like_any_other(store: Store) -> None:
    memory = Store.open(":memory:")

    done = migrate(memory)
    guard(memory)
    memory.dispose()

    assert done[0] == "0001_ledger"
    assert not Path(":memory:.migrating").exists()
