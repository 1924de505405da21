"""The clinic: sites, types, procedures, places, and what it decided about rules."""

from dataclasses import dataclass
from datetime import date

import msgspec

from equip.facts import ItemType, Procedure
from equip.store.database import Store
from equip.store.fold.items import type_from


@dataclass(frozen=True, slots=True)
class SiteRow:
    code: str
    name: str
    zone: str
    book: str


@dataclass(frozen=True, slots=True)
class PlaceRow:
    tag: str
    name: str
    sort: str


@dataclass(frozen=True, slots=True)
class OverrideRow:
    rule: str
    value: str
    reason: str
    since: date
    who: str


def sites(store: Store) -> list[SiteRow]:
    return [
        SiteRow(*row) for row in store.rows("SELECT code, name, zone, book FROM site ORDER BY code")
    ]


def types(store: Store) -> dict[str, ItemType]:
    rows = store.rows("SELECT code, body FROM itemtype ORDER BY code")
    return {code: type_from(bytes(body)) for code, body in rows}


def procedures(store: Store) -> list[Procedure]:
    """Every kind of procedure that was ever defined, by name."""
    rows = store.rows("SELECT body FROM procedure ORDER BY code")
    found = (_procedure_from(bytes(body)) for (body,) in rows)
    return sorted(found, key=lambda procedure: (procedure.name.casefold(), procedure.code))


_procedure_from = msgspec.json.Decoder(Procedure).decode


def places(store: Store) -> dict[str, PlaceRow]:
    rows = store.rows("SELECT tag, name, sort FROM place ORDER BY tag")
    return {row[0]: PlaceRow(*row) for row in rows}


def overrides(store: Store) -> list[OverrideRow]:
    rows = store.rows(
        "SELECT rule, value, reason, since, who FROM rule_override ORDER BY site, position"
    )
    return [OverrideRow(r[0], r[1], r[2], date.fromisoformat(r[3]), r[4]) for r in rows]
