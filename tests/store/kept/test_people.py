"""Signing in: a wrong word slows down, a wrong PIN shuts the PIN, and nobody is shut out."""

import threading
from datetime import datetime, timedelta

import pytest
from argon2 import PasswordHasher

from equip.store.database import Store
from equip.store.kept import people
from equip.store.kept.people import Outcome
from tests.support.stopped import NOON, StoppedClock

QUICK = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
PEPPER = b"p" * 32
NURSE, OTHER = "B00000017X", "B00000025X"
PASSWORD, PIN = "a long enough password", "4711"
IDLE, LONGEST = timedelta(minutes=30), timedelta(hours=12)


@pytest.fixture
def nurse(store: Store) -> str:
    people.keep_secrets(store, NURSE, password=PASSWORD, pin=PIN, pepper=PEPPER, hasher=QUICK)
    return NURSE


def by_password(
    store: Store, password: str, now: datetime = NOON, tag: str = NURSE, slowest: int = 30
) -> Outcome:
    return people.check_password(store, tag, password, now, slowest=slowest, hasher=QUICK)


def by_pin(
    store: Store, pin: str, now: datetime = NOON, tag: str = NURSE, pepper: bytes = PEPPER
) -> Outcome:
    return people.check_pin(store, tag, pin, now, pepper=pepper, tries=5, hasher=QUICK)


# --- passwords ------------------------------------------------------------------------------


def test_the_right_password_signs_in(store: Store, nurse: str) -> None:
    assert by_password(store, PASSWORD) == Outcome(True)


@pytest.mark.parametrize("wrong", ["", PASSWORD.upper(), f"{PASSWORD} ", PIN])
def test_a_wrong_password_does_not(store: Store, nurse: str, wrong: str) -> None:
    outcome = by_password(store, wrong)

    assert not outcome.ok
    assert outcome.says


def test_nobody_and_a_wrong_password_are_answered_alike(store: Store, nurse: str) -> None:
    assert by_password(store, PASSWORD, tag=OTHER) == by_password(store, "wrong")


def test_somebody_without_a_password_cannot_sign_in_with_an_empty_one(store: Store) -> None:
    people.keep_secrets(store, OTHER, pin=PIN, pepper=PEPPER, hasher=QUICK)

    assert not by_password(store, "", tag=OTHER).ok


def test_wrong_passwords_wait_longer_and_longer_up_to_the_slowest(
    store: Store, nurse: str, clock: StoppedClock
) -> None:
    waits = []
    for _ in range(9):
        waits.append(by_password(store, "wrong", clock.now).wait_s)
        clock.passes(seconds=waits[-1])

    assert waits == [0, 0, 1, 2, 4, 8, 16, 30, 30]


def test_even_the_right_password_has_to_wait_and_is_told_how_long(
    store: Store, nurse: str, clock: StoppedClock
) -> None:
    for _ in range(3):
        by_password(store, "wrong", clock.now)

    clock.passes(milliseconds=250)
    early = by_password(store, PASSWORD, clock.now)
    clock.passes(milliseconds=750)

    assert (early.ok, early.wait_s) == (False, 1)
    assert "try again in 1 s" in early.says
    assert by_password(store, PASSWORD, clock.now).ok


def test_however_many_wrong_passwords_nobody_waits_longer_than_the_slowest(
    store: Store, nurse: str
) -> None:
    """A lone nurse with a patient in the chair must get in, whatever anybody tried before."""
    store.run("UPDATE person SET wrong_passwords = 1000000")
    by_password(store, "wrong")

    assert by_password(store, PASSWORD, NOON + timedelta(seconds=29)).wait_s == 1
    assert by_password(store, PASSWORD, NOON + timedelta(seconds=30)).ok


def test_a_clock_that_was_set_back_shuts_nobody_out(store: Store, nurse: str) -> None:
    for _ in range(9):
        by_password(store, "wrong", NOON + timedelta(days=400))

    assert by_password(store, PASSWORD, NOON).ok


def test_the_right_password_forgets_the_wrong_ones(
    store: Store, nurse: str, clock: StoppedClock
) -> None:
    for _ in range(3):
        by_password(store, "wrong", clock.now)
    clock.passes(seconds=30)
    by_password(store, PASSWORD, clock.now)

    assert by_password(store, "wrong", clock.now).wait_s == 0


def test_a_new_password_takes_the_place_of_the_old_and_leaves_the_pin(
    store: Store, nurse: str
) -> None:
    people.keep_secrets(store, nurse, password="another password", hasher=QUICK)

    assert not by_password(store, PASSWORD).ok
    assert by_password(store, "another password").ok
    assert by_pin(store, PIN).ok


