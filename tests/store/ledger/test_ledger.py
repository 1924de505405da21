"""The ledger is told, never edited; each site's entries hang together by their seals."""

import hashlib
import threading
from collections.abc import Callable
from datetime import timedelta

import msgspec
import peewee
import pytest

from equip.facts import Stepped, canonical, micros
from equip.store.database import Store
from equip.store.ledger import ledger
from equip.store.ledger.ledger import Entry
from tests.store.conftest import Append, placed
from tests.support.stopped import NOON, StoppedClock

sqlite_alone = pytest.mark.parametrize("sort", ["sqlite"], indirect=True)

Refused = (peewee.IntegrityError, peewee.InternalError, peewee.DatabaseError)


# --- appending and reading ------------------------------------------------------------------


def test_what_was_told_reads_back_word_for_word(store: Store, append: Append) -> None:
    told = append(3)

    assert list(ledger.entries(store, "HOME")) == told
    assert ledger.entry(store, "HOME", 2) == told[1]
    assert [entry.path for entry in told] == ["HOME/1", "HOME/2", "HOME/3"]
    assert told[0].fact == placed(NOON)
    assert told[0].recorded_at == NOON


def test_a_fact_that_could_not_be_read_again_is_refused_with_all_told_beside_it(
    store: Store, append: Append
) -> None:
    append(1)
    lasting = Stepped(at=NOON, by="", act="a", item="E000000019", step="clean", passed=True)
    unknown = msgspec.structs.replace(lasting, step="polish")

    with pytest.raises(msgspec.ValidationError, match="polish"), store.writing():
        ledger.append(store, "HOME", [lasting, unknown], NOON)

    assert [one.position for one in ledger.entries(store, "HOME")] == [1]
    assert ledger.heads(store)["HOME"].position == 1


def test_an_entry_that_is_not_there_is_none(store: Store, append: Append) -> None:
    append(1)

    assert ledger.entry(store, "HOME", 2) is None
    assert ledger.entry(store, "AWAY", 1) is None


def test_a_seal_can_be_recomputed_by_hand(append: Append) -> None:
    first, second = append(2)

    at = micros(NOON)
    one = hashlib.sha256(bytes(32) + b"HOME 1 %d\n" % at + canonical(first.fact)).digest()
    two = hashlib.sha256(one + b"HOME 2 %d\n" % at + canonical(second.fact)).digest()

    assert (first.seal, second.seal) == (one, two)


def test_the_head_is_the_last_entry_of_each_chain(store: Store, append: Append) -> None:
    append(2, "HOME")
    [away] = append(1, "AWAY")
    [last] = append(1, "HOME")

    heads = ledger.heads(store)

    assert {site: (head.position, head.seal) for site, head in heads.items()} == {
        "AWAY": (1, away.seal),
        "HOME": (3, last.seal),
    }


def test_each_site_has_a_chain_of_its_own(store: Store, append: Append) -> None:
    append(2, "HOME")
    append(1, "AWAY")
    append(1, "HOME")

    paths = [entry.path for entry in ledger.everything(store)]

    assert paths == ["AWAY/1", "HOME/1", "HOME/2", "HOME/3"]


def test_sites_come_in_one_order_on_every_database(store: Store, append: Append) -> None:
    for site in ("B", "A-1", "A0", "A"):
        append(1, site)

    assert ledger.sites(store) == ["A", "A-1", "A0", "B"]


def test_a_long_chain_is_read_whole_and_any_part_of_it_both_ends_included(
    store: Store, append: Append
) -> None:
    append(4_500)

    everything = [entry.position for entry in ledger.everything(store)]
    part = [entry.position for entry in ledger.entries(store, "HOME", 1_999, 4_001)]

    assert everything == list(range(1, 4_501))
    assert part == list(range(1_999, 4_002))


