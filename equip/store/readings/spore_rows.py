"""Spore tests of machines, and the loads that ran around them."""

from dataclasses import dataclass
from datetime import datetime

from equip.facts import micros, moment
from equip.store.database import Store

_COLUMNS = "SELECT machine, load, lot, put, ran, read, result FROM spore_test"


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


def spore_tests(store: Store, machine: str) -> list[SporeRow]:
    """Every spore test of a machine that has run, in the order in which they ran."""
    rows = store.rows(f"{_COLUMNS} WHERE machine = ? AND ran IS NOT NULL ORDER BY ran, id", machine)
    return [_test(row) for row in rows]


def spores_waiting(store: Store) -> list[SporeRow]:
    """Spore tests that nobody has read yet, oldest first."""
    return [_test(row) for row in store.rows(f"{_COLUMNS} WHERE result = '' ORDER BY put, id")]


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


def _test(row: tuple[str, str, str, int, int | None, int | None, str]) -> SporeRow:
    machine, load, lot, put, ran, read, result = row
    return SporeRow(machine, load, lot, moment(put), _moment(ran), _moment(read), result)


def _moment(at: int | None) -> datetime | None:
    return None if at is None else moment(at)