def test_only_a_hash_of_a_password_or_a_pin_is_kept(store: Store, nurse: str) -> None:
    [(password_hash, pin_hash)] = store.rows("SELECT password_hash, pin_hash FROM person")

    assert password_hash.startswith("$argon2id$")
    assert pin_hash.startswith("$argon2id$")
    assert PASSWORD not in password_hash
    assert PIN not in pin_hash.split("$")[-1]


def test_a_hash_that_somebody_spoilt_is_a_no_and_not_a_crash(store: Store, nurse: str) -> None:
    store.run("UPDATE person SET password_hash = 'spoilt'")

    assert not by_password(store, PASSWORD).ok


def test_by_default_a_password_is_hashed_as_slowly_as_the_library_advises(store: Store) -> None:
    people.keep_secrets(store, OTHER, password=PASSWORD)

    [(kept,)] = store.rows("SELECT password_hash FROM person")
    assert not PasswordHasher().check_needs_rehash(kept)
    assert people.check_password(store, OTHER, PASSWORD, NOON, slowest=30).ok


# --- PINs -----------------------------------------------------------------------------------


def test_the_right_pin_signs_in_and_a_wrong_one_does_not(store: Store, nurse: str) -> None:
    assert by_pin(store, PIN).ok
    assert not by_pin(store, "4712").ok
    assert not by_pin(store, "").ok


def test_five_wrong_pins_shut_the_pin_even_for_the_right_one(store: Store, nurse: str) -> None:
    said = [by_pin(store, "0000").says for _ in range(5)]
    shut = by_pin(store, PIN)

    assert len(set(said)) == 1
    assert not shut.ok
    assert "sign in with the password" in shut.says


def test_a_shut_pin_leaves_the_password_open_and_the_password_opens_it_again(
    store: Store, nurse: str
) -> None:
    for _ in range(6):
        by_pin(store, "0000")

    assert by_password(store, PASSWORD).ok
    assert by_pin(store, PIN).ok


def test_wrong_pins_of_one_badge_shut_no_other(store: Store, nurse: str) -> None:
    people.keep_secrets(store, OTHER, pin="9999", pepper=PEPPER, hasher=QUICK)
    for _ in range(6):
        by_pin(store, "0000")

    assert by_pin(store, "9999", tag=OTHER).ok


def test_a_right_pin_forgets_the_wrong_ones(store: Store, nurse: str) -> None:
    for _ in range(3):
        for _ in range(4):
            by_pin(store, "0000")

        assert by_pin(store, PIN).ok


def test_a_new_pin_opens_a_shut_one(store: Store, nurse: str) -> None:
    for _ in range(6):
        by_pin(store, "0000")

    people.keep_secrets(store, nurse, pin="8888", pepper=PEPPER, hasher=QUICK)

    assert by_pin(store, "8888").ok


def test_a_pin_is_worth_nothing_without_the_key_beside_the_database(
    store: Store, nurse: str
) -> None:
    assert not by_pin(store, PIN, pepper=b"q" * 32).ok


def test_a_pin_hash_moved_to_another_badge_opens_nothing(store: Store, nurse: str) -> None:
    people.keep_secrets(store, OTHER, pin="9999", pepper=PEPPER, hasher=QUICK)
    store.run("UPDATE person SET pin_hash = (SELECT pin_hash FROM person WHERE tag = ?)", nurse)

    assert by_pin(store, PIN).ok
    assert not by_pin(store, PIN, tag=OTHER).ok


def test_somebody_without_a_pin_cannot_sign_in_with_one(store: Store) -> None:
    people.keep_secrets(store, OTHER, password=PASSWORD, hasher=QUICK)

    assert not by_pin(store, "", tag=OTHER).ok
    assert not by_pin(store, PIN, tag="B00000033X").ok