def test_a_clock_set_back_never_makes_the_time_of_writing_run_backwards(
    store: Store, append: Append
) -> None:
    append(1, now=NOON)
    [late] = append(1, now=NOON - timedelta(hours=1))
    [later] = append(1, now=NOON + timedelta(microseconds=1))

    assert late.recorded_at == NOON
    assert later.recorded_at == NOON + timedelta(microseconds=1)


def test_a_time_keeps_its_microseconds(store: Store, append: Append) -> None:
    moment = NOON + timedelta(microseconds=123_457)

    append(1, now=moment)

    [entry] = ledger.entries(store, "HOME")
    assert entry.recorded_at == moment


def test_no_facts_are_no_entries(store: Store, append: Append) -> None:
    append(1)

    assert append(0) == []
    assert ledger.heads(store)["HOME"].position == 1


# --- all or nothing -------------------------------------------------------------------------


def test_a_fact_cannot_be_told_outside_an_act(store: Store, clock: StoppedClock) -> None:
    with pytest.raises(RuntimeError, match="inside a transaction"):
        ledger.append(store, "HOME", [placed(clock.now)], clock.now)


def test_an_act_that_fails_leaves_no_gap(store: Store, append: Append) -> None:
    append(1)

    with pytest.raises(ZeroDivisionError), store.writing():
        ledger.append(store, "HOME", [placed(NOON)], NOON)
        _ = 1 / 0
    append(1)

    assert [entry.position for entry in ledger.entries(store, "HOME")] == [1, 2]


@pytest.mark.parametrize("site", ["", "home", "HOME 2", "HOME\n", "HOME/1", "É", "A" * 17])
def test_a_site_code_is_capitals_digits_and_hyphens(store: Store, site: str) -> None:
    with pytest.raises(ValueError, match="no site code"), store.writing():
        ledger.append(store, site, [placed(NOON)], NOON)


def test_four_clerks_at_once_leave_one_chain_without_gaps(store: Store, database_url: str) -> None:
    """Each with a store of its own, as four processes have: only the database keeps order."""
    failed = _at_once(
        database_url,
        4,
        lambda mine, number: _append_one(mine, "HOME", f"E{number:08d}X"),
        times=15,
    )

    assert failed == []
    entries = list(ledger.entries(store, "HOME"))
    assert [entry.position for entry in entries] == list(range(1, 61))
    assert ledger.heads(store)["HOME"].seal == entries[-1].seal


def test_two_acts_on_two_chains_named_in_opposite_order_never_wait_for_each_other(
    store: Store, database_url: str
) -> None:
    def on_both(mine: Store, number: int) -> None:
        sites = ["HOME", "AWAY"] if number % 2 else ["AWAY", "HOME"]
        with mine.writing():
            ledger.lock(mine, sites)
            for site in sites:
                ledger.append(mine, site, [placed(NOON)], NOON)

    failed = _at_once(database_url, 2, on_both, times=20)

    assert failed == []
    assert {site: head.position for site, head in ledger.heads(store).items()} == {
        "HOME": 40,
        "AWAY": 40,
    }


def _append_one(mine: Store, site: str, item: str) -> None:
    with mine.writing():
        ledger.append(mine, site, [placed(NOON, item)], NOON)


