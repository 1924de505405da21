"""Duties that come round, and look-back questions."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from equip.facts import moment
from equip.store.database import Store


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


def duties_of(store: Store, item: str) -> list[DutyRow]:
    return [_duty(row) for row in store.rows(f"{_DUTY} WHERE item = ? ORDER BY duty", item)]


def doubts(store: Store) -> list[DoubtRow]:
    rows = store.rows(
        "SELECT case_id, raised, loads, why, who, decided, decision, reason FROM doubt"
        " ORDER BY raised DESC"
    )
    return [
        DoubtRow(
            case,
            moment(raised),
            tuple(filter(None, loads.split(","))),
            why,
            who,
            None if decided is None else moment(decided),
            decision or "",
            reason or "",
        )
        for case, raised, loads, why, who, decided, decision, reason in rows
    ]
