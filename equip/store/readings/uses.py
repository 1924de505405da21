"""Uses, what was used in each, and how many stand on a released load or step."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from equip.facts import moment
from equip.store.database import Store


@dataclass(frozen=True, slots=True)
class UseRow:
    id: str
    patient: str
    at: datetime
    finished: datetime | None
    who: str
    place: str
    ear: str
    soil: str


@dataclass(frozen=True, slots=True)
class TouchRow:
    """One thing in one use, with the gate before it or the reason why there is none."""

    item: str
    use: str
    at: datetime
    path: str
    what: str
    patient: str
    gate: str
    gap: str


_TOUCH = "SELECT item, use_id, at, site, position, what, patient, gate, gap FROM touch"


def _touch(row: tuple[Any, ...]) -> TouchRow:
    item, use, at, site, position, what, patient, gate, gap = row
    return TouchRow(item, use, moment(at), f"{site}/{position}", what, patient, gate, gap)


def use_of(store: Store, use: str) -> UseRow | None:
    row = store.one(
        "SELECT id, patient, at, finished, who, place, ear, soil FROM use WHERE id = ?", use
    )
    if row is None:
        return None
    finished = None if row[3] is None else moment(row[3])
    return UseRow(row[0], row[1], moment(row[2]), finished, *row[4:])


def touches_of(store: Store, item: str) -> list[TouchRow]:
    return [_touch(row) for row in store.rows(f"{_TOUCH} WHERE item = ? ORDER BY at", item)]


def touches_behind(store: Store, gate: str) -> list[TouchRow]:
    """Uses of things that this load made fit."""
    return [_touch(row) for row in store.rows(f"{_TOUCH} WHERE gate = ? ORDER BY at, item", gate)]


def touches_on(store: Store, patient: str) -> list[TouchRow]:
    """Everything that was used or opened on this patient."""
    rows = store.rows(f"{_TOUCH} WHERE patient = ? ORDER BY at, item", patient)
    return [_touch(row) for row in rows]


@dataclass(frozen=True, slots=True)
class Traceable:
    """How many uses stand on a released load or step, of how many."""

    traced: int
    uses: int

    @property
    def share(self) -> float | None:
        return self.traced / self.uses if self.uses else None


def traceable(store: Store) -> Traceable:
    row = store.one(
        "SELECT COUNT(*), COALESCE(SUM(CASE WHEN gap = '' THEN 1 ELSE 0 END), 0) FROM touch"
    )
    return Traceable(traced=int(row[1]), uses=int(row[0])) if row else Traceable(0, 0)


def gaps(store: Store, most: int = 200) -> list[TouchRow]:
    rows = store.rows(f"{_TOUCH} WHERE gap <> '' ORDER BY at DESC, item LIMIT ?", most)
    return [_touch(row) for row in rows]
