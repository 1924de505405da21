"""Word that leaves the house later: a row in the same transaction, claimed by one update.

A scheduler only wakes us; what is to be done stands here. Several processes, a crash at any
instant or a week of downtime lose nothing: a claim runs out, and the next tick takes it up.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from equip.facts import micros, moment
from equip.store.database import Store


@dataclass(frozen=True, slots=True)
class Job:
    """One thing to send, claimed by us until its lease runs out."""

    key: str
    what: str
    payload: str
    tries: int


@dataclass(frozen=True, slots=True)
class Waiting:
    """One thing that has not left yet, and what went wrong the last time."""

    key: str
    due: datetime
    what: str
    tries: int
    error: str


def put(store: Store, key: str, due: datetime, what: str, payload: str) -> None:
    """Something to send from *due* on; the same key again is the same thing."""
    store.run(
        "INSERT INTO agenda (key, due, what, payload, tries, claimed_until, claimed_by, error)"
        " VALUES (?, ?, ?, ?, 0, 0, '', '') ON CONFLICT DO NOTHING",
        key,
        micros(due),
        what,
        payload,
    )


def exists(store: Store, key: str) -> bool:
    return store.one("SELECT 1 FROM agenda WHERE key = ?", key) is not None


def claim(store: Store, now: datetime, *, lease: timedelta, holder: str, limit: int) -> list[Job]:
    """Up to *limit* things that are due and that nobody else holds, soonest first."""
    at = micros(now)
    candidates = store.rows(
        "SELECT key, what, payload, tries, claimed_until FROM agenda"
        " WHERE sent IS NULL AND due <= ? AND claimed_until <= ? ORDER BY due, key LIMIT ?",
        at,
        at,
        limit,
    )
    claimed = []
    for key, what, payload, tries, until in candidates:
        with store.writing():
            won = store.run(
                "UPDATE agenda SET claimed_until = ?, claimed_by = ?, tries = tries + 1"
                " WHERE key = ? AND sent IS NULL AND due <= ? AND claimed_until = ?",
                micros(now + lease),
                holder,
                key,
                at,
                until,
            )
        if won == 1:
            claimed.append(Job(key, what, payload, tries + 1))
    return claimed


def done(store: Store, key: str, now: datetime, says: str = "") -> None:
    """It has left; *says* is what the server had to say about it, if anything."""
    with store.writing():
        store.run("UPDATE agenda SET sent = ?, error = ? WHERE key = ?", micros(now), says, key)


def failed(store: Store, key: str, now: datetime, error: str, retry_at: datetime) -> None:
    """It could not be sent: why, and when to try again."""
    with store.writing():
        store.run(
            "UPDATE agenda SET error = ?, due = ?, claimed_until = 0 WHERE key = ?",
            error[:500],
            micros(retry_at),
            key,
        )


def waiting(store: Store, most: int = 50) -> list[Waiting]:
    """What has not left yet, soonest first."""
    rows = store.rows(
        "SELECT key, due, what, tries, error FROM agenda WHERE sent IS NULL"
        " ORDER BY due, key LIMIT ?",
        most,
    )
    return [Waiting(key, moment(due), what, tries, error) for key, due, what, tries, error in rows]
