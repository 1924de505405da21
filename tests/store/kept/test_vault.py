"""Patient references stand in the vault alone, and nobody reads them there without the keys."""

import logging
import re
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from equip.store.database import Store
from equip.store.kept.keys import BadKey, Keys
from equip.store.kept.vault import UnknownToken, Vault

REFERENCE = "QX-4471902"


def test_a_patient_has_one_token_however_the_reference_is_typed(vault: Vault) -> None:
    token = vault.token("QX 4471  902")

    assert vault.token("  qx 4471 902\n") == token
    assert vault.find("Qx\t4471 902") == token
    assert vault.token("QX 4471 903") != token


def test_a_patient_never_seen_here_has_no_token(vault: Vault) -> None:
    assert vault.find(REFERENCE) is None


def test_a_token_says_nothing_and_leads_back_to_the_reference(vault: Vault) -> None:
    token = vault.token(f" {REFERENCE.lower()} ")

    assert len(token) == 13
    assert token[0] == "t"
    assert set(token[1:]) <= set("abcdefghijklmnopqrstuvwxyz234567")
    assert vault.reveal(token) == REFERENCE


def test_two_installations_give_the_same_patient_different_tokens(
    vault: Vault, store: Store, keys: Keys
) -> None:
    first = vault.token(REFERENCE)
    store.run("DELETE FROM vault")

    assert vault.token(REFERENCE) != first


def test_the_hint_is_the_last_characters_without_what_decorates_them(vault: Vault) -> None:
    vault.patients = re.compile("[A-Z]{2}-?[0-9]{4}-?[0-9]{3}")
    token = vault.token("QX-4471-902")

    assert vault.hint(token, 4) == "1902"
    assert vault.hint(token, 20) == "X4471902"
    assert vault.hint(token, 20, whole=True) == "QX4471902"


def test_a_token_that_is_not_ours_is_nobodys(vault: Vault) -> None:
    with pytest.raises(UnknownToken, match="No patient goes by this token"):
        vault.reveal("taaaaaaaaaaaa")


def test_no_reference_stands_in_the_database(vault: Vault, store: Store, database_url: str) -> None:
    vault.token(REFERENCE)

    rows = store.rows("SELECT token, lookup, sealed FROM vault")
    written = repr([[bytes(c) if not isinstance(c, str) else c for c in row] for row in rows])
    assert REFERENCE not in written
    assert "4471902" not in written
    if not store.is_postgres:
        store.run("PRAGMA wal_checkpoint(TRUNCATE)")
        assert b"4471902" not in Path(database_url).read_bytes()


def test_the_same_reference_is_sealed_differently_each_time(vault: Vault, store: Store) -> None:
    seen = set()
    for _ in range(2):
        vault.token(REFERENCE)
        seen.add(bytes(store.rows("SELECT sealed FROM vault")[0][0]))
        store.run("DELETE FROM vault")

    assert len(seen) == 2


def test_a_sealed_reference_cannot_be_moved_to_another_token(vault: Vault, store: Store) -> None:
    """The token is sealed in with it, so that rows cannot be swapped behind our back."""
    one, other = vault.token(REFERENCE), vault.token("QX-1")
    [(sealed,)] = store.rows("SELECT sealed FROM vault WHERE token = ?", one)
    store.run("UPDATE vault SET sealed = ? WHERE token = ?", sealed, other)

    with pytest.raises(UnknownToken, match="cannot be read any more"):
        vault.reveal(other)
    assert vault.reveal(one) == REFERENCE


@pytest.mark.parametrize("key", ["vault", "index"])
def test_a_database_does_not_open_with_the_keys_of_another(
    vault: Vault, store: Store, keys: Keys, key: str
) -> None:
    """Otherwise each known patient would get a second token, and no trace would find the first."""
    vault.token(REFERENCE)

    with pytest.raises(BadKey, match="restore the folder “keys” that belongs to it"):
        Vault(store, replace(keys, **{key: bytes(32)}))

    assert Vault(store, keys).find(REFERENCE) is not None


def test_one_damaged_row_shuts_nobody_out(vault: Vault, store: Store, keys: Keys) -> None:
    tokens = sorted(vault.token(f"QX-{number}") for number in range(3))
    store.run("UPDATE vault SET sealed = ? WHERE token = ?", bytes(40), tokens[0])

    assert Vault(store, keys).reveal(tokens[1]).startswith("QX-")


def test_two_benches_that_meet_a_new_patient_at_once_give_one_token(
    vault: Vault, database_url: str, keys: Keys
) -> None:
    tokens: list[str] = []

    def meet() -> None:
        mine = Store.open(database_url)
        mine.connect()
        mine_vault = Vault(mine, keys)
        for number in range(10):
            with mine.writing():
                tokens.append(f"{number} {mine_vault.token(f'QX-{number}')}")
        mine.dispose()

    threads = [threading.Thread(target=meet) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(tokens) == 20
    assert len(set(tokens)) == 10


def test_a_hash_of_a_scan_is_keyed_and_tells_texts_apart(vault: Vault, store: Store) -> None:
    other = Vault(store, Keys(vault=b"v" * 32, index=b"i" * 32, secret=b"s" * 32))

    assert vault.payload_hash(REFERENCE) == vault.payload_hash(REFERENCE)
    assert vault.payload_hash(REFERENCE) != vault.payload_hash(f"{REFERENCE} ")
    assert vault.payload_hash(REFERENCE) != other.payload_hash(REFERENCE)
    assert len(vault.payload_hash("")) == 32


def test_half_a_character_is_a_reference_like_any_other(vault: Vault) -> None:
    broken = "QX-\ud800"

    assert vault.reveal(vault.token(broken)) == broken
    assert len(vault.payload_hash(broken)) == 32


def test_no_log_names_a_reference(vault: Vault, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.DEBUG):
        vault.hint(vault.token(REFERENCE), 4)

    assert "vault" in caplog.text
    assert "4471902" not in caplog.text
