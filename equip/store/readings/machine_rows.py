"""Periodic tests, sheets of the day and cycle numbers of machines."""

from datetime import date, datetime

from equip.facts import micros, moment
from equip.rules.loads.load import Load
from equip.rules.machines.sheet import Done
from equip.store.database import Store
from equip.store.fold.loads import load_from


def tests_of(store: Store, machine: str) -> list[Done]:
    """Every periodic test of a machine, oldest first."""
    rows = store.rows(
        "SELECT test, at, verdict, who, site, position FROM machine_test WHERE machine = ?"
        " ORDER BY at, site, position",
        machine,
    )
    return [
        Done(test, moment(at), verdict, who, f"{site}/{position}")
        for test, at, verdict, who, site, position in rows
    ]


def cycle_numbers(store: Store, machine: str) -> list[str]:
    """The machine's own numbers of the cycles that the book knows: loads and test cycles."""
    rows = store.rows(
        "SELECT cycle_no FROM load WHERE machine = ? AND cycle_no <> ''"
        " UNION SELECT cycle_no FROM machine_test WHERE machine = ? AND cycle_no <> ''",
        machine,
        machine,
    )
    return [row[0] for row in rows]


def signed_by(store: Store, machine: str, day: date) -> str:
    """Who signed a machine's sheet of that day, "" if nobody did."""
    row = store.one("SELECT who FROM sheet WHERE machine = ? AND day = ?", machine, day.isoformat())
    return "" if row is None else str(row[0])


def loads_since(store: Store, machine: str, since: datetime | None) -> list[Load]:
    """Released loads of a machine that were opened after *since*, oldest first."""
    rows = store.rows(
        "SELECT state FROM load WHERE machine = ? AND stage = 'released' AND at > ? ORDER BY at",
        machine,
        -1 if since is None else micros(since),
    )
    return [load_from(bytes(row[0])) for row in rows]
