"""Where people's mail goes, what each was told of already, and how the last beats went."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from equip.facts import micros, moment
from equip.store.database import Store


@dataclass(frozen=True, slots=True)
class Recipient:
    """A person with a mail address. No *sites* are all sites.

    Whoever is not *told_first* hears only of what stops and of what is late for too long.
    """

    person: str
    address: str
    sites: tuple[str, ...] = ()
    told_first: bool = True
    stopped: datetime | None = None


@dataclass(frozen=True, slots=True)
class Beat:
    """How the last beat of one process went, and the last that did not end well."""

    process: str
    at: datetime
    sent: int
    error: str
    error_at: datetime | None


def recipients(store: Store) -> list[Recipient]:
    rows = store.rows(
        "SELECT person, address, sites, told_first, stopped FROM recipient ORDER BY person"
    )
    return [
        Recipient(
            person,
            address,
            tuple(filter(None, sites.split(","))),
            bool(first),
            None if stopped is None else moment(stopped),
        )
        for person, address, sites, first, stopped in rows
    ]


def keep(store: Store, recipient: Recipient) -> None:
    """Where a person's mail goes from now on. Whoever stopped it stays as they were."""
    with store.writing():
        store.run(
            "INSERT INTO recipient (person, address, sites, told_first) VALUES (?, ?, ?, ?)"
            " ON CONFLICT (person) DO UPDATE SET address = excluded.address,"
            " sites = excluded.sites, told_first = excluded.told_first",
            recipient.person,
            recipient.address,
            ",".join(recipient.sites),
            int(recipient.told_first),
        )


def forget(store: Store, person: str) -> None:
    with store.writing():
        store.run("DELETE FROM recipient WHERE person = ?", person)


def stop(store: Store, person: str, at: datetime | None) -> None:
    """Reminders stop at *at*, or come again if it is None."""
    with store.writing():
        store.run(
            "UPDATE recipient SET stopped = ? WHERE person = ?",
            None if at is None else micros(at),
            person,
        )


def told(store: Store, reader: str, sort: str, since: date) -> dict[tuple[str, str, str], int]:
    """The last step a reader was told of each due day from *since* on."""
    rows = store.rows(
        "SELECT item, duty, due, step FROM reminder WHERE reader = ? AND sort = ? AND due >= ?",
        reader,
        sort,
        since.isoformat(),
    )
    return {(item, duty, due): int(step) for item, duty, due, step in rows}


def tell(
    store: Store, reader: str, sort: str, steps: Iterable[tuple[tuple[str, str, str], int]]
) -> list[tuple[str, str, str]]:
    """Mark steps as told, inside a transaction; those that nobody had told this reader yet."""
    return [
        key
        for key, step in steps
        if store.run(
            "INSERT INTO reminder (reader, item, duty, due, sort, step) VALUES (?, ?, ?, ?, ?, ?)"
            " ON CONFLICT (reader, item, duty, due, sort) DO UPDATE SET step = excluded.step"
            " WHERE reminder.step < excluded.step",
            reader,
            *key,
            sort,
            step,
        )
    ]


def keep_beat(store: Store, process: str, at: datetime, sent: int, error: str = "") -> None:
    """How a beat went; the last error stays, with its time, when later ones go well."""
    with store.writing():
        store.run(
            "INSERT INTO beat (process, at, sent, error, error_at) VALUES (?, ?, ?, ?, ?)"
            " ON CONFLICT (process) DO UPDATE SET at = excluded.at, sent = excluded.sent,"
            " error = CASE WHEN excluded.error = '' THEN beat.error ELSE excluded.error END,"
            " error_at = COALESCE(excluded.error_at, beat.error_at)",
            process,
            micros(at),
            sent,
            error[:500],
            micros(at) if error else None,
        )


def beats(store: Store, most: int = 10) -> list[Beat]:
    """The processes that beat, the one that beat last first."""
    rows = store.rows(
        "SELECT process, at, sent, error, error_at FROM beat ORDER BY at DESC, process LIMIT ?",
        most,
    )
    return [
        Beat(process, moment(at), sent, error, None if error_at is None else moment(error_at))
        for process, at, sent, error, error_at in rows
    ]
