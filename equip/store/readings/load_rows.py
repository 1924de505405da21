"""Loads: one, those that wait, those of a machine."""

from collections.abc import Iterator
from datetime import datetime
from itertools import islice

from equip.facts import micros
from equip.rules.loads.load import Load
from equip.store.database import Store
from equip.store.fold.loads import load_from

_BATCH = 20
"""Loads in memory at once where somebody goes through many of them."""


def load_of(store: Store, tag: str) -> Load | None:
    row = store.one("SELECT state FROM load WHERE tag = ?", tag)
    return None if row is None else load_from(bytes(row[0]))


def open_loads(store: Store) -> list[Load]:
    """Loads that wait for somebody: filling, running, to be judged or to be released."""
    rows = store.rows(
        "SELECT state FROM load WHERE stage IN ('filling', 'running', 'ended', 'judged')"
        " ORDER BY at DESC, tag DESC"
    )
    return [load_from(bytes(row[0])) for row in rows]


def lone_releases(store: Store) -> list[Load]:
    """Loads that one person released and that somebody else has yet to look at, by tag."""
    rows = store.rows(
        "SELECT state FROM load JOIN lone_release ON lone_release.load = load.tag ORDER BY tag"
    )
    return [load_from(bytes(row[0])) for row in rows]


def load_on(store: Store, machine: str) -> Load | None:
    """The load that a machine is being filled with or is running now."""
    row = store.one(
        "SELECT state FROM load WHERE machine = ? AND stage IN ('filling', 'running')"
        " ORDER BY at DESC LIMIT 1",
        machine,
    )
    return None if row is None else load_from(bytes(row[0]))


def started_since(store: Store, machine: str, since: datetime) -> int:
    """How many of the newest loads of a machine were started from *since* on."""
    rows = store.rows(
        "SELECT state FROM load WHERE machine = ? ORDER BY at DESC, tag DESC LIMIT ?",
        machine,
        _BATCH,
    )
    loads = [load_from(bytes(row[0])) for row in rows]
    return sum(load.started is not None and load.started >= since for load in loads)


def last_load(store: Store, machine: str) -> Load | None:
    """The newest load of a machine, whatever became of it."""
    row = store.one(
        "SELECT state FROM load WHERE machine = ? ORDER BY at DESC, tag DESC LIMIT 1", machine
    )
    return None if row is None else load_from(bytes(row[0]))


def last_ended_load(store: Store, machine: str) -> Load | None:
    """The newest load of a machine that has ended, whatever became of it."""
    row = store.one(
        "SELECT state FROM load WHERE machine = ? AND stage NOT IN ('filling', 'running')"
        " ORDER BY at DESC, tag DESC LIMIT 1",
        machine,
    )
    return None if row is None else load_from(bytes(row[0]))


def recent_loads(store: Store, most: int, before: int | None = None) -> list[Load]:
    rows = store.rows(
        "SELECT state FROM load WHERE stage IN ('released', 'rejected') AND at < ?"
        " ORDER BY at DESC, tag DESC LIMIT ?",
        before if before is not None else 2**62,
        most,
    )
    return [load_from(bytes(row[0])) for row in rows]


def judged_loads(store: Store, machine: str, since: datetime, until: datetime) -> Iterator[Load]:
    """Judged loads of a machine opened from *since* up to *until*, one after the other."""
    after = (micros(since), "")
    while rows := store.rows(
        "SELECT at, tag, state FROM load WHERE machine = ? AND (at, tag) > (?, ?) AND at < ?"
        " AND verdict <> '' ORDER BY at, tag LIMIT ?",
        machine,
        *after,
        micros(until),
        _BATCH,
    ):
        for at, tag, state in rows:
            after = (at, tag)
            yield load_from(bytes(state))


def loads_like(store: Store, load: Load, most: int) -> list[Load]:
    """The newest loads of the same machine and programme before *load* that passed by their log
    and were released, at most so many, of the machine's last 300; newest first."""
    rows = store.rows(
        "SELECT state FROM load WHERE machine = ? AND at < ? AND stage = 'released'"
        " AND verdict = 'pass' ORDER BY at DESC, tag DESC LIMIT 300",
        load.machine,
        -1 if load.opened is None else micros(load.opened),
    )
    found = (load_from(bytes(row[0])) for row in rows)
    alike = (earlier for earlier in found if earlier.log and earlier.programme == load.programme)
    return list(islice(alike, most))


def cycle_known(store: Store, machine: str, cycle_no: str, but: str) -> str | None:
    """Another load of this machine that has this cycle number already."""
    row = store.one(
        "SELECT tag FROM load WHERE machine = ? AND cycle_no = ? AND tag <> ? LIMIT 1",
        machine,
        cycle_no,
        but,
    )
    return None if row is None else str(row[0])


def loads_let_go(store: Store, since: datetime, until: datetime) -> list[str]:
    """Loads opened from *since* up to *until* that were released, by their tag."""
    rows = store.rows(
        "SELECT tag FROM load WHERE stage = 'released' AND at >= ? AND at < ? ORDER BY tag",
        micros(since),
        micros(until),
    )
    return [str(row[0]) for row in rows]


def loads_of(store: Store, machine: str) -> list[Load]:
    """Every load of a machine, oldest first."""
    rows = store.rows("SELECT state FROM load WHERE machine = ? ORDER BY at, tag", machine)
    return [load_from(bytes(row[0])) for row in rows]
