"""What becomes of a letter that waits: overtaken by what was done, tried again, put away."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from equip.facts import micros
from equip.store.database import Store


@dataclass(frozen=True, slots=True)
class LetterLine:
    """One duty that a letter tells of, by the day it fell due on, and how the letter calls it."""

    item: str
    duty: str
    due: date
    line: str


def keep_lines(store: Store, key: str, lines: Iterable[LetterLine]) -> None:
    """What the letter tells of, in the transaction that writes it."""
    for told in lines:
        store.run(
            "INSERT INTO letter_line (key, item, duty, due, line) VALUES (?, ?, ?, ?, ?)"
            " ON CONFLICT DO NOTHING",
            key,
            told.item,
            told.duty,
            told.due.isoformat(),
            told.line,
        )


def lines(store: Store, key: str) -> list[LetterLine]:
    rows = store.rows(
        "SELECT item, duty, due, line FROM letter_line WHERE key = ? ORDER BY due, line, item", key
    )
    return [LetterLine(item, duty, date.fromisoformat(due), line) for item, duty, due, line in rows]


def unsure(store: Store, key: str) -> None:
    """A try broke off at the very end: the letter may have arrived."""
    with store.writing():
        store.run("UPDATE agenda SET unsure = 1 WHERE key = ?", key)


def amend(store: Store, key: str, payload: str, gone: Iterable[LetterLine], reader: str) -> None:
    """The letter says by now that *gone* is no longer due; its reader is told of it no more."""
    with store.writing():
        if store.run("UPDATE agenda SET payload = ? WHERE key = ? AND sent IS NULL", payload, key):
            _forget(store, key, gone, reader)


def withdraw(
    store: Store, key: str, now: datetime, says: str, gone: Iterable[LetterLine], reader: str
) -> bool:
    """It will not be sent; whether it had not left. Without a *reader* what was told stays told."""
    with store.writing():
        won = store.run(
            "UPDATE agenda SET withdrawn = ?, error = ?, claimed_until = 0"
            " WHERE key = ? AND sent IS NULL",
            micros(now),
            says,
            key,
        )
        if won:
            _forget(store, key, gone, reader)
    return won == 1


def call_off(store: Store, key: str, now: datetime, says: str) -> bool:
    """Nobody is to hear of the event *key* any more; whether somebody has heard, or may have.

    Inside a transaction. What is just being sent cannot be called off.
    """
    heard = False
    for one, address, sent, until, unsure in store.rows(
        "SELECT key, address, sent, claimed_until, unsure FROM agenda"
        " WHERE withdrawn IS NULL AND (key = ? OR substr(key, 1, ?) = ?)",
        key,
        len(key) + 1,
        f"{key}:",
    ):
        if sent is not None or until > micros(now):
            heard = heard or address != ""
            continue
        maybe = bool(unsure or until)  # whoever was sending it fell over
        heard = heard or maybe
        store.run(
            "UPDATE agenda SET withdrawn = ?, error = ?, claimed_until = 0 WHERE key = ?",
            micros(now),
            f"{says} An earlier try may have arrived." if maybe else says,
            one,
        )
    return heard


def again(store: Store, key: str, now: datetime, address: str) -> bool:
    """A person wants it tried now, to *address*; whether it may be: it has not left, and nobody
    is just sending it."""
    at = micros(now)
    with store.writing():
        return (
            store.run(
                "UPDATE agenda SET stopped = NULL, due = ?, tries = 0, address = ?"
                " WHERE key = ? AND sent IS NULL AND withdrawn IS NULL AND address <> ''"
                " AND claimed_until <= ?",
                at,
                address,
                key,
                at,
            )
            == 1
        )


def put_away(store: Store, key: str) -> bool:
    """A person has seen that it failed: it is kept, and listed no more; whether it had failed."""
    with store.writing():
        return (
            store.run(
                "UPDATE agenda SET stopped = -stopped"
                " WHERE key = ? AND sent IS NULL AND stopped > 0",
                key,
            )
            == 1
        )


def _forget(store: Store, key: str, gone: Iterable[LetterLine], reader: str) -> None:
    """Who never got a letter is told anew if what it told of falls due again on the same day."""
    for told in gone:
        due = told.due.isoformat()
        store.run(
            "DELETE FROM letter_line WHERE key = ? AND item = ? AND duty = ? AND due = ?",
            key,
            told.item,
            told.duty,
            due,
        )
        if reader:
            store.run(
                "DELETE FROM reminder WHERE reader = ? AND item = ? AND duty = ? AND due = ?",
                reader,
                told.item,
                told.duty,
                due,
            )