def _at_once(
    url: str, hands: int, work: Callable[[Store, int], None], *, times: int
) -> list[BaseException]:
    """Run *work* so many times in so many threads, each with a store of its own."""
    failed: list[BaseException] = []

    def run(number: int) -> None:
        mine = Store.open(url)
        try:
            for _ in range(times):
                work(mine, number)
        except BaseException as problem:
            failed.append(problem)
        finally:
            mine.dispose()

    threads = [threading.Thread(target=run, args=(number,)) for number in range(hands)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return failed


# --- the database itself refuses ------------------------------------------------------------


def _insert(store: Store, position: int, how: str = "INSERT", then: str = "") -> str:
    seal = "'\\x" + "00" * 32 + "'" if store.is_postgres else "x'" + "00" * 32 + "'"
    body = "'\\x00'" if store.is_postgres else "x'00'"
    return (
        f"{how} INTO ledger (site, position, recorded_at, body, seal)"
        f" VALUES ('HOME', {position}, 1, {body}, {seal}) {then}"
    )


def _unchanged(store: Store, told: list[Entry]) -> bool:
    return list(ledger.entries(store, "HOME")) == told


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE ledger SET recorded_at = recorded_at + 60000000",
        "UPDATE ledger SET position = 9 WHERE position = 2",
        "DELETE FROM ledger WHERE position = 2",
        "DELETE FROM ledger",
    ],
)
def test_the_database_itself_refuses_to_rewrite_an_entry(
    store: Store, append: Append, statement: str
) -> None:
    told = append(2)

    with pytest.raises(Refused, match="the ledger is told, never"):
        store.run(statement)

    assert _unchanged(store, told)


@pytest.mark.parametrize("position", [1, 2, 4, 9])
def test_the_database_itself_takes_only_the_next_entry_of_a_site(
    store: Store, append: Append, position: int
) -> None:
    told = append(2)

    with pytest.raises(Refused, match="an entry follows the last of its site"):
        store.run(_insert(store, position))

    assert _unchanged(store, told)


@pytest.mark.parametrize("position", [0, -1])
def test_the_first_entry_of_a_site_is_number_one(store: Store, position: int) -> None:
    with pytest.raises(Refused):
        store.run(_insert(store, position))

    assert list(ledger.entries(store, "HOME", first=-5)) == []


def test_an_upsert_does_not_get_past_the_guards(store: Store, append: Append) -> None:
    told = append(2)

    with pytest.raises(Refused, match="an entry follows the last of its site"):
        store.run(
            _insert(
                store,
                2,
                then="ON CONFLICT (site, position) DO UPDATE SET recorded_at = 5",
            )
        )

    assert _unchanged(store, told)


@sqlite_alone
@pytest.mark.parametrize("how", ["INSERT OR REPLACE", "REPLACE", "INSERT OR IGNORE"])
def test_no_way_of_inserting_replaces_an_entry_even_on_a_bare_connection(
    store: Store, database_url: str, append: Append, how: str
) -> None:
    """Without recursive_triggers a REPLACE would walk past the guard against deleting."""
    told = append(2)
    bare = peewee.sqlite3.connect(database_url, isolation_level=None)
    assert bare.execute("PRAGMA recursive_triggers").fetchone() == (0,)

    with pytest.raises(peewee.sqlite3.IntegrityError, match="an entry follows the last"):
        bare.execute(_insert(store, 2, how))
    bare.close()

    assert _unchanged(store, told)


@sqlite_alone
@pytest.mark.parametrize("how", ["UPDATE OR REPLACE", "UPDATE OR IGNORE"])
def test_no_way_of_updating_changes_an_entry(store: Store, append: Append, how: str) -> None:
    told = append(2)

    with pytest.raises(Refused, match="the ledger is told, never edited"):
        store.run(f"{how} ledger SET position = 1 WHERE position = 2")

    assert _unchanged(store, told)


def test_emptying_the_whole_table_at_once_is_refused(store: Store, append: Append) -> None:
    told = append(2)
    statement = "TRUNCATE ledger" if store.is_postgres else "DELETE FROM ledger WHERE true"

    with pytest.raises(Refused, match="the ledger is told, never"):
        store.run(statement)

    assert _unchanged(store, told)


def test_a_session_that_plays_the_replica_is_refused_as_well(store: Store, append: Append) -> None:
    """PostgreSQL passes by ordinary triggers in a replica's session; ours are always on."""
    told = append(2)
    if store.is_postgres:
        store.run("SET session_replication_role = replica")
    else:
        store.run("PRAGMA recursive_triggers = 0")

    with pytest.raises(Refused, match="the ledger is told, never"):
        store.run("DELETE FROM ledger WHERE position = 2")

    assert _unchanged(store, told)