def test_many_wrong_pins_at_once_are_no_more_tries_than_one_after_another(
    store: Store, nurse: str
) -> None:
    """A try counts before it is looked at; else a burst would get past the count."""
    looked_at: list[str] = []

    class Watching(PasswordHasher):
        def verify(self, hash: str | bytes, password: str | bytes) -> bool:
            looked_at.append(str(hash))
            return super().verify(hash, password)

    watching = Watching(time_cost=1, memory_cost=8, parallelism=1)

    def guess() -> None:
        for _ in range(5):
            people.check_pin(store, nurse, "0000", NOON, pepper=PEPPER, tries=5, hasher=watching)
        store.close()

    threads = [threading.Thread(target=lambda: (store.connect(), guess())) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(looked_at) == 5


# --- sessions -------------------------------------------------------------------------------


def test_a_signed_in_device_is_known_by_its_key(store: Store, clock: StoppedClock) -> None:
    key = people.open_session(store, NURSE, "pin", clock.now)

    found = people.session(store, key, clock.now, idle=IDLE, longest=LONGEST)

    assert found is not None
    assert (found.person, found.how, found.opened) == (NURSE, "pin", NOON)
    assert len(key) == 43


def test_only_a_hash_of_the_key_is_kept(store: Store, clock: StoppedClock) -> None:
    key = people.open_session(store, NURSE, "pin", clock.now)

    rows = store.rows("SELECT * FROM session")

    assert key not in repr(rows)
    assert people.open_session(store, NURSE, "pin", clock.now) != key


@pytest.mark.parametrize("key", ["", "nonsense", "é", "\ud800"])
def test_a_key_that_is_none_opens_nothing(store: Store, key: str) -> None:
    assert people.session(store, key, NOON, idle=IDLE, longest=LONGEST) is None


def test_a_device_left_idle_is_signed_out(store: Store, clock: StoppedClock) -> None:
    key = people.open_session(store, NURSE, "pin", clock.now)

    clock.passes(minutes=30)
    kept = people.session(store, key, clock.now, idle=IDLE, longest=LONGEST)
    clock.passes(minutes=30, seconds=1)
    lost = people.session(store, key, clock.now, idle=IDLE, longest=LONGEST)

    assert kept is not None
    assert lost is None
    assert store.rows("SELECT * FROM session") == []


def test_a_device_in_use_is_signed_out_in_the_end(store: Store, clock: StoppedClock) -> None:
    key = people.open_session(store, NURSE, "pin", clock.now)
    for _ in range(24):
        clock.passes(minutes=29)
        people.session(store, key, clock.now, idle=IDLE, longest=LONGEST)

    clock.passes(minutes=29)

    assert people.session(store, key, clock.now, idle=IDLE, longest=LONGEST) is None


def test_being_seen_is_written_down_at_most_once_a_minute(
    store: Store, clock: StoppedClock
) -> None:
    key = people.open_session(store, NURSE, "pin", clock.now)
    seen = []
    for _ in range(3):
        clock.passes(seconds=40)
        people.session(store, key, clock.now, idle=IDLE, longest=LONGEST)
        seen.append(store.one("SELECT seen - opened FROM session"))

    assert seen == [(0,), (80_000_000,), (80_000_000,)]


def test_signing_out_ends_one_session_and_no_other(store: Store, clock: StoppedClock) -> None:
    one = people.open_session(store, NURSE, "pin", clock.now)
    other = people.open_session(store, NURSE, "password", clock.now)

    people.close_session(store, one)

    assert people.session(store, one, clock.now, idle=IDLE, longest=LONGEST) is None
    assert people.session(store, other, clock.now, idle=IDLE, longest=LONGEST) is not None


# --- bench keys -----------------------------------------------------------------------------


def test_a_bench_key_does_not_run_out(store: Store, clock: StoppedClock) -> None:
    key = people.open_session(store, NURSE, "key", clock.now, label="Bench 2")

    clock.passes(days=400)

    found = people.session(store, key, clock.now, idle=IDLE, longest=LONGEST)
    assert found is not None
    assert found.how == "key"


def test_bench_keys_are_listed_newest_first_and_devices_are_not_among_them(
    store: Store, clock: StoppedClock
) -> None:
    key = people.open_session(store, NURSE, "key", clock.now, label="Bench 1")
    people.open_session(store, NURSE, "pin", clock.now)
    clock.passes(days=1)
    people.open_session(store, NURSE, "key", clock.now, label="Bench 2")

    listed = people.keys(store)

    assert [one.label for one in listed] == ["Bench 2", "Bench 1"]
    assert key not in repr(listed)


def test_a_bench_key_that_was_lost_can_be_closed_from_the_list(
    store: Store, clock: StoppedClock
) -> None:
    lost = people.open_session(store, NURSE, "key", clock.now, label="Bench 1")
    device = people.open_session(store, NURSE, "pin", clock.now)
    [listed] = people.keys(store)

    assert people.close_key(store, listed.id)

    assert people.session(store, lost, clock.now, idle=IDLE, longest=LONGEST) is None
    assert people.session(store, device, clock.now, idle=IDLE, longest=LONGEST) is not None
    assert not people.close_key(store, listed.id)
    assert not people.close_key(store, "no such key")
