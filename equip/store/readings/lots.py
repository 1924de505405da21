"""Lots of what is used up on the way."""

from datetime import UTC, tzinfo

import msgspec

from equip.facts import LotAdded, moment
from equip.rules.lots import Lot
from equip.store.database import Store

_COLUMNS = "SELECT body, opened, finished FROM lot"
_added = msgspec.json.Decoder(LotAdded).decode


def lots(store: Store, zone: tzinfo = UTC) -> list[Lot]:
    """Every lot, those in use first, by name; the day of opening is that of *zone*."""
    rows = store.rows(f"{_COLUMNS} ORDER BY finished <> '', sort, name, number, tag")
    return [_lot(row, zone) for row in rows]


def lot_of(store: Store, tag: str, zone: tzinfo = UTC) -> Lot | None:
    """The lot of that tag, None if there is none."""
    row = store.one(f"{_COLUMNS} WHERE tag = ?", tag)
    return None if row is None else _lot(row, zone)


def _lot(row: tuple[bytes, int | None, str], zone: tzinfo) -> Lot:
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
    )
