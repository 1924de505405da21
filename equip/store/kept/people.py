"""What people sign in with, and the sessions of signed-in devices.

Lock-out must not keep a lone nurse from a patient: wrong PINs shut only the PIN, until the
password is used; wrong passwords only slow down.
"""

import hmac
import re
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from equip.facts import micros, moment
from equip.store.database import Store

_HASHER = PasswordHasher()
_SEEN_EVERY = timedelta(minutes=1)
# Verified against when nobody goes by that badge, so that the answer takes as long.
_NOBODY = (
    "$argon2id$v=19$m=65536,t=3,p=4$MDEyMzQ1Njc4OWFiY2RlZg$"
    "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"
)


@dataclass(frozen=True, slots=True)
class Outcome:
    """Whether somebody is who they say, and a sentence if not."""

    ok: bool
    says: str = ""
    wait_s: int = 0


@dataclass(frozen=True, slots=True)
class Session:
    """A signed-in device. *how* is password, pin, or key for a bench that posts scans."""

    person: str
    how: str
    opened: datetime


@dataclass(frozen=True, slots=True)
class BenchKey:
    """A bench key as it is listed: never the key itself. *id* is what it is closed by."""

    id: str
    label: str
    person: str
    opened: datetime
    seen: datetime


_WRONG = "Nobody signs in by that name or badge with that password or PIN."


def keep_secrets(
    store: Store,
    tag: str,
    *,
    password: str = "",
    pin: str = "",
    pepper: bytes = b"",
    hasher: PasswordHasher = _HASHER,
) -> None:
    """Set a password, a PIN or both; what is empty stays as it was."""
    password_hash = hasher.hash(password) if password else None
    pin_hash = hasher.hash(_peppered(pin, tag, pepper)) if pin else None
    with store.writing():
        store.run(
            "INSERT INTO person (tag, password_hash, pin_hash, wrong_pins, wrong_passwords,"
            " held_until) VALUES (?, '', '', 0, 0, 0) ON CONFLICT DO NOTHING",
            tag,
        )
        if password_hash is not None:
            store.run("UPDATE person SET password_hash = ? WHERE tag = ?", password_hash, tag)
            # Whoever was signed in with the old one signs in anew; bench keys stay.
            store.run("DELETE FROM session WHERE person = ? AND how <> 'key'", tag)
        if pin_hash is not None:
            store.run("UPDATE person SET pin_hash = ?, wrong_pins = 0 WHERE tag = ?", pin_hash, tag)


