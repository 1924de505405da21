"""Duties of items and of types, and work on items, folded from the ledger."""

from datetime import UTC, date, datetime, time, timedelta, tzinfo
from zoneinfo import ZoneInfo

import msgspec

from equip import facts
from equip.facts import micros, moment
from equip.rules.upkeep.due import NOTHING, Duty, next_due
from equip.store.database import Store
from equip.store.fold.counts import count_again, duty_from, encode, read_meter

KINDS = (
    facts.DutySet,
    facts.DutyMet,
    facts.TypeDutySet,
    facts.DutyDropped,
    facts.MeterRead,
    facts.WorkRaised,
    facts.WorkSignedOff,
)
_type_duty = msgspec.json.Decoder(facts.TypeDutySet).decode


def project_duties(store: Store, fact: facts.Fact) -> None:
    """Bring duties up to date with one fact of upkeep."""
    match fact:
        case facts.DutySet():
            _set(store, fact.item, fact.duty, Duty.told(fact), micros(fact.at), of_type=False)
        case facts.TypeDutySet():
            _set_of_type(store, fact)
        case facts.DutyMet():
            _meet(store, fact)
        case facts.DutyDropped():
            _drop(store, fact)
        case facts.MeterRead():
            read_meter(store, fact)
        case facts.WorkRaised():
            store.run(
                "INSERT INTO work (id, item, raised) VALUES (?, ?, ?) ON CONFLICT (id) DO NOTHING",
                fact.work,
                fact.item,
                micros(fact.at),
            )
        case facts.WorkSignedOff():
            store.run("UPDATE work SET closed = ? WHERE id = ?", micros(fact.at), fact.work)
        case _:
            pass


def duties_of_type(store: Store, item: str, kind: str, at: datetime, site: str) -> None:
    """What came on the register of *site* has its type's duties, an interval from that day on."""
    zone = _zone(store, site)
    for (body,) in store.rows("SELECT body FROM type_duty WHERE type = ? ORDER BY duty", kind):
        fact = _type_duty(bytes(body))
        since = max(micros(fact.at), micros(at))
        duty = _of_arrival(fact, moment(since).astimezone(zone).date(), zone)
        _set(store, item, fact.duty, duty, since, of_type=True)


def _zone(store: Store, site: str) -> tzinfo:
    """Where the days of *site* begin; in UTC until it has opened its book."""
    row = store.one("SELECT zone FROM site WHERE code = ?", site)
    return UTC if row is None else ZoneInfo(row[0])


def _of_arrival(fact: facts.TypeDutySet, arrived: date, zone: tzinfo) -> Duty:
    """Due an interval after it came, but never before the day told for the whole type."""
    duty = Duty.told(fact)
    if arrived <= fact.at.astimezone(zone).date():
        return duty
    return duty.begun(duty.begun(arrived).day(1))


def _set_of_type(store: Store, fact: facts.TypeDutySet) -> None:
    store.run(
        "INSERT INTO type_duty (type, duty, body) VALUES (?, ?, ?)"
        " ON CONFLICT (type, duty) DO UPDATE SET body = excluded.body",
        fact.type,
        fact.duty,
        facts.canonical(fact),
    )
    duty, since = Duty.told(fact), micros(fact.at)
    for (item,) in store.rows("SELECT tag FROM item WHERE type = ? ORDER BY tag", fact.type):
        own = "SELECT 1 FROM duty WHERE item = ? AND duty = ? AND of_type = 0"
        if store.one(own, item, fact.duty) is None:
            _set(store, item, fact.duty, duty, since, of_type=True)


def _set(store: Store, item: str, name: str, duty: Duty, since: int, *, of_type: bool) -> None:
    """A duty begins; one of the same name is gone with all that was done for it."""
    store.run("DELETE FROM duty WHERE item = ? AND duty = ?", item, name)
    store.run(
        "INSERT INTO duty (item, duty, goes_by, so_far, next_due, of_type, since, watches)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        item,
        name,
        encode(duty),
        encode(NOTHING),
        next_due(duty, None).isoformat(),
        int(of_type),
        since,
        int(duty.watches),
    )
    count_again(store, item)


def _meet(store: Store, fact: facts.DutyMet) -> None:
    row = store.one(
        "SELECT goes_by, last_met, done, since FROM duty WHERE item = ? AND duty = ?",
        fact.item,
        fact.duty,
    )
    if row is None:
        return
    goes_by, last_met, done, since = row
    duty = duty_from(bytes(goes_by)).met(fact.not_after)
    met = max(fact.due.isoformat(), last_met or "")
    store.run(
        "UPDATE duty SET goes_by = ?, last_met = ?, done = ?, next_due = ?, since = ?"
        " WHERE item = ? AND duty = ?",
        encode(duty),
        met,
        max(fact.done.isoformat(), done or ""),
        next_due(duty, date.fromisoformat(met)).isoformat(),
        max(since, micros(_counts_from(fact))),
        fact.item,
        fact.duty,
    )
    count_again(store, fact.item)


def _counts_from(fact: facts.DutyMet) -> datetime:
    """Work told on its own day counts from when it was told, else from the end of its day."""
    if fact.counts_from is not None:
        return fact.counts_from
    over = datetime.combine(fact.done, time(), UTC) + timedelta(days=1)
    return min(fact.at, over)


def _drop(store: Store, fact: facts.DutyDropped) -> None:
    if fact.item:
        store.run("DELETE FROM duty WHERE item = ? AND duty = ?", fact.item, fact.duty)
        return
    store.run("DELETE FROM type_duty WHERE type = ? AND duty = ?", fact.type, fact.duty)
    store.run(
        "DELETE FROM duty WHERE duty = ? AND of_type = 1"
        " AND item IN (SELECT tag FROM item WHERE type = ?)",
        fact.duty,
        fact.type,
    )
