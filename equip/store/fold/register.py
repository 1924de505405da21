"""The house as the ledger tells it: sites, types, items, places, overrides, doubts.

Small tables that change seldom. Each change of what others keep in memory (types, places,
rules) raises the revision, so that every process sees it on its next act.
"""

from collections.abc import Iterable

import msgspec

from equip import facts
from equip.facts import micros
from equip.store.database import Store
from equip.store.fold.lookback import keep_case
from equip.store.fold.machines import keep_spore_cycle
from equip.store.fold.people import keep_competence
from equip.store.fold.upkeep import duties_of_type
from equip.store.ledger.ledger import Entry

HOUSE_KINDS = (
    facts.SiteOpened,
    facts.TypeDefined,
    facts.ProcedureDefined,
    facts.ItemAdded,
    facts.Packed,
    facts.TagReplaced,
    facts.PlaceAdded,
    facts.PersonAdded,
    facts.CompetenceAssessed,
    facts.LapseAllowed,
    facts.RuleSet,
    facts.RemindersSet,
    facts.DoubtRaised,
    facts.DoubtDecided,
    facts.DoubtScoped,
    facts.DoubtListed,
    facts.DoubtClosed,
    facts.DrillRun,
    facts.RehearsalRun,
    facts.MachineTested,
    facts.SheetSigned,
    facts.PastBroughtIn,
    facts.LotAdded,
    facts.LotOpened,
    facts.LotFinished,
    facts.BathFilled,
)
_encode = msgspec.json.Encoder(order="sorted").encode


