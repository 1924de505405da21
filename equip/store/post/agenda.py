"""Word that leaves the clinic later: a row in the same transaction, claimed by one update.

A scheduler only wakes us; what is to be done stands here. Several processes, a crash at any
instant or a week of downtime lose nothing: a claim runs out, and the next tick takes it up.
An event without an address is first turned into letters, one for each reader, in one transaction.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from equip.facts import micros, moment
from equip.store.database import Store


@dataclass(frozen=True, slots=True)
class Job:
    """One letter to send, claimed by us until its lease runs out. *person* is "" for the clinic.

    *unsure*: an earlier try may have arrived, so it goes again with the same bytes.
    """

    key: str
    what: str
    payload: str
    tries: int
    person: str = ""
    address: str = ""
    subject: str = ""
    unsure: bool = False


@dataclass(frozen=True, slots=True)
class Letter:
    """One letter of the agenda, or event to write of, as the outbox shows it."""

    key: str
    due: datetime
    what: str
    tries: int
    error: str
    person: str = ""
    address: str = ""
    subject: str = ""
    payload: str = ""
    sent: datetime | None = None
    stopped: datetime | None = None
    withdrawn: datetime | None = None


def put(store: Store, key: str, due: datetime, what: str, payload: str) -> None:
    """Something to tell from *due* on; the same key again is the same thing."""
    put_letter(store, Job(key, what, payload, 0), due)


def put_letter(store: Store, letter: Job, due: datetime) -> bool:
    """A letter to send from *due* on; whether it is new: the same key is the same letter."""
    return _insert(store, letter, due, None)


def put_nothing(store: Store, key: str, now: datetime) -> None:
    """There was nothing to tell under that key, and there will not be."""
    _insert(store, Job(key, "nothing", "", 0), now, micros(now))


def _insert(store: Store, letter: Job, due: datetime, sent: int | None) -> bool:
    made = store.run(
        "INSERT INTO agenda (key, due, what, payload, tries, claimed_until, claimed_by, error,"
        " unsure, person, address, subject, sent)"
        " VALUES (?, ?, ?, ?, 0, 0, '', '', 0, ?, ?, ?, ?)"
        " ON CONFLICT DO NOTHING",
        letter.key,
        micros(due),
        letter.what,
        letter.payload,
        letter.person,
        letter.address,
        letter.subject,
        sent,
    )
    return made == 1


def exists(store: Store, key: str) -> bool:
    return store.one("SELECT 1 FROM agenda WHERE key = ?", key) is not None


def events(store: Store) -> list[Job]:
    """What nobody was written to about yet, the oldest first."""
    rows = store.rows(
        "SELECT key, what, payload FROM agenda WHERE sent IS NULL AND withdrawn IS NULL"
        " AND address = '' AND what = 'alert' ORDER BY due, key"
    )
    return [Job(key, what, payload, 0) for key, what, payload in rows]


def written_about(store: Store, key: str, now: datetime) -> bool:
    """Letters about the event are written in this transaction; whether nobody did it before."""
    return (
        store.run(
            "UPDATE agenda SET sent = ? WHERE key = ? AND sent IS NULL AND withdrawn IS NULL"
            " AND address = ''",
            micros(now),
            key,
        )
        == 1
    )


def claim(store: Store, now: datetime, *, lease: timedelta, holder: str, limit: int) -> list[Job]:
    """Up to *limit* letters that are due and that nobody else holds, soonest first."""
    at = micros(now)
    candidates = store.rows(
        "SELECT key, what, payload, tries, person, address, subject, claimed_until, unsure"
        " FROM agenda WHERE sent IS NULL AND stopped IS NULL AND withdrawn IS NULL"
        " AND address <> ''"
        " AND due <= ? AND claimed_until <= ? ORDER BY due, key LIMIT ?",
        at,
        at,
        limit,
    )
    claimed = []
    for key, what, payload, tries, person, address, subject, until, unsure in candidates:
        maybe = int(until > 0 or unsure)  # a claim that ran out: whoever held it fell over
        with store.writing():
            won = store.run(
                "UPDATE agenda SET claimed_until = ?, claimed_by = ?, tries = tries + 1,"
                " unsure = ? WHERE key = ? AND sent IS NULL AND stopped IS NULL"
                " AND withdrawn IS NULL AND due <= ? AND claimed_until = ?",
                micros(now + lease),
                holder,
                maybe,
                key,
                at,
                until,
            )
        if won == 1:
            claimed.append(Job(key, what, payload, tries + 1, person, address, subject, maybe == 1))
    return claimed


def done(store: Store, key: str, now: datetime, says: str = "") -> None:
    """It has left; *says* is what the server had to say about it, if anything."""
    with store.writing():
        store.run("UPDATE agenda SET sent = ?, error = ? WHERE key = ?", micros(now), says, key)
        store.run("DELETE FROM letter_line WHERE key = ?", key)


def failed(store: Store, key: str, now: datetime, error: str, retry_at: datetime) -> None:
    """It could not be sent: why, and when to try again."""
    with store.writing():
        store.run(
            "UPDATE agenda SET error = ?, due = ?, claimed_until = 0"
            " WHERE key = ? AND sent IS NULL",
            error[:500],
            micros(retry_at),
            key,
        )


def given_up(store: Store, key: str, now: datetime, error: str) -> None:
    """It will not be tried again by itself: why."""
    with store.writing():
        store.run(
            "UPDATE agenda SET error = ?, stopped = ?, claimed_until = 0"
            " WHERE key = ? AND sent IS NULL",
            error[:500],
            micros(now),
            key,
        )


_LETTER = (
    "SELECT key, due, what, tries, error, person, address, subject, payload, sent, stopped,"
    " withdrawn FROM agenda"
)


def waiting(store: Store, most: int = 50) -> list[Letter]:
    """What has not left yet and will be tried, soonest first."""
    return _letters(
        store, "sent IS NULL AND stopped IS NULL AND withdrawn IS NULL ORDER BY due, key", most
    )


def stuck(store: Store, most: int = 200) -> list[Letter]:
    """What we gave up, the newest first."""
    return _letters(store, "sent IS NULL AND stopped > 0 ORDER BY stopped DESC, key", most)


def left(store: Store, most: int = 50) -> list[Letter]:
    """What has left, the newest first."""
    return _letters(store, "sent IS NOT NULL AND address <> '' ORDER BY sent DESC, key", most)


def withdrawn(store: Store, most: int = 50) -> list[Letter]:
    """What was not sent because what it told of was no longer due, the newest first."""
    return _letters(store, "withdrawn IS NOT NULL ORDER BY withdrawn DESC, key", most)


def letter_of(store: Store, key: str) -> Letter | None:
    return next(iter(_letters(store, "key = ?", 1, key)), None)


def _letters(store: Store, which: str, most: int, *values: str) -> list[Letter]:
    found = []
    for row in store.rows(f"{_LETTER} WHERE {which} LIMIT ?", *values, most):
        key, due, what, tries, error, person, address, subject, payload, *moments = row
        sent, stopped, taken_back = moments
        found.append(
            Letter(
                key,
                moment(due),
                what,
                tries,
                error,
                person,
                address,
                subject,
                payload,
                None if sent is None else moment(sent),
                None if stopped is None else moment(abs(stopped)),
                None if taken_back is None else moment(taken_back),
            )
        )
    return found


def last_key(store: Store, start: str) -> str:
    """The last key in order that begins with *start*, letters apart; empty if there is none."""
    row = store.one("SELECT MAX(key) FROM agenda WHERE key LIKE ? AND address = ''", f"{start}%")
    return "" if row is None or row[0] is None else str(row[0])
