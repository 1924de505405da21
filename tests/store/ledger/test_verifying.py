"""Whoever has the database in hand can change it, but not without being found out."""

import random
import stat
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from equip.facts import FIRST, canonical, micros, seal
from equip.store.database import Store, guard
from equip.store.ledger import ledger
from equip.store.ledger.ledger import Head
from equip.store.ledger.verifying import Fault, KeptHead, read_heads, verify_chain, write_heads
from tests.store.conftest import Append, placed
from tests.support.stopped import NOON

Unguarded = Callable[[], AbstractContextManager[None]]

sqlite_alone = pytest.mark.parametrize("sort", ["sqlite"], indirect=True)


def where(fault: Fault | None) -> tuple[str, int] | None:
    return None if fault is None else (fault.site, fault.position)


def kept(store: Store) -> list[KeptHead]:
    return [KeptHead(s, head.position, head.seal) for s, head in ledger.heads(store).items()]


# --- a whole chain --------------------------------------------------------------------------


def test_an_empty_ledger_is_whole(store: Store) -> None:
    assert verify_chain(store) is None


def test_a_ledger_as_it_was_written_is_whole(store: Store, append: Append) -> None:
    append(3, "HOME")
    seals = kept(store)
    append(2, "AWAY")
    append(1, "HOME")

    assert verify_chain(store) is None
    assert verify_chain(store, seals) is None


def test_a_chain_longer_than_one_reading_is_whole(store: Store, append: Append) -> None:
    append(4_100)

    assert verify_chain(store) is None


# --- what somebody with the database in hand may do -----------------------------------------


