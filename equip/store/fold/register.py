"""The register as the ledger tells it: sites, types, procedures, items, tags, places, limits.

Small tables that change seldom. Each change of what others keep in memory (types, places,
rules, people) raises the revision, so that every process sees it on its next act.
"""

from collections.abc import Mapping

import msgspec

from equip import facts
from equip.facts import micros
from equip.store.database import Store
from equip.store.fold.by_kind import Folds
from equip.store.fold.upkeep import duties_of_type
from equip.store.ledger.ledger import Entry
from equip.store.schema.rebuilt import Item

_COLUMNS: tuple[str, ...] = tuple(Item._meta.sorted_field_names)
_TOLD = tuple(column for column in _COLUMNS if column not in ("tag", "site", "type", "added"))
"""The columns of an item that the entry tells which put it on the register, by the same names."""

_encode = msgspec.json.Encoder(order="sorted").encode


def revision(store: Store) -> int:
    """A number that rises whenever types, places, people or rules change."""
    row = store.one("SELECT number FROM revision WHERE name = 'house'")
    return 0 if row is None else int(row[0])


def raise_revision(store: Store) -> None:
    """Let every process read types, places, people and rules again."""
    store.run(
        "INSERT INTO revision (name, number) VALUES ('house', 1)"
        " ON CONFLICT (name) DO UPDATE SET number = revision.number + 1"
    )


def _site(store: Store, entry: Entry, fact: facts.SiteOpened) -> None:
    store.run(
        "INSERT INTO site (code, name, zone, book) VALUES (?, ?, ?, ?)"
        " ON CONFLICT (code) DO UPDATE SET name = excluded.name,"
        " zone = excluded.zone, book = excluded.book",
        fact.site,
        fact.name,
        fact.zone,
        fact.book,
    )
    raise_revision(store)


def _type(store: Store, entry: Entry, fact: facts.TypeDefined) -> None:
    store.run(
        "INSERT INTO itemtype (code, body) VALUES (?, ?)"
        " ON CONFLICT (code) DO UPDATE SET body = excluded.body",
        fact.type.code,
        _encode(fact.type),
    )
    raise_revision(store)


def _procedure(store: Store, entry: Entry, fact: facts.ProcedureDefined) -> None:
    store.run(
        "INSERT INTO procedure (code, body) VALUES (?, ?)"
        " ON CONFLICT (code) DO UPDATE SET body = excluded.body",
        fact.procedure.code,
        _encode(fact.procedure),
    )


def _place(store: Store, entry: Entry, fact: facts.PlaceAdded) -> None:
    store.run(
        "INSERT INTO place (tag, name, sort) VALUES (?, ?, ?) ON CONFLICT (tag)"
        " DO UPDATE SET name = excluded.name, sort = excluded.sort",
        fact.place,
        fact.name,
        fact.sort,
    )
    raise_revision(store)


def _rule(store: Store, entry: Entry, fact: facts.RuleSet) -> None:
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
    raise_revision(store)


def _reminders(store: Store, entry: Entry, fact: facts.RemindersSet) -> None:
    store.run(
        "INSERT INTO duty_reminder (item, duty, lead_days, escalate_days)"
        " VALUES (?, ?, ?, ?) ON CONFLICT (item, duty) DO UPDATE SET"
        " lead_days = excluded.lead_days, escalate_days = excluded.escalate_days",
        fact.item,
        fact.duty,
        fact.lead_days,
        fact.escalate_days,
    )


# --- items and their tags -------------------------------------------------------------------


def _item(store: Store, entry: Entry, fact: facts.ItemAdded) -> None:
    told = {column: getattr(fact, column) for column in _TOLD}
    _add_item(store, entry, fact.item, fact.type, told)
    for alias in fact.aliases:
        _add_alias(store, alias, fact.item)
    duties_of_type(store, fact.item, fact.type, fact.at, entry.site)


def _pack(store: Store, entry: Entry, fact: facts.Packed) -> None:
    _add_item(store, entry, fact.pack, "pack", {})
    if fact.old:
        _add_alias(store, fact.old, fact.pack)


def _tag(store: Store, entry: Entry, fact: facts.TagReplaced) -> None:
    _add_alias(store, fact.tag, fact.item)


def _add_item(store: Store, entry: Entry, tag: str, kind: str, told: Mapping[str, str]) -> None:
    """A line of the register: every column of its table, "" where nothing was told."""
    given = {"tag": tag, "site": entry.site, "type": kind, "added": micros(entry.fact.at)}
    store.run(
        f"INSERT INTO item ({', '.join(_COLUMNS)}) VALUES ({', '.join('?' * len(_COLUMNS))})"
        " ON CONFLICT (tag) DO NOTHING",
        *(given[column] if column in given else told.get(column, "") for column in _COLUMNS),
    )


def _add_alias(store: Store, alias: str, item: str) -> None:
    store.run(
        "INSERT INTO alias (text, item) VALUES (?, ?)"
        " ON CONFLICT (text) DO UPDATE SET item = excluded.item",
        alias,
        item,
    )


FOLDS: Folds = {
    facts.SiteOpened: _site,
    facts.TypeDefined: _type,
    facts.ProcedureDefined: _procedure,
    facts.PlaceAdded: _place,
    facts.RuleSet: _rule,
    facts.RemindersSet: _reminders,
    facts.ItemAdded: _item,
    facts.Packed: _pack,
    facts.TagReplaced: _tag,
}
"""The kinds of fact that change the register, each with the function that folds it."""
