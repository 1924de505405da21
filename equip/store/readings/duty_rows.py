"""Duties: how each stands in its table, what has brought it on, and what real use was like."""

from datetime import date, datetime, timedelta
from typing import Any

import msgspec

from equip.facts import DutyMet, DutyTerms, MeterRead, TypeDutySet, micros, moment
from equip.rules.upkeep.due import Duty, SoFar
from equip.store.database import Store
from equip.store.fold.counts import duty_from
from equip.store.ledger.about import told_about


class DutyRow(msgspec.Struct, frozen=True, gc=False):
    """One duty of one item: what it goes by, how far it has come, and the item it is of."""

    item: str
    duty: str
    goes_by: Duty
    so_far: SoFar
    last_met: date | None
    next_due: date
    done: date | None
    of_type: bool
    early: int | None
    type: str
    name: str
    place: str
    entered: int

    @property
    def terms(self) -> DutyTerms:
        return self.goes_by.terms

    @property
    def grounds(self) -> bool:
        return self.goes_by.grounds

    @property
    def added(self) -> datetime | None:
        """When the item came on the register, if anything tells."""
        return moment(self.entered) if self.entered else None


_OWN = "d.item, d.duty, d.goes_by, d.so_far, d.last_met, d.next_due, d.done, d.of_type, d.early"
DUTY_SQL = (
    f"SELECT {_OWN}, COALESCE(i.type, ''), COALESCE(i.name, ''), COALESCE(s.place, ''),"
    " COALESCE(i.added, 0)"
    " FROM duty d LEFT JOIN item i ON i.tag = d.item LEFT JOIN standing s ON s.item = d.item"
    " WHERE (s.whereabouts IS NULL OR s.whereabouts <> 'retired')"
)
_type_duty = msgspec.json.Decoder(TypeDutySet).decode
_so_far = msgspec.json.Decoder(SoFar).decode


class _Reader:
    """Rows of the table to duties. Many go by the same terms, so each text is read once."""

    def __init__(self) -> None:
        self._duties: dict[bytes, Duty] = {}
        self._so_far: dict[bytes, SoFar] = {}

    def duty(self, row: tuple[Any, ...], day: Any = date.fromisoformat) -> DutyRow:
        item, name, goes_by, so_far, last_met, next_due, done, of_type, *rest = row
        by = self._duties.get(goes_by)
        if by is None:
            by = self._duties[goes_by] = duty_from(goes_by)
        far = self._so_far.get(so_far)
        if far is None:
            far = self._so_far[so_far] = _so_far(so_far)
        return DutyRow(
            item,
            name,
            by,
            far,
            None if last_met is None else day(last_met),
            day(next_due),
            None if done is None else day(done),
            of_type == 1,
            *rest,
        )


def duties(
    store: Store, until: date | None = None, since: date | None = None, *, watching: bool = False
) -> list[DutyRow]:
    """Duties of items not retired; with *until* or *since* those of its days, and those that
    something else may have brought forward; with *watching* all that something else may bring.

    Items have many duties, so items are read once beside them rather than with each.
    """
    items = {
        row[0]: row[1:]
        for row in store.rows(
            "SELECT i.tag, i.type, i.name, COALESCE(s.place, ''), i.added FROM item i"
            " LEFT JOIN standing s ON s.item = i.tag"
            " WHERE s.whereabouts IS NULL OR s.whereabouts <> 'retired'"
        )
    }
    asked, values = f"SELECT {_OWN} FROM duty d", []
    if until is not None or since is not None:
        asked += " WHERE d.next_due BETWEEN ? AND ? OR d.early IS NOT NULL"
        asked += " OR d.watches = 1" if watching else ""
        values = [(since or date.min).isoformat(), (until or date.max).isoformat()]
    read = _Reader().duty
    return [
        read((*row, *item))
        for row in store.rows(asked, *values)
        if (item := items.get(row[0])) is not None
    ]


def duty_count(store: Store) -> int:
    """How many duties there are of items not retired."""
    row = store.one(
        "SELECT COUNT(*) FROM duty d JOIN item i ON i.tag = d.item"
        " LEFT JOIN standing s ON s.item = d.item"
        " WHERE s.whereabouts IS NULL OR s.whereabouts <> 'retired'"
    )
    return 0 if row is None else int(row[0])


def day_of_duty(store: Store, since: date, number: int) -> date | None:
    """The day from *since* on up to which there are *number* duties, None if there are fewer."""
    row = store.one(
        "SELECT next_due FROM duty WHERE next_due >= ? ORDER BY next_due LIMIT 1 OFFSET ?",
        since.isoformat(),
        max(0, number - 1),
    )
    return None if row is None else date.fromisoformat(row[0])


def duties_of(store: Store, item: str) -> list[DutyRow]:
    rows, read = store.rows(f"{DUTY_SQL} AND d.item = ? ORDER BY d.duty", item), _Reader().duty
    return [read(row) for row in rows]


def type_duties(store: Store, kind: str) -> list[TypeDutySet]:
    """What every item of a type has to have done."""
    rows = store.rows("SELECT body FROM type_duty WHERE type = ? ORDER BY duty", kind)
    return [_type_duty(bytes(body)) for (body,) in rows]


def meter_readings(store: Store, item: str) -> list[MeterRead]:
    """What an item's meters showed, oldest first."""
    told = (entry.fact for entry in told_about(store, item))
    return [fact for fact in told if isinstance(fact, MeterRead)]


def duties_met(store: Store, item: str) -> list[DutyMet]:
    """What was done about an item's duties, oldest first."""
    told = (entry.fact for entry in told_about(store, item))
    return [fact for fact in told if isinstance(fact, DutyMet)]


def worked_between(store: Store, item: str, sort: str, since: datetime, until: datetime) -> int:
    """How many of *sort* an item has done after *since* and up to *until*."""
    row = store.one(
        "SELECT COALESCE(SUM(n), 0) FROM worked WHERE item = ? AND sort = ? AND at > ? AND at <= ?",
        item,
        sort,
        micros(since),
        micros(until),
    )
    return 0 if row is None else int(row[0])


def worked_by_quarter(
    store: Store, since: datetime, until: datetime
) -> list[tuple[str, str, datetime, int]]:
    """What everything did from *since* up to *until*: item, sort, the quarter hour, how many.

    No day, for which day it was depends on the zone of the clinic, and days begin at the quarter
    hours of UTC: some zones are off by half an hour or by three quarters.
    """
    rows = store.rows(
        "SELECT item, sort, at / 900000000, SUM(n) FROM worked WHERE sort <> 'moves'"
        " AND at >= ? AND at < ? GROUP BY item, sort, at / 900000000",
        micros(since),
        micros(until),
    )
    quarters = {row[2] for row in rows}
    began = {quarter: moment(0) + timedelta(minutes=15 * quarter) for quarter in quarters}
    return [(item, sort, began[quarter], int(n)) for item, sort, quarter, n in rows]


def own_timings(store: Store) -> dict[tuple[str, str], tuple[int | None, int | None]]:
    """Days ahead and days over of the duties that have their own."""
    rows = store.rows(
        "SELECT item, duty, lead_days, escalate_days FROM duty_reminder ORDER BY item, duty"
    )
    return {(item, duty): (lead, late) for item, duty, lead, late in rows}
