"""Duties of things and of types, and work on things, folded from the ledger."""

from datetime import UTC, date, datetime, time, timedelta, tzinfo
from zoneinfo import ZoneInfo

import msgspec

from equip import facts
from equip.facts import DutyTerms, micros, moment
from equip.rules.days import add_months
from equip.rules.upkeep.due import Duty, next_due
from equip.store.database import Store
from equip.store.fold.counts import count_again, read_meter

KINDS = (
    facts.DutySet,
    facts.DutyMet,
    facts.TypeDutySet,
    facts.DutyDropped,
    facts.MeterRead,
    facts.WorkRaised,
    facts.WorkSignedOff,
)
_encode = msgspec.json.Encoder(order="sorted").encode
_type_duty = msgspec.json.Decoder(facts.TypeDutySet).decode
_PLAIN = DutyTerms()


def project_duties(store: Store, fact: facts.Fact) -> None:
    """Bring duties up to date with one fact of upkeep."""
    match fact:
        case facts.DutySet():
            _set(store, fact.item, fact, fact.anchor, micros(fact.at), of_type=False)
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
        first = _first_day(fact, moment(since).astimezone(zone).date(), zone)
        _set(store, item, fact, first, since, of_type=True)


def _zone(store: Store, site: str) -> tzinfo:
    """Where the days of *site* begin; in UTC until it has opened its book."""
    row = store.one("SELECT zone FROM site WHERE code = ?", site)
    return UTC if row is None else ZoneInfo(row[0])


def _first_day(fact: facts.TypeDutySet, arrived: date, zone: tzinfo) -> date:
    """An interval after it came, but never before the day told for the whole type."""
    if arrived <= fact.at.astimezone(zone).date():
        return fact.anchor
    if fact.every_months:
        return add_months(arrived, fact.every_months)
    return arrived + timedelta(days=fact.every_days)


def _set_of_type(store: Store, fact: facts.TypeDutySet) -> None:
    store.run(
        "INSERT INTO type_duty (type, duty, body) VALUES (?, ?, ?)"
        " ON CONFLICT (type, duty) DO UPDATE SET body = excluded.body",
        fact.type,
        fact.duty,
        facts.canonical(fact),
    )
    for (item,) in store.rows("SELECT tag FROM item WHERE type = ? ORDER BY tag", fact.type):
        own = "SELECT 1 FROM duty WHERE item = ? AND duty = ? AND of_type = 0"
        if store.one(own, item, fact.duty) is None:
            _set(store, item, fact, fact.anchor, micros(fact.at), of_type=True)


def _set(
    store: Store,
    item: str,
    fact: facts.DutySet | facts.TypeDutySet,
    anchor: date,
    since: int,
    *,
    of_type: bool,
) -> None:
    terms = fact.terms or _PLAIN
    first = next_due(_rule(fact, anchor, terms, terms.not_after), None)
    store.run(
        "DELETE FROM duty WHERE item = ? AND duty = ?",
        item,
        fact.duty,
    )
    store.run(
        "INSERT INTO duty (item, duty, anchor, months, days, grounds, next_due, of_type,"
        " every_count, counts, already, tolerance, shift, certificate, not_after, after_move,"
        " cost, source, since, counted)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 0)",
        item,
        fact.duty,
        anchor.isoformat(),
        fact.every_months,
        fact.every_days,
        int(fact.grounds),
        first.isoformat(),
        int(of_type),
        terms.every_count,
        terms.counts,
        terms.already,
        terms.tolerance_days,
        terms.shift,
        int(terms.certificate),
        None if terms.not_after is None else terms.not_after.isoformat(),
        terms.after_move_days,
        None if terms.cost is None else str(terms.cost),
        terms.source,
        since,
    )
    count_again(store, item)


def _rule(
    fact: facts.DutySet | facts.TypeDutySet,
    anchor: date,
    terms: DutyTerms,
    not_after: date | None,
) -> Duty:
    return Duty(
        duty=fact.duty,
        anchor=anchor,
        every_months=fact.every_months or None,
        every_days=fact.every_days or None,
        not_after=not_after,
        every_count=terms.every_count or None,
        grounds=fact.grounds,
        counts=bool(terms.counts),
        certificate=terms.certificate,
    )


def _meet(store: Store, fact: facts.DutyMet) -> None:
    row = store.one(
        "SELECT anchor, months, days, last_met, not_after, certificate, every_count, counts,"
        " since, done FROM duty WHERE item = ? AND duty = ?",
        fact.item,
        fact.duty,
    )
    if row is None:
        return
    anchor, months, days, last_met, not_after, certificate, every_count, counts, since, done = row
    met = max(fact.due.isoformat(), last_met or "")
    if fact.not_after is not None:
        not_after = fact.not_after.isoformat()
    duty = Duty(
        duty=fact.duty,
        anchor=date.fromisoformat(anchor),
        every_months=months or None,
        every_days=days or None,
        not_after=None if not_after is None else date.fromisoformat(not_after),
        every_count=every_count or None,
        counts=bool(counts),
        certificate=bool(certificate),
    )
    store.run(
        "UPDATE duty SET last_met = ?, done = ?, next_due = ?, not_after = ?, since = ?,"
        " already = 0 WHERE item = ? AND duty = ?",
        met,
        max(fact.done.isoformat(), done or ""),
        next_due(duty, date.fromisoformat(met)).isoformat(),
        not_after,
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
