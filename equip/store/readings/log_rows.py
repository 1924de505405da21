"""How a machine writes its log, which load has which log, and the logs of no load."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from equip.facts import moment
from equip.store.database import Store


@dataclass(frozen=True, slots=True)
class LayoutTold:
    """How a machine was said to write its log; *layout* is "" for the plain log."""

    at: datetime
    layout: str
    reason: str
    who: str


@dataclass(frozen=True, slots=True)
class StrayLog:
    """A log that belongs to no load; *explained* is what somebody said it was."""

    log: str
    machine: str
    name: str
    cycle_no: str
    why: str
    layout: str
    at: datetime
    explained: str


_NEWEST_FIRST = " ORDER BY at DESC, site DESC, position DESC"


def layouts_of(store: Store, machine: str) -> list[LayoutTold]:
    """Every layout that was told of a machine, the one that holds first."""
    rows = store.rows(
        f"SELECT at, layout, reason, who FROM log_layout WHERE machine = ?{_NEWEST_FIRST}", machine
    )
    return [LayoutTold(moment(row[0]), *row[1:]) for row in rows]


def layout_of(store: Store, machine: str) -> str:
    """The layout of a machine's log as JSON text, "" if it writes the plain log."""
    row = store.one(f"SELECT layout FROM log_layout WHERE machine = ?{_NEWEST_FIRST}", machine)
    return "" if row is None else str(row[0])


def load_with_log(store: Store, log: str, but: str = "") -> str | None:
    """The load, other than *but*, that was judged by this log."""
    row = store.one("SELECT load FROM load_log WHERE log = ? AND load <> ? LIMIT 1", log, but)
    return None if row is None else str(row[0])


def newest_log(store: Store, machine: str) -> str:
    """The log that the newest load of a machine was judged by, "" if none was."""
    row = store.one(
        "SELECT l.log FROM load_log l JOIN load d ON d.tag = l.load WHERE d.machine = ?"
        " ORDER BY d.at DESC, d.tag DESC LIMIT 1",
        machine,
    )
    return "" if row is None else str(row[0])


_STRAY = "SELECT log, machine, name, cycle_no, why, layout, at, explained FROM stray_log"


def _stray(row: tuple[Any, ...]) -> StrayLog:
    log, machine, name, cycle_no, why, layout, at, explained = row
    return StrayLog(log, machine, name, cycle_no, why, layout, moment(at), explained)


def stray_log(store: Store, log: str) -> StrayLog | None:
    """A log that came in and was no load's, whatever became of it."""
    row = store.one(f"{_STRAY} WHERE log = ?", log)
    return None if row is None else _stray(row)


def stray_logs(store: Store) -> list[StrayLog]:
    """Logs that belong to no load and that nobody has explained, newest first.

    One that a load took since, or whose cycle is recorded as a test of its machine, is no
    question any more.
    """
    rows = store.rows(
        f"{_STRAY} s WHERE explained = ''"
        " AND NOT EXISTS (SELECT 1 FROM load_log l WHERE l.log = s.log)"
        " AND NOT EXISTS (SELECT 1 FROM machine_test t WHERE s.cycle_no <> ''"
        " AND t.machine = s.machine AND t.cycle_no = s.cycle_no)"
        " ORDER BY at DESC, log"
    )
    return [_stray(row) for row in rows]
