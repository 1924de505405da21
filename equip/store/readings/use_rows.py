"""Uses, what was used in each, and how many stand on a released load or step."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from equip.facts import micros, moment
from equip.store.database import Store, in_chunks


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
    """One item in one use, with the gate before it or the reason why there is none."""

    item: str
    use: str
    at: datetime
    path: str
    what: str
    patient: str
    gate: str
    gap: str

    @property
    def micros(self) -> int:
        return micros(self.at)


_TOUCH = (
    "SELECT item, ref, at, site, position, what, patient, gate,"
    " CASE WHEN gap = 0 THEN '' WHEN why_not <> '' THEN why_not"
    " ELSE 'what stood before it does not count any more' END FROM touch"
)


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


def uses_known(store: Store, uses: Sequence[str]) -> set[str]:
    """Those of *uses* that are in the book."""
    known: set[str] = set()
    for some in in_chunks(uses):
        marks = ", ".join("?" * len(some))
        known.update(r[0] for r in store.rows(f"SELECT id FROM use WHERE id IN ({marks})", *some))
    return known


def touches_of(store: Store, item: str) -> list[TouchRow]:
    return [
        _touch(row)
        for row in store.rows(f"{_TOUCH} WHERE item = ? AND sort = 'use' ORDER BY at", item)
    ]


def touches_behind(store: Store, gate: str) -> list[TouchRow]:
    """Uses of items that this load made fit."""
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
    found = dict(store.rows("SELECT name, number FROM tally"))
    uses = int(found.get("uses", 0))
    return Traceable(traced=uses - int(found.get("gaps", 0)), uses=uses)


def gaps(
    store: Store, most: int = 200, before: tuple[int, str, str] | None = None
) -> list[TouchRow]:
    """Up to *most* gaps, newest first, from *before* a moment (µs), item and use on."""
    if before is None:
        rows = store.rows(
            f"{_TOUCH} WHERE gap = 1 ORDER BY at DESC, item DESC, ref DESC LIMIT ?", most
        )
    else:
        rows = store.rows(
            f"{_TOUCH} WHERE gap = 1 AND at <= ? AND (at, item, ref) < (?, ?, ?)"
            " ORDER BY at DESC, item DESC, ref DESC LIMIT ?",
            before[0],
            *before,
            most,
        )
    return [_touch(row) for row in rows]


def touch_of(store: Store, item: str, use: str) -> TouchRow | None:
    """What one item was in one use."""
    row = store.one(f"{_TOUCH} WHERE item = ? AND sort = 'use' AND ref = ?", item, use)
    return None if row is None else _touch(row)


def is_gap(store: Store, item: str, use: str) -> bool:
    """Whether nothing is known before this use of this item."""
    row = store.one("SELECT gap FROM touch WHERE item = ? AND sort = 'use' AND ref = ?", item, use)
    return row is not None and bool(row[0])


def exposures_decided(store: Store) -> set[tuple[str, str]]:
    """Exposures, as item and use, of which a look-back has decided every source."""
    rows = store.rows("SELECT item, ref FROM exposure WHERE open = 0")
    return {(str(item), str(ref)) for item, ref in rows}
