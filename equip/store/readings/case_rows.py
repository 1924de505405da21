"""Look-backs as their tables hold them, rehearsals and drills."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from equip.facts import moment
from equip.store.database import Store
from equip.store.ledger.ledger import Entry, entry_from


@dataclass(frozen=True, slots=True)
class DoubtRow:
    case: str
    raised: datetime
    loads: tuple[str, ...]
    why: str
    who: str
    decided: datetime | None
    decision: str
    reason: str
    unfounded: bool = False
    evidence: str = ""
    about: str = ""
    listed: datetime | None = None
    closed: datetime | None = None


def doubts(store: Store) -> list[DoubtRow]:
    """Every look-back, the newest first."""
    return [_doubt(row) for row in store.rows(f"{_DOUBT} ORDER BY raised DESC, case_id")]


def doubt_of(store: Store, case: str) -> DoubtRow | None:
    row = store.one(f"{_DOUBT} WHERE case_id = ?", case)
    return None if row is None else _doubt(row)


_DOUBT = (
    "SELECT case_id, raised, loads, why, who, decided, decision, reason, unfounded, evidence,"
    " about, listed, closed FROM doubt"
)


def _doubt(row: tuple[Any, ...]) -> DoubtRow:
    case, raised, loads, why, who, decided, decision, reason, unfounded, *rest = row
    evidence, about, listed, closed = rest
    return DoubtRow(
        case,
        moment(raised),
        tuple(filter(None, loads.split(","))),
        why,
        who,
        None if decided is None else moment(decided),
        decision or "",
        reason or "",
        bool(unfounded),
        evidence,
        about,
        None if listed is None else moment(listed),
        None if closed is None else moment(closed),
    )


def drills(store: Store, most: int = 50) -> list[Entry]:
    """The newest drills, the newest first."""
    rows = store.rows(
        "SELECT l.site, l.position, l.recorded_at, l.body, l.seal FROM drill d JOIN ledger l"
        " ON l.site = d.site AND l.position = d.position"
        " ORDER BY d.at DESC, d.site, d.position DESC LIMIT ?",
        most,
    )
    return [entry_from(row) for row in rows]


def rehearsed(store: Store, site: str, day: date) -> bool:
    """Whether the rehearsal of that night was run."""
    statement = "SELECT 1 FROM rehearsal WHERE site = ? AND day = ?"
    return store.one(statement, site, day.isoformat()) is not None


def last_rehearsal(store: Store, site: str) -> Entry | None:
    """The newest rehearsal of a site."""
    row = store.one(
        "SELECT l.site, l.position, l.recorded_at, l.body, l.seal FROM rehearsal r JOIN ledger l"
        " ON l.site = r.site AND l.position = r.position WHERE r.site = ?"
        " ORDER BY r.day DESC LIMIT 1",
        site,
    )
    return None if row is None else entry_from(row)


def decided_pairs(store: Store) -> set[tuple[str, str, str]]:
    """Item, use and source that a look-back has decided about."""
    rows = store.rows("SELECT item, ref, source FROM decided")
    return {(str(item), str(use), str(source)) for item, use, source in rows}


def drillable(store: Store) -> list[str]:
    """Loads that ended and were let go, to choose one for a drill from."""
    rows = store.rows("SELECT tag FROM load WHERE stage IN ('released', 'past') ORDER BY tag")
    return [str(row[0]) for row in rows]