def check_password(
    store: Store,
    tag: str,
    password: str,
    now: datetime,
    *,
    slowest: int,
    hasher: PasswordHasher = _HASHER,
) -> Outcome:
    """Wrong passwords make the next try wait, at most *slowest* seconds; nothing is shut."""
    row = store.one(
        "SELECT password_hash, wrong_passwords, held_until FROM person WHERE tag = ?", tag
    )
    known, wrong, held = row or ("", 0, 0)
    wait = -((micros(now) - held) // 1_000_000)
    if 0 < wait <= slowest:  # longer only if the clock was set back, and that shuts nobody out
        return Outcome(False, f"Too many wrong passwords: try again in {wait} s.", wait)
    if not _agrees(hasher, known, password):
        pause = _pause(wrong, slowest)
        with store.writing():
            store.run(
                "UPDATE person SET wrong_passwords = wrong_passwords + 1, held_until = ?"
                " WHERE tag = ?",
                micros(now + timedelta(seconds=pause)),
                tag,
            )
        return Outcome(False, _WRONG, pause)
    with store.writing():
        store.run(
            "UPDATE person SET wrong_passwords = 0, wrong_pins = 0, held_until = 0 WHERE tag = ?",
            tag,
        )
    return Outcome(True)


def check_pin(
    store: Store,
    tag: str,
    pin: str,
    now: datetime,
    *,
    pepper: bytes,
    tries: int,
    hasher: PasswordHasher = _HASHER,
) -> Outcome:
    """Wrong PINs shut the PIN of this badge until its password is used.

    A try counts before it is looked at, so that many at once are no more than *tries*.
    """
    row = store.one("SELECT pin_hash FROM person WHERE tag = ?", tag)
    with store.writing():
        may_try = store.run(
            "UPDATE person SET wrong_pins = wrong_pins + 1 WHERE tag = ? AND wrong_pins < ?",
            tag,
            tries,
        )
    if row is not None and not may_try:
        return Outcome(False, "This PIN is shut after wrong tries: sign in with the password.")
    if not _agrees(hasher, row[0] if row else "", _peppered(pin, tag, pepper)):
        return Outcome(False, _WRONG)
    with store.writing():
        store.run("UPDATE person SET wrong_pins = 0 WHERE tag = ?", tag)
    return Outcome(True)


def _pause(wrong: int, slowest: int) -> int:
    """Seconds to wait after one more wrong password: two are free, then it doubles each time."""
    return 0 if wrong < 2 else min(2 ** min(wrong - 2, 16), slowest)


def _agrees(hasher: PasswordHasher, known: str, given: str) -> bool:
    try:
        return hasher.verify(known or _NOBODY, given) and bool(known)
    except (VerificationError, InvalidHashError):
        return False


def _peppered(pin: str, tag: str, pepper: bytes) -> str:
    """A PIN has few values: without the key beside the database its hash is worth nothing."""
    return hmac.digest(pepper, f"pin\n{tag}\n{pin}".encode(), sha256).hex()


# --- sessions -------------------------------------------------------------------------------


def open_session(store: Store, person: str, how: str, now: datetime, *, label: str = "") -> str:
    """A new key for a device; only its hash is kept."""
    key = secrets.token_urlsafe(32)
    with store.writing():
        store.run(
            "INSERT INTO session (key_hash, person, how, label, opened, seen)"
            " VALUES (?, ?, ?, ?, ?, ?)",
            _hash(key),
            person,
            how,
            label,
            micros(now),
            micros(now),
        )
    return key


def session(
    store: Store, key: str, now: datetime, *, idle: timedelta, longest: timedelta
) -> Session | None:
    """Whose device this is, None if nobody's or for too long. A bench key does not run out."""
    row = store.one("SELECT person, how, opened, seen FROM session WHERE key_hash = ?", _hash(key))
    if row is None:
        return None
    person, how, opened, seen = row[0], row[1], moment(row[2]), moment(row[3])
    if how != "key" and (now - seen > idle or now - opened > longest):
        close_session(store, key)
        return None
    if now - seen > _SEEN_EVERY:
        with store.writing():
            store.run("UPDATE session SET seen = ? WHERE key_hash = ?", micros(now), _hash(key))
    return Session(person, how, opened)


def close_session(store: Store, key: str) -> None:
    with store.writing():
        store.run("DELETE FROM session WHERE key_hash = ?", _hash(key))


def keys(store: Store) -> list[BenchKey]:
    """The bench keys that are out, newest first."""
    rows = store.rows(
        "SELECT key_hash, label, person, opened, seen FROM session WHERE how = 'key'"
        " ORDER BY opened DESC, label"
    )
    return [
        BenchKey(bytes(key_hash).hex(), label, person, moment(opened), moment(seen))
        for key_hash, label, person, opened, seen in rows
    ]


def close_key(store: Store, key_id: str) -> bool:
    """Close a bench key that was lost or is out of use; whether there was one."""
    if not re.fullmatch("[0-9a-f]{64}", key_id):
        return False
    with store.writing():
        closed = store.run(
            "DELETE FROM session WHERE key_hash = ? AND how = 'key'", bytes.fromhex(key_id)
        )
    return closed == 1


def _hash(key: str) -> bytes:
    return sha256(key.encode(errors="surrogatepass")).digest()