def test_one_changed_minute_breaks_the_seal_from_there_on(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    append(5)
    with unguarded():
        store.run("UPDATE ledger SET recorded_at = recorded_at + 60000000 WHERE position = 3")

    guard(store)
    fault = verify_chain(store)

    assert where(fault) == ("HOME", 3)
    assert fault is not None and "seal does not agree" in fault.says


def test_a_changed_word_is_found(store: Store, append: Append, unguarded: Unguarded) -> None:
    append(5)
    other = canonical(placed(NOON, "E00000099X"))
    with unguarded():
        store.run("UPDATE ledger SET body = ? WHERE position = 4", other)

    guard(store)

    assert where(verify_chain(store)) == ("HOME", 4)


def test_two_entries_that_changed_places_are_found(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    append(5)
    with unguarded():
        for old, new in ((2, 99), (3, 2), (99, 3)):
            store.run("UPDATE ledger SET position = ? WHERE position = ?", new, old)

    guard(store)

    assert where(verify_chain(store)) == ("HOME", 2)


def test_a_removed_entry_is_found(store: Store, append: Append, unguarded: Unguarded) -> None:
    append(5)
    with unguarded():
        store.run("DELETE FROM ledger WHERE position = 3")

    guard(store)
    fault = verify_chain(store)

    assert where(fault) == ("HOME", 3)
    assert fault is not None and "missing" in fault.says


def test_entries_that_were_removed_and_closed_up_are_found(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    append(5)
    with unguarded():
        store.run("DELETE FROM ledger WHERE position = 3")
        for old in (4, 5):
            store.run("UPDATE ledger SET position = ? WHERE position = ?", old - 1, old)
        store.run("UPDATE head SET position = 4")

    guard(store)

    assert where(verify_chain(store)) == ("HOME", 3)


def test_a_cut_tail_is_found_by_the_head(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    append(5)
    with unguarded():
        store.run("DELETE FROM ledger WHERE position > 3")

    guard(store)
    fault = verify_chain(store)

    assert where(fault) == ("HOME", 4)
    assert fault is not None and "up to 5" in fault.says


def _cut_with_its_head(store: Store, last: int) -> None:
    store.run("DELETE FROM ledger WHERE position > ?", last)
    store.run(
        "UPDATE head SET position = ?, seal = (SELECT seal FROM ledger WHERE position = ?)",
        last,
        last,
    )


def test_a_tail_that_was_cut_with_its_head_is_found_by_a_seal_kept_apart(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    append(5)
    seals = kept(store)
    with unguarded():
        _cut_with_its_head(store, 3)

    guard(store)

    assert verify_chain(store) is None
    assert where(verify_chain(store, seals)) == ("HOME", 4)


def test_a_chain_that_was_removed_whole_is_found_by_a_seal_kept_apart(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    append(2, "AWAY")
    seals = kept(store)
    with unguarded():
        store.run("DELETE FROM ledger")
        store.run("DELETE FROM head")

    assert verify_chain(store) is None
    assert where(verify_chain(store, seals)) == ("AWAY", 1)


def _made_anew(store: Store, site: str, bodies: list[bytes]) -> None:
    """Write a chain again, every seal right: whoever can do this needs only our source."""
    store.run("DELETE FROM ledger WHERE site = ?", site)
    previous = FIRST
    for position, body in enumerate(bodies, start=1):
        previous = seal(previous, site, position, micros(NOON), body)
        store.run(
            "INSERT INTO ledger (site, position, recorded_at, body, seal) VALUES (?, ?, ?, ?, ?)",
            site,
            position,
            micros(NOON),
            body,
            previous,
        )
    store.run("UPDATE head SET position = ?, seal = ?", len(bodies), previous)


def test_a_chain_that_was_made_anew_with_right_seals_is_found_by_one_kept_apart(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    told = append(4)
    seals = [KeptHead("HOME", 3, told[2].seal)]
    bodies = [canonical(entry.fact) for entry in told]
    bodies[1] = canonical(placed(NOON, "E00000099X"))
    with unguarded():
        _made_anew(store, "HOME", bodies)

    guard(store)

    assert verify_chain(store) is None
    assert where(verify_chain(store, seals)) == ("HOME", 3)


def test_a_seal_added_to_those_kept_apart_does_not_take_the_place_of_the_first(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    told = append(2)
    seals = kept(store)
    with unguarded():
        _made_anew(store, "HOME", [canonical(entry.fact) for entry in reversed(told)])

    seals += kept(store)

    assert where(verify_chain(store, seals)) == ("HOME", 2)


def test_an_entry_that_was_added_past_the_head_is_found(store: Store, append: Append) -> None:
    told = append(3)
    body = canonical(placed(NOON, "E00000099X"))
    store.run(
        "INSERT INTO ledger (site, position, recorded_at, body, seal) VALUES (?, ?, ?, ?, ?)",
        "HOME",
        4,
        micros(NOON),
        body,
        seal(told[-1].seal, "HOME", 4, micros(NOON), body),
    )

    fault = verify_chain(store)

    assert where(fault) == ("HOME", 4)


@pytest.mark.parametrize(
    "change", ["DELETE FROM head", "UPDATE head SET seal = ?"], ids=["missing", "changed"]
)
def test_a_head_that_is_missing_or_changed_is_found(
    store: Store, append: Append, change: str
) -> None:
    append(3)
    store.run(change, *([FIRST] if "?" in change else []))

    fault = verify_chain(store)

    assert where(fault) == ("HOME", 3)
    assert fault is not None and "head" in fault.says


def test_an_entry_that_moved_to_another_site_is_found(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    append(2, "HOME")
    append(1, "AWAY")
    with unguarded():
        store.run("UPDATE ledger SET site = 'THERE' WHERE site = 'AWAY'")
        store.run("UPDATE head SET site = 'THERE' WHERE site = 'AWAY'")

    assert where(verify_chain(store)) == ("THERE", 1)


def test_times_of_writing_that_run_backwards_are_found_even_under_right_seals(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    [first, second] = append(2)
    body = canonical(second.fact)
    early = micros(NOON - timedelta(days=1))
    forged = seal(first.seal, "HOME", 2, early, body)
    with unguarded():
        store.run("UPDATE ledger SET recorded_at = ?, seal = ? WHERE position = 2", early, forged)
        store.run("UPDATE head SET seal = ?", forged)

    fault = verify_chain(store)

    assert where(fault) == ("HOME", 2)
    assert fault is not None and "written down before" in fault.says


@pytest.mark.parametrize("body", [b"", b"{}", b'{"kind":"no-such-kind"}', b"\xff\xfe", b"[1"])
def test_a_body_that_spells_no_fact_is_found_even_under_a_right_seal(
    store: Store, append: Append, unguarded: Unguarded, body: bytes
) -> None:
    told = append(3)
    bodies = [canonical(entry.fact) for entry in told]
    bodies[1] = body
    with unguarded():
        _made_anew(store, "HOME", bodies)

    fault = verify_chain(store)

    assert where(fault) == ("HOME", 2)
    assert fault is not None and "spells no fact" in fault.says


@sqlite_alone
@pytest.mark.parametrize(
    "change",
    [
        "body = replace(CAST(body AS TEXT), 'E00000003X', 'E00000009X')",
        "body = 1000000000000",
        "body = 1.5",
        "seal = 'the same thirty-two characters !!'",
        "recorded_at = 'noon'",
        "recorded_at = 1.5",
    ],
)
def test_a_cell_of_another_kind_is_found_and_named(
    store: Store, append: Append, unguarded: Unguarded, change: str
) -> None:
    """SQLite lets anybody write text or a number where bytes were."""
    append(5)
    with unguarded():
        store.run("PRAGMA ignore_check_constraints = 1")
        store.run(f"UPDATE ledger SET {change} WHERE position = 3")

    guard(store)

    assert where(verify_chain(store)) == ("HOME", 3)


def test_any_one_byte_changed_anywhere_is_found_where_it_is(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    told = append(12)
    chance = random.Random(20260304)
    found = []
    for entry in told:
        for column, was in (("body", canonical(entry.fact)), ("seal", entry.seal)):
            changed = bytearray(was)
            changed[chance.randrange(len(changed))] ^= 1 << chance.randrange(8)
            sql = f"UPDATE ledger SET {column} = ? WHERE position = ?"
            with unguarded():
                store.run(sql, bytes(changed), entry.position)
            found.append((where(verify_chain(store)), entry.position))
            with unguarded():
                store.run(sql, was, entry.position)

    assert len(found) == 24
    assert all(fault == ("HOME", position) for fault, position in found)
    assert verify_chain(store) is None


def test_the_first_fault_of_the_first_chain_is_named(
    store: Store, append: Append, unguarded: Unguarded
) -> None:
    append(3, "HOME")
    append(3, "AWAY")
    with unguarded():
        store.run("UPDATE ledger SET recorded_at = 1 WHERE position >= 2")

    assert where(verify_chain(store)) == ("AWAY", 2)


# --- seals kept apart -----------------------------------------------------------------------


def test_seals_that_were_written_read_back_and_nobody_else_may_read_them(
    store: Store, append: Append, tmp_path: Path
) -> None:
    path = tmp_path / "heads.txt"
    append(2)
    write_heads(path, ledger.heads(store), NOON)
    append(1)
    write_heads(path, ledger.heads(store), NOON + timedelta(days=1))

    found = read_heads(path)

    assert [(one.site, one.position) for one in found] == [("HOME", 2), ("HOME", 3)]
    assert found[1] == kept(store)[0]
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert verify_chain(store, found) is None


def test_a_line_of_the_file_says_when_where_and_which_seal(tmp_path: Path) -> None:
    path = tmp_path / "heads.txt"

    write_heads(path, {"HOME": Head(7, bytes(range(32)))}, NOON)

    assert path.read_text() == f"2026-03-04T12:00:00Z HOME 7 {bytes(range(32)).hex()}\n"


def test_a_head_that_stands_there_already_is_not_written_again(tmp_path: Path) -> None:
    path = tmp_path / "heads.txt"
    for _ in range(3):
        write_heads(path, {"HOME": Head(7, bytes(32))}, NOON)

    assert len(read_heads(path)) == 1


def test_a_chain_that_has_begun_with_nothing_keeps_no_seal(tmp_path: Path) -> None:
    path = tmp_path / "heads.txt"

    write_heads(path, {"HOME": Head(0, bytes(32))}, NOON)

    assert not path.exists()
    assert read_heads(path) == []


def test_lines_that_are_no_seals_are_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "heads.txt"
    head = Head(7, bytes(32))
    write_heads(path, {"HOME": head}, NOON)
    with path.open("ab") as file:
        file.write(b"# a remark\n\n")
        file.write(b"2026-03-04T12:00:00Z HOME x " + b"0" * 64 + b"\n")
        file.write("2026-03-04T12:00:00Z HOME ² ".encode() + b"0" * 64 + b"\n")
        file.write(b"2026-03-04T12:00:00Z HOME 8 " + b"z" * 64 + b"\n\xff\xfe\n")
        file.write(b"2026-03-04T12:00:00Z HOME 8 00")

    assert read_heads(path) == [KeptHead("HOME", 7, head.seal)]


def test_a_seal_kept_apart_for_another_place_than_it_has_is_found(
    store: Store, append: Append
) -> None:
    append(3)
    [one] = kept(store)

    assert where(verify_chain(store, [replace(one, position=2)])) == ("HOME", 2)
    assert where(verify_chain(store, [replace(one, position=4)])) == ("HOME", 4)
