"""Exposures as they are kept: open ones, those a look-back decided, those of one subject."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from equip.facts import moment
from equip.rules.lookback.sweep import Certainty
from equip.store.database import Store

Spot = tuple[int, str, str]
"""Where a list of exposures goes on: moment (µs), item, use."""


@dataclass(frozen=True, slots=True)
class ExposedRow:
    """A use that may have exposed its patient to others; *micros* is its moment as it is kept."""

    item: str
    use: str
    micros: int
    patient: str
    path: str
    certainty: Certainty
    sources: int
    open: bool

    @property
    def at(self) -> datetime:
        return moment(self.micros)

    @property
    def spot(self) -> Spot:
        return self.micros, self.item, self.use


_ROW = "SELECT item, ref, at, patient, site, position, certainty, sources, open FROM exposure"


def _row(row: Sequence[Any]) -> ExposedRow:
    item, use, at, patient, site, position, certainty, sources, is_open = row
    return ExposedRow(
        item=item,
        use=use,
        micros=int(at),
        patient=patient,
        path=f"{site}/{position}",
        certainty=Certainty(certainty),
        sources=int(sources),
        open=bool(is_open),
    )


def exposures(
    store: Store,
    *,
    is_open: bool,
    most: int,
    beyond: Spot | None = None,
    newest_first: bool = False,
) -> list[ExposedRow]:
    """Up to *most* exposures that are open or decided, those *beyond* a spot in their order."""
    than, way = ("<", " DESC") if newest_first else (">", "")
    wanted, values = "", list[object]()
    if beyond is not None:
        wanted = f" AND at {than}= ? AND (at, item, ref) {than} (?, ?, ?)"
        values = [beyond[0], *beyond]
    rows = store.rows(
        f"{_ROW} WHERE open = ?{wanted} ORDER BY at{way}, item{way}, ref{way} LIMIT ?",
        int(is_open),
        *values,
        most,
    )
    return [_row(row) for row in rows]


def exposure_of(store: Store, item: str, use: str) -> ExposedRow | None:
    row = store.one(f"{_ROW} WHERE item = ? AND ref = ?", item, use)
    return None if row is None else _row(row)


def exposures_of(store: Store, subject: str, first: int, last: int) -> list[ExposedRow]:
    """Exposures with an item or on a patient between two moments (µs), both included, in order."""
    rows = store.rows(
        f"{_ROW} WHERE (item = ? OR patient = ?) AND at >= ? AND at <= ? ORDER BY at, item, ref",
        subject,
        subject,
        first,
        last,
    )
    return [_row(row) for row in rows]


def sources_decided(store: Store, item: str, use: str) -> dict[str, str]:
    """The earlier uses that a look-back decided about, and which look-back it was."""
    rows = store.rows("SELECT source, case_id FROM decided WHERE item = ? AND ref = ?", item, use)
    return {str(source): str(case) for source, case in rows}
