"""A patient of an old book is found however the reference is written today, and nobody gets two."""

import re
import threading

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from equip.references import canonical, normal_reference
from equip.store.database import Store
from equip.store.kept.keys import Keys
from equip.store.kept.vault import Vault
from tests.support.old_vault import kept_as_before

USUAL = re.compile("[0-9]{5,12}|[A-Z]{2,6}-?[0-9]{4,10}")
WRITTEN = st.builds(
    lambda parts, sign: sign.join(parts),
    st.lists(st.sampled_from(["DEMO", "AB", "77001", "12", "345"]), min_size=1, max_size=3),
    st.sampled_from(["", "-", " ", "/", "."]),
)


@pytest.fixture
def vault(store: Store, keys: Keys) -> Vault:
    made = Vault(store, keys)
    made.patients = USUAL
    return made


@pytest.mark.parametrize(
    ("before", "today"),
    [("DEMO-77001", "DEMO77001"), ("DEMO77001", "DEMO-77001"), ("demo 77001", "DEMO/77001")],
)
def test_a_patient_of_an_old_book_is_found_by_either_way_of_writing(
    vault: Vault, store: Store, keys: Keys, before: str, today: str
) -> None:
    token = kept_as_before(store, keys, before)

    assert vault.index_again() == 1
    for written in (before, today):
        assert vault.find(written) == vault.token(written) == token
        assert vault.tokens([written]) == {written: token}
    assert vault.reveal(token) == normal_reference(before)
    assert store.one("SELECT count(*) FROM vault") == (1,)


def test_a_book_is_indexed_anew_once(vault: Vault, store: Store, keys: Keys) -> None:
    kept_as_before(store, keys, "DEMO-77001")
    kept_as_before(store, keys, "DEMO-77002")

    assert vault.index_again() == 2
    assert vault.index_again() == 0
    assert Vault(store, keys).find("DEMO77002") is not None


def test_until_then_a_patient_is_found_as_the_reference_was_typed(
    vault: Vault, store: Store, keys: Keys
) -> None:
    """`verify` looks at a book and changes nothing in it."""
    token, plain = (kept_as_before(store, keys, one) for one in ("QX-4471902", "QX4471903"))

    assert vault.find(" qx-4471902") == vault.token("QX-4471902") == token
    assert vault.find("QX-4471903") == vault.find("QX4471903") == plain


def test_of_two_tokens_that_one_patient_had_one_is_used_on(
    vault: Vault, store: Store, keys: Keys
) -> None:
    decorated, plain = (kept_as_before(store, keys, one) for one in ("QX-4471902", "QX4471902"))
    other = kept_as_before(store, keys, "QX-4471903")

    vault.index_again()

    for written in ("QX-4471902", "QX4471902", "qx 4471902"):
        assert vault.token(written) == vault.tokens([written])[written] == plain
        assert vault.all_of(written) == [plain, decorated]
    assert vault.others_of(decorated) == [plain]
    assert vault.others_of(plain) == [decorated]
    assert vault.others_of(other) == vault.others_of("taaaaaaaaaaa2") == []


def test_a_row_that_cannot_be_read_any_more_is_still_found_as_it_was_typed(
    vault: Vault, store: Store, keys: Keys
) -> None:
    token = kept_as_before(store, keys, "QX-4471902")
    store.run("UPDATE vault SET sealed = ? WHERE token = ?", bytes(40), token)
    whole = kept_as_before(store, keys, "QX-4471903")

    assert vault.index_again() == 1
    assert vault.index_again() == 0
    assert vault.token("QX-4471902") == token
    assert vault.token("QX4471903") == whole
    store.run("UPDATE vault SET sealed = ? WHERE token = ?", bytes(40), whole)
    assert vault.token("QX4471903") == whole


def test_people_who_share_all_but_the_signs_stay_apart(vault: Vault) -> None:
    three = ["12-345", "123-45", "12345"]
    one_by_one = {written: vault.token(written) for written in three}
    at_once = vault.tokens([*three, "1-2345", "DEMO-77001", "DEMO77001"])

    assert len(set(one_by_one.values())) == 3
    assert {written: at_once[written] for written in three} == one_by_one
    assert at_once["1-2345"] not in one_by_one.values()
    assert at_once["DEMO-77001"] == at_once["DEMO77001"]


def test_two_who_share_a_hash_in_one_batch_get_a_token_each(vault: Vault) -> None:
    found = vault.tokens(["12-345", "123-45", "12345", "12-345"])

    assert len(set(found.values())) == 3
    assert found == {written: vault.find(written) for written in found}


def test_the_number_of_a_row_that_is_gone_is_not_waited_for(vault: Vault, store: Store) -> None:
    first, second = vault.token("12-345"), vault.token("123-45")
    store.run("DELETE FROM vault WHERE token = ?", first)

    assert vault.token("1-2345") not in (first, second)
    assert vault.token("123-45") == second


@settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None
)
@given(old=st.lists(WRITTEN, max_size=4), new=st.lists(WRITTEN, min_size=1, max_size=8))
def test_whatever_was_written_before_one_patient_gets_one_token_from_now_on(
    vault: Vault, store: Store, keys: Keys, old: list[str], new: list[str]
) -> None:
    store.run("DELETE FROM vault")
    for reference in {normal_reference(one) for one in old}:
        kept_as_before(store, keys, reference)
    vault.index_again()

    one_by_one = {written: vault.token(written) for written in new[::2]}
    found = vault.tokens(new) | vault.tokens(new[1::2])

    assert one_by_one.items() <= found.items()
    assert len(set(found.values())) == len({canonical(one, USUAL) for one in new})
    for written in old:
        same = [one for one in new if canonical(one, USUAL) == canonical(written, USUAL)]
        assert all(found[one] == vault.find(written) for one in same)
    (rows,) = store.one("SELECT count(*) FROM vault") or (0,)
    fresh = {canonical(one, USUAL) for one in new} - {canonical(one, USUAL) for one in old}
    assert rows == len({normal_reference(one) for one in old}) + len(fresh)


def test_two_benches_that_write_one_patient_in_two_ways_at_once_give_one_token(
    vault: Vault, database_url: str, keys: Keys
) -> None:
    tokens: list[str] = []

    def meet(sign: str) -> None:
        mine = Store.open(database_url)
        mine.connect()
        mine_vault = Vault(mine, keys)
        for number in range(10):
            with mine.writing():
                tokens.append(f"{number} {mine_vault.token(f'QX{sign}{number}000')}")
        mine.dispose()

    threads = [threading.Thread(target=meet, args=(sign,)) for sign in ("", "-")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(tokens) == 20
    assert len(set(tokens)) == 10