def project_house(store: Store, entry: Entry) -> None:
    """Bring the house's own tables up to date with one entry."""
    match entry.fact:
        case facts.SiteOpened() as fact:
            store.run(
                "INSERT INTO site (code, name, zone, book) VALUES (?, ?, ?, ?)"
                " ON CONFLICT (code) DO UPDATE SET name = excluded.name,"
                " zone = excluded.zone, book = excluded.book",
                fact.site,
                fact.name,
                fact.zone,
                fact.book,
            )
            _raise_revision(store)
        case facts.TypeDefined() as fact:
            store.run(
                "INSERT INTO itemtype (code, body) VALUES (?, ?)"
                " ON CONFLICT (code) DO UPDATE SET body = excluded.body",
                fact.type.code,
                _encode(fact.type),
            )
            _raise_revision(store)
        case facts.ProcedureDefined() as fact:
            store.run(
                "INSERT INTO procedure (code, body) VALUES (?, ?)"
                " ON CONFLICT (code) DO UPDATE SET body = excluded.body",
                fact.procedure.code,
                _encode(fact.procedure),
            )
        case facts.ItemAdded() as fact:
            _add_item(store, fact.item, fact.type, fact.name, fact.serial, entry)
            for alias in fact.aliases:
                _add_alias(store, alias, fact.item)
            duties_of_type(store, fact.item, fact.type, fact.at, entry.site)
        case facts.Packed() as fact:
            _add_item(store, fact.pack, "pack", "", "", entry)
            if fact.old:
                _add_alias(store, fact.old, fact.pack)
        case facts.TagReplaced() as fact:
            _add_alias(store, fact.tag, fact.item)
        case facts.PlaceAdded() as fact:
            store.run(
                "INSERT INTO place (tag, name, sort) VALUES (?, ?, ?) ON CONFLICT (tag)"
                " DO UPDATE SET name = excluded.name, sort = excluded.sort",
                fact.place,
                fact.name,
                fact.sort,
            )
            _raise_revision(store)
        case facts.PersonAdded() as fact:
            store.run(
                "INSERT INTO staff (tag, name, role, rights, active) VALUES (?, ?, ?, ?, ?)"
                " ON CONFLICT (tag) DO UPDATE SET name = excluded.name, role = excluded.role,"
                " rights = excluded.rights, active = excluded.active",
                fact.person,
                fact.name,
                fact.role,
                ",".join(fact.rights),
                int(fact.active),
            )
            if fact.old:
                add_old_names(store, "person", [(fact.old, fact.person)])
            _raise_revision(store)
        case facts.CompetenceAssessed() | facts.LapseAllowed():
            keep_competence(store, entry)
            _raise_revision(store)
        case facts.PastBroughtIn() as fact:
            store.run(
                "INSERT INTO past (digest, name, line, rows_in) VALUES (?, ?, ?, ?)"
                " ON CONFLICT (digest) DO NOTHING",
                fact.digest,
                fact.name,
                fact.line,
                fact.rows,
            )
        case facts.RuleSet() as fact:
            store.run(
                "INSERT INTO rule_override (site, position, rule, value, reason, since, who)"
                " VALUES (?, ?, ?, ?, ?, ?, ?)",
                entry.site,
                entry.position,
                fact.rule,
                fact.value,
                fact.reason,
                fact.since.isoformat(),
                fact.by,
            )
            _raise_revision(store)
        case facts.RemindersSet() as fact:
            store.run(
                "INSERT INTO duty_reminder (item, duty, lead_days, escalate_days)"
                " VALUES (?, ?, ?, ?) ON CONFLICT (item, duty) DO UPDATE SET"
                " lead_days = excluded.lead_days, escalate_days = excluded.escalate_days",
                fact.item,
                fact.duty,
                fact.lead_days,
                fact.escalate_days,
            )
        case facts.MachineTested() as fact:
            store.run(
                "INSERT INTO machine_test (machine, test, at, site, position, verdict, who,"
                " cycle_no) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                fact.machine,
                fact.test,
                micros(fact.at),
                entry.site,
                entry.position,
                fact.verdict,
                fact.by,
                fact.cycle_no,
            )
            if fact.test == "spore" and not fact.load:
                keep_spore_cycle(store, entry, fact)
        case facts.BathFilled() as fact:
            store.run(
                "INSERT INTO filling (machine, at, site, position, lot, who, note, act)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                fact.machine,
                micros(fact.at),
                entry.site,
                entry.position,
                fact.lot,
                fact.by,
                fact.note,
                fact.act,
            )
        case facts.SheetSigned() as fact:
            store.run(
                "INSERT INTO sheet (machine, day, who) VALUES (?, ?, ?) ON CONFLICT DO NOTHING",
                fact.machine,
                fact.day.isoformat(),
                fact.by,
            )
        case facts.LotAdded() as fact:
            store.run(
                "INSERT INTO lot (tag, sort, name, number, body, opened, finished)"
                " VALUES (?, ?, ?, ?, ?, NULL, '') ON CONFLICT (tag) DO NOTHING",
                fact.lot,
                fact.sort,
                fact.name,
                fact.number,
                facts.canonical(fact),
            )
        case facts.LotOpened() as fact:
            store.run(
                "UPDATE lot SET opened = ? WHERE tag = ? AND opened IS NULL",
                micros(fact.at),
                fact.lot,
            )
        case facts.LotFinished() as fact:
            store.run("UPDATE lot SET finished = ? WHERE tag = ?", fact.why, fact.lot)
        case facts.DoubtRaised() as fact:
            store.run(
                "INSERT INTO doubt (case_id, raised, loads, why, who, unfounded, evidence, about)"
                " VALUES (?, ?, ?, ?, ?, 0, '', '') ON CONFLICT (case_id) DO NOTHING",
                fact.case,
                micros(fact.at),
                ",".join(fact.loads),
                fact.why,
                fact.by,
            )
        case facts.DoubtDecided() as fact:
            store.run(
                "UPDATE doubt SET decided = ?, decision = ?, reason = ?, unfounded = ?"
                " WHERE case_id = ?",
                micros(fact.at),
                fact.decision,
                fact.reason,
                int(fact.unfounded),
                fact.case,
            )
        case facts.DoubtScoped() | facts.DoubtListed() | facts.DoubtClosed() | facts.DrillRun():
            keep_case(store, entry)
        case facts.RehearsalRun() as fact:
            store.run(
                "INSERT INTO rehearsal (site, day, position) VALUES (?, ?, ?)"
                " ON CONFLICT DO NOTHING",
                entry.site,
                fact.day.isoformat(),
                entry.position,
            )
        case _:
            pass


def revision(store: Store) -> int:
    """A number that rises whenever types, places, people or rules change."""
    row = store.one("SELECT number FROM revision WHERE name = 'house'")
    return 0 if row is None else int(row[0])


def _raise_revision(store: Store) -> None:
    store.run(
        "INSERT INTO revision (name, number) VALUES ('house', 1)"
        " ON CONFLICT (name) DO UPDATE SET number = revision.number + 1"
    )


def _add_item(store: Store, tag: str, kind: str, name: str, serial: str, entry: Entry) -> None:
    store.run(
        "INSERT INTO item (tag, site, type, name, serial, added) VALUES (?, ?, ?, ?, ?, ?)"
        " ON CONFLICT (tag) DO NOTHING",
        tag,
        entry.site,
        kind,
        name,
        serial,
        micros(entry.fact.at),
    )


def _add_alias(store: Store, alias: str, item: str) -> None:
    store.run(
        "INSERT INTO alias (text, item) VALUES (?, ?)"
        " ON CONFLICT (text) DO UPDATE SET item = excluded.item",
        alias,
        item,
    )


def add_old_names(store: Store, sort: str, named: Iterable[tuple[str, str]]) -> None:
    """What loads or people were called before this book, each beside its tag."""
    store.many(
        "INSERT INTO old_name (sort, text, tag) VALUES (?, ?, ?) ON CONFLICT (sort, text)"
        " DO UPDATE SET tag = excluded.tag",
        [(sort, text, tag) for text, tag in named],
    )
