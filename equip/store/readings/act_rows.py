"""Acts as they were answered, and what they wrote."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from equip.facts import moment
from equip.store.database import Store


@dataclass(frozen=True, slots=True)
class ActRow:
    """An act as it was answered: what was read (patients as tokens), and what was in hand after."""

    id: str
    bench: str
    seq: int
    at: datetime
    payload_hash: bytes
    reading: str
    answer: str
    context: str


_ACT = "SELECT id, bench, seq, at, payload_hash, reading, answer, context FROM act"


def _act(row: tuple[Any, ...] | None) -> ActRow | None:
    if row is None:
        return None
    act, bench, seq, at, payload_hash, reading, answer, context = row
    return ActRow(
        act, bench or "", seq or 0, moment(at), bytes(payload_hash), reading, answer, context
    )


def act_of(store: Store, act: str) -> ActRow | None:
    return _act(store.one(f"{_ACT} WHERE id = ?", act))


def last_act(store: Store, bench: str) -> ActRow | None:
    return _act(store.one(f"{_ACT} WHERE bench = ? ORDER BY seq DESC LIMIT 1", bench))


def benches(store: Store) -> list[str]:
    """The name of every bench that ever scanned; each is one step in an index."""
    rows = store.rows(
        "WITH RECURSIVE known (bench) AS (SELECT MIN(bench) FROM act UNION ALL"
        " SELECT (SELECT MIN(bench) FROM act WHERE bench > known.bench) FROM known"
        " WHERE known.bench IS NOT NULL)"
        " SELECT bench FROM known WHERE bench IS NOT NULL"
    )
    return [str(row[0]) for row in rows]


def act_before(store: Store, act: ActRow) -> ActRow | None:
    """The act that came before *act* in its bench's stream."""
    return _act(
        store.one(
            f"{_ACT} WHERE bench = ? AND seq < ? ORDER BY seq DESC LIMIT 1", act.bench, act.seq
        )
    )


def recent_acts(store: Store, bench: str, most: int) -> list[ActRow]:
    rows = store.rows(f"{_ACT} WHERE bench = ? ORDER BY seq DESC LIMIT ?", bench, most)
    return [act for act in map(_act, rows) if act is not None]


def act_span(store: Store, act: str) -> tuple[str, int, int] | None:
    """Site, first and last position of what an act wrote; None if it wrote nothing."""
    row = store.one("SELECT site, first, last FROM act WHERE id = ?", act)
    if row is None or row[1] is None:
        return None
    return str(row[0]), int(row[1]), int(row[2])
