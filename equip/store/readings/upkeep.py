"""Duties that come round, look-back questions, rehearsals."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from equip.facts import moment
from equip.store.database import Store
from equip.store.ledger import Entry, entry_from


@dataclass(frozen=True, slots=True)
class DutyRow:
    item: str
    duty: str
    anchor: date
    months: int
    days: int
    grounds: bool
    last_met: date | None
    next_due: date


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


_DUTY = "SELECT item, duty, anchor, months, days, grounds, last_met, next_due FROM duty"


def _duty(row: tuple[Any, ...]) -> DutyRow:
    item, duty, anchor, months, days, grounds, last_met, next_due = row
    return DutyRow(
        item,
        duty,
        date.fromisoformat(anchor),
        months,
        days,
        bool(grounds),
        None if last_met is None else date.fromisoformat(last_met),
        date.fromisoformat(next_due),
    )


def duties(store: Store, until: date | None = None) -> list[DutyRow]:
    """Duties of things not retired, soonest first."""
    last = "9999-12-31" if until is None else until.isoformat()
    rows = store.rows(
        f"{_DUTY} d WHERE next_due <= ? AND NOT EXISTS (SELECT 1 FROM standing s"
        " WHERE s.item = d.item AND s.whereabouts = 'retired') ORDER BY next_due, item, duty",
        last,
    )
    return [_duty(row) for row in rows]


def duty_sites(store: Store, until: date) -> dict[tuple[str, str], tuple[bool, str]]:
    """Of each duty until that day whether it stops its thing, and the thing's site."""
    rows = store.rows(
        "SELECT d.item, d.duty, d.grounds, i.site FROM duty d JOIN item i ON i.tag = d.item"
        " WHERE d.next_due <= ? ORDER BY d.item, d.duty",
        until.isoformat(),
    )
    return {(item, duty): (bool(grounds), site) for item, duty, grounds, site in rows}


def own_timings(store: Store) -> dict[tuple[str, str], tuple[int | None, int | None]]:
    """Days ahead and days over of the duties that have their own."""
    rows = store.rows(
        "SELECT item, duty, lead_days, escalate_days FROM duty_reminder ORDER BY item, duty"
    )
    return {(item, duty): (lead, late) for item, duty, lead, late in rows}


def duties_of(store: Store, item: str) -> list[DutyRow]:
    return [_duty(row) for row in store.rows(f"{_DUTY} WHERE item = ? ORDER BY duty", item)]


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
