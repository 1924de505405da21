"""Machines: their periodic tests, sheets of the day, cycle numbers, spore tests, and loads run."""

from dataclasses import dataclass
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


# --- spore tests, and the loads that ran around them ---------------------------------------


@dataclass(frozen=True, slots=True)
class SporeRow:
    """One spore test. *load* is "" for a cycle of its own, *result* "" until it is read."""

    machine: str
    load: str
    lot: str
    put: datetime
    ran: datetime | None
    read: datetime | None
    result: str


@dataclass(frozen=True, slots=True)
class RanLoad:
    """A load that ran, or runs, on a machine."""

    load: str
    opened: datetime
    cycle_no: str
    stage: str


_SPORES = "SELECT machine, load, lot, put, ran, read, result FROM spore_test"


def spore_tests(store: Store, machine: str) -> list[SporeRow]:
    """Every spore test of a machine that has run, in the order in which they ran."""
    rows = store.rows(f"{_SPORES} WHERE machine = ? AND ran IS NOT NULL ORDER BY ran, id", machine)
    return [_spore(row) for row in rows]


def spores_waiting(store: Store) -> list[SporeRow]:
    """Spore tests that nobody has read yet, oldest first."""
    return [_spore(row) for row in store.rows(f"{_SPORES} WHERE result = '' ORDER BY put, id")]


def loads_run(
    store: Store, machine: str, since: datetime | None, until: datetime | None
) -> list[RanLoad]:
    """Loads of a machine that were started, opened from *since* up to *until*, in order."""
    rows = store.rows(
        "SELECT tag, at, cycle_no, stage FROM load WHERE machine = ? AND stage <> 'filling'"
        " AND at >= ? AND at <= ? ORDER BY at, tag",
        machine,
        -1 if since is None else micros(since),
        2**62 if until is None else micros(until),
    )
    return [RanLoad(tag, moment(at), cycle_no, stage) for tag, at, cycle_no, stage in rows]


def _spore(row: tuple[str, str, str, int, int | None, int | None, str]) -> SporeRow:
    machine, load, lot, put, ran, read, result = row
    return SporeRow(machine, load, lot, moment(put), _moment(ran), _moment(read), result)


def _moment(at: int | None) -> datetime | None:
    return None if at is None else moment(at)
