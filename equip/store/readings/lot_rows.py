"""Lots of what is used up on the way."""

from collections.abc import Sequence
from datetime import UTC, datetime, tzinfo

import msgspec

from equip.facts import LotAdded, micros, moment
from equip.rules.fitness.bath import Filling
from equip.rules.fitness.lots import Lot
from equip.store.database import Store
from equip.store.readings.open_cases import OpenCase, holding, open_cases

_COLUMNS = "SELECT body, opened, finished FROM lot"
_added = msgspec.json.Decoder(LotAdded).decode


def lots(store: Store, zone: tzinfo = UTC) -> list[Lot]:
    """Every lot, those in use first, by name; the day of opening is that of *zone*."""
    rows = store.rows(f"{_COLUMNS} ORDER BY finished <> '', sort, name, number, tag")
    cases = open_cases(store)
    return [_lot(row, zone, cases) for row in rows]


def lot_of(store: Store, tag: str, zone: tzinfo = UTC) -> Lot | None:
    """The lot of that tag, None if there is none."""
    row = store.one(f"{_COLUMNS} WHERE tag = ?", tag)
    return None if row is None else _lot(row, zone, open_cases(store))


def fillings_of(
    store: Store, machine: str, until: datetime, zone: tzinfo, most: int = 1
) -> list[Filling]:
    """What a bath was filled with up to *until*, newest first; what was taken back is left out."""
    rows = store.rows(
        "SELECT lot, at, who, note FROM filling WHERE machine = ? AND at <= ?"
        " AND NOT EXISTS (SELECT 1 FROM withdrawn WHERE withdrawn.act = filling.act)"
        " ORDER BY at DESC, site DESC, position DESC LIMIT ?",
        machine,
        micros(until),
        most,
    )
    found = [(lot_of(store, lot, zone), at, who, note) for lot, at, who, note in rows]
    return [Filling(lot, moment(at), who, note) for lot, at, who, note in found if lot is not None]


def _lot(row: tuple[bytes, int | None, str], zone: tzinfo, cases: Sequence[OpenCase]) -> Lot:
    body, opened, finished = row
    told = _added(bytes(body))
    return Lot(
        tag=told.lot,
        sort=told.sort,
        name=told.name,
        number=told.number,
        expires=told.expires,
        stated=told.stated,
        opened=None if opened is None else moment(opened).astimezone(zone).date(),
        finished=finished,
        in_case=holding(cases, told.lot),
    )
