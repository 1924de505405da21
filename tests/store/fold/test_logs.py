"""The tables of logs: filled for a book that is older than they are, and told in any order."""

from datetime import timedelta
from uuid import uuid4

from playhouse.migrations import Runner

from equip import facts
from equip.rules.loads.load import Load
from equip.store.database import _MIGRATIONS, Store, migrate
from equip.store.fold.loads import _encode
from equip.store.fold.project import project
from equip.store.ledger import ledger
from equip.store.readings import log_rows
from tests.support.stopped import NOON


def test_a_book_from_before_knows_which_load_has_which_log_once_it_is_migrated(
    empty_url: str,
) -> None:
    store = Store.open(empty_url)
    store.connect()
    Runner(store.db, str(_MIGRATIONS)).up("0003_projections")
    for tag, log in (("L000000013", "ab" * 32), ("L000000021", "")):
        state = _encode(Load(load=tag, log=log))
        with store.writing():
            store.run(
                "INSERT INTO load (tag, machine, cycle_no, at, stage, verdict, state)"
                " VALUES (?, '', '', NULL, 'judged', 'pass', ?)",
                tag,
                state,
            )

    done = migrate(store)

    assert "0005_logs" in done
    assert log_rows.load_with_log(store, "ab" * 32) == "L000000013"
    assert log_rows.load_with_log(store, "ab" * 32, "L000000013") is None
    assert store.rows("SELECT load FROM load_log") == [("L000000013",)]
    store.dispose()


def told(store: Store, *told: facts.Fact) -> None:
    with store.writing():
        project(store, ledger.append(store, "TEST", told, NOON))


def test_the_layout_that_was_said_last_holds_whenever_it_was_written_down(store: Store) -> None:
    def layout(text: str, minutes: int) -> facts.LayoutSet:
        at = NOON + timedelta(minutes=minutes)
        return facts.LayoutSet(
            at=at, by="", act=str(uuid4()), machine="D00000001B", layout=text, reason="so"
        )

    told(store, layout("second", 2), layout("first", 1))

    assert log_rows.layout_of(store, "D00000001B") == "second"


def test_a_log_of_nobody_is_told_once_and_a_test_of_its_cycle_answers_it(store: Store) -> None:
    def stray(log: str, name: str, number: str = "") -> facts.LogUnclaimed:
        return facts.LogUnclaimed(
            at=NOON, by="", act=str(uuid4()), machine="D00000001B", log=log, name=name,
            cycle_no=number,
        )  # fmt: skip

    told(store, stray("ab", "one", "7"), stray("ab", "again"), stray("cd", "two", "8"))
    told(
        store,
        facts.MachineTested(
            at=NOON, by="", act="a", machine="D00000001B", test="leak-rate", verdict="pass",
            cycle_no="8",
        ),
    )  # fmt: skip

    assert [found.name for found in log_rows.stray_logs(store)] == ["one"]
    assert log_rows.stray_log(store, "cd") is not None
    assert log_rows.stray_log(store, "ef") is None
