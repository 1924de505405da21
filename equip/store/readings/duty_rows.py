"""Duties: how each stands in its table, what has brought it on, and what real use was like."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import msgspec

from equip.facts import Counts, DutyMet, MeterRead, Shift, TypeDutySet, micros, moment
from equip.rules.upkeep.due import Duty
from equip.store.database import Store
from equip.store.ledger.about import told_about


class DutyRow(msgspec.Struct, frozen=True, gc=False):
    """One duty of one thing. *reached* and *moved* are moments in microseconds."""

    item: str
    duty: str
    anchor: date
    months: int
    days: int
    grounds: bool
    last_met: date | None
    next_due: date
    done: date | None
    of_type: bool
    every_count: int
    counts: Counts
    tolerance: int
    shift: Shift
    certificate: bool
    not_after: date | None
    after_move: int | None
    cost: str | None
    source: str
    since: int
    counted: int
    reached: int | None
    moved: int | None
    type: str
    name: str
    place: str
    entered: int

    @property
    def added(self) -> datetime | None:
        """When it came on the register, if anything tells."""
        return moment(self.entered) if self.entered else None

    @property
    def rule(self) -> Duty:
        """What it goes by, for the rules."""
        return Duty(
            duty=self.duty,
            anchor=self.anchor,
            every_months=self.months or None,
            every_days=self.days or None,
            not_after=self.not_after,
            every_count=self.every_count or None,
            grounds=self.grounds,
            counts=bool(self.counts),
            certificate=self.certificate,
        )

    @property
    def costs(self) -> Decimal | None:
        return None if self.cost is None else Decimal(self.cost)


_COLUMNS = (
    "SELECT d.item, d.duty, d.anchor, d.months, d.days, d.grounds, d.last_met, d.next_due, d.done,"
    " d.of_type, d.every_count, d.counts, d.tolerance, d.shift, d.certificate, d.not_after,"
    " d.after_move, d.cost, d.source, d.since, d.counted, d.reached, d.moved FROM duty d"
)
DUTY_SQL = (
    _COLUMNS.removesuffix(" FROM duty d")
    + ", COALESCE(i.type, ''), COALESCE(i.name, ''), COALESCE(s.place, ''),"
    " COALESCE(i.added, 0)"
    " FROM duty d LEFT JOIN item i ON i.tag = d.item LEFT JOIN standing s ON s.item = d.item"
    " WHERE (s.whereabouts IS NULL OR s.whereabouts <> 'retired')"
)
_type_duty = msgspec.json.Decoder(TypeDutySet).decode


def _duty(row: tuple[Any, ...], day: Any = date.fromisoformat) -> DutyRow:
    item, duty, anchor, months, days, grounds, last_met, next_due, done, of_type, *rest = row
    every_count, counts, tolerance, shift, certificate, not_after, *last = rest
    return DutyRow(
        item,
        duty,
        day(anchor),
        months,
        days,
        grounds == 1,
        None if last_met is None else day(last_met),
        day(next_due),
        None if done is None else day(done),
        of_type == 1,
        every_count,
        counts,
        tolerance,
        shift,
        certificate == 1,
        None if not_after is None else day(not_after),
        *last,
    )


def duties(
    store: Store, until: date | None = None, since: date | None = None, *, counted: bool = False
) -> list[DutyRow]:
    """Duties of things not retired; with *until* or *since* those of its days, and those that a
    count or a move may have brought forward; with *counted* all that go by a count as well.

    Things have many duties, so things are read once beside them rather than with each.
    """
    things = {
        row[0]: row[1:]
        for row in store.rows(
            "SELECT i.tag, i.type, i.name, COALESCE(s.place, ''), i.added FROM item i"
            " LEFT JOIN standing s ON s.item = i.tag"
            " WHERE s.whereabouts IS NULL OR s.whereabouts <> 'retired'"
        )
    }
    asked, values = _COLUMNS, []
    if until is not None or since is not None:
        asked += " WHERE d.next_due BETWEEN ? AND ? OR d.reached IS NOT NULL OR d.moved IS NOT NULL"
        asked += " OR d.every_count > 0" if counted else ""
        values = [(since or date.min).isoformat(), (until or date.max).isoformat()]
    return [
        _duty((*row, *thing))
        for row in store.rows(asked, *values)
        if (thing := things.get(row[0])) is not None
    ]


def duty_count(store: Store) -> int:
    """How many duties there are of things not retired."""
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
    rows = store.rows(f"{DUTY_SQL} AND d.item = ? ORDER BY d.duty", item)
    return [_duty(row) for row in rows]


def type_duties(store: Store, kind: str) -> list[TypeDutySet]:
    """What every thing of a type has to have done."""
    rows = store.rows("SELECT body FROM type_duty WHERE type = ? ORDER BY duty", kind)
    return [_type_duty(bytes(body)) for (body,) in rows]


def meter_readings(store: Store, item: str) -> list[MeterRead]:
    """What a thing's meters showed, oldest first."""
    return [one.fact for one in told_about(store, item) if isinstance(one.fact, MeterRead)]


def duties_met(store: Store, item: str) -> list[DutyMet]:
    """What was done about a thing's duties, oldest first."""
    return [one.fact for one in told_about(store, item) if isinstance(one.fact, DutyMet)]


def worked_between(store: Store, item: str, sort: str, since: datetime, until: datetime) -> int:
    """How many of *sort* a thing has done after *since* and up to *until*."""
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
    """What everything did from *since* up to *until*: thing, sort, the quarter hour, how many.

    No day, for which day it was depends on the zone of the clinic, and days begin at the quarter
    hours of UTC: some zones are off by half an hour or by three quarters.
    """
    rows = store.rows(
        "SELECT item, sort, at / 900000000, SUM(n) FROM worked WHERE sort <> 'moves'"
        " AND at >= ? AND at < ? GROUP BY item, sort, at / 900000000",
        micros(since),
        micros(until),
    )
    known = {one: moment(0) + timedelta(minutes=15 * one) for one in {row[2] for row in rows}}
    return [(item, sort, known[one], int(n)) for item, sort, one, n in rows]


def own_timings(store: Store) -> dict[tuple[str, str], tuple[int | None, int | None]]:
    """Days ahead and days over of the duties that have their own."""
    rows = store.rows(
        "SELECT item, duty, lead_days, escalate_days FROM duty_reminder ORDER BY item, duty"
    )
    return {(item, duty): (lead, late) for item, duty, lead, late in rows}
