"""Which address of a calendar is valid, and the events as they were last told."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from equip.facts import micros, moment
from equip.store.database import Store


@dataclass(frozen=True, slots=True)
class DueEvent:
    """One event as it stands now; *says* is all of its text."""

    item: str
    duty: str
    due: date
    says: str

    @property
    def key(self) -> tuple[str, str]:
        return (self.item, self.duty)


def number(store: Store, subject: str) -> int:
    """The number of the valid address of a calendar; 0 or less if none is."""
    row = store.one("SELECT number FROM calendar WHERE subject = ?", subject)
    return 0 if row is None else int(row[0])


def renew(store: Store, subject: str) -> None:
    """A new address; the old one is invalid."""
    with store.writing():
        store.run(
            "INSERT INTO calendar (subject, number) VALUES (?, 1)"
            " ON CONFLICT (subject) DO UPDATE SET number = ABS(calendar.number) + 1",
            subject,
        )


def close(store: Store, subject: str) -> None:
    """No address is valid until it is renewed."""
    with store.writing():
        store.run("UPDATE calendar SET number = -ABS(number) WHERE subject = ?", subject)


def changes(
    store: Store, events: Iterable[DueEvent], now: datetime
) -> dict[tuple[str, str], tuple[int, datetime]]:
    """How often the day of each event has changed, and when anything of it last did.

    What differs from what was told last is written down first, by updates that name what they
    replace, so that two readers at once count one change as one.
    """
    told = list(events)
    known = _known(store)
    if fresh := [event for event in told if _differs(event, known.get(event.key))]:
        with store.writing():
            for event in fresh:
                _keep(store, event, known.get(event.key), now)
        known = _known(store)
    return {event.key: (known[event.key][2], moment(known[event.key][3])) for event in told}


_Known = tuple[str, str, int, int]


def _known(store: Store) -> dict[tuple[str, str], _Known]:
    rows = store.rows(
        "SELECT item, duty, due, says, sequence, stamp FROM calendar_event ORDER BY item, duty"
    )
    return {(row[0], row[1]): (row[2], row[3], int(row[4]), int(row[5])) for row in rows}


def _differs(event: DueEvent, known: _Known | None) -> bool:
    return known is None or known[:2] != (event.due.isoformat(), event.says)


def _keep(store: Store, event: DueEvent, known: _Known | None, now: datetime) -> None:
    due = event.due.isoformat()
    if known is None:
        store.run(
            "INSERT INTO calendar_event (item, duty, due, says, sequence, stamp)"
            " VALUES (?, ?, ?, ?, 0, ?) ON CONFLICT DO NOTHING",
            *event.key,
            due,
            event.says,
            micros(now),
        )
        return
    store.run(
        "UPDATE calendar_event SET due = ?, says = ?, sequence = sequence + ?, stamp = ?"
        " WHERE item = ? AND duty = ? AND due = ? AND says = ? AND sequence = ?",
        due,
        event.says,
        int(known[0] != due),
        micros(now),
        *event.key,
        *known[:3],
    )
