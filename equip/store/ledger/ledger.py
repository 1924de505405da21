"""Append and read facts; no update, no delete. The seals chain each site's entries."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from equip.facts import FIRST, Fact, canonical, micros, moment, read, seal
from equip.store.database import Store

_SITE = re.compile(r"[A-Z0-9-]{1,16}")
_CHUNK = 2_000


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the ledger: a fact, its place, when it was written down, its seal."""

    site: str
    position: int
    recorded_at: datetime
    fact: Fact
    seal: bytes

    @property
    def path(self) -> str:
        return f"{self.site}/{self.position}"


@dataclass(frozen=True, slots=True)
class Head:
    """The newest entry of a site's chain."""

    position: int
    seal: bytes


def lock(store: Store, sites: Sequence[str]) -> None:
    """Lock the heads of *sites*, in the order of their names so that two acts never cross.

    On SQLite the transaction has the only write lock already.
    """
    for site in sorted(set(sites)):
        _check_site(site)
        if store.is_postgres:
            store.run(_FIRST_HEAD, site, FIRST)
            store.one("SELECT position FROM head WHERE site = ? FOR UPDATE", site)


_FIRST_HEAD = "INSERT INTO head (site, position, seal) VALUES (?, 0, ?) ON CONFLICT DO NOTHING"


def append(store: Store, site: str, facts: Sequence[Fact], now: datetime) -> list[Entry]:
    """Write *facts* at the end of the site's chain, all or none. Inside `store.writing`.

    The time of writing never runs backwards within a site. A fact that could not be read again is
    refused by `msgspec.ValidationError`: what is in the ledger stays there.
    """
    if not store.in_writing:
        raise RuntimeError("a fact is appended inside a transaction")
    lock(store, [site])
    position, previous, last_recorded = store.one(_LAST, site) or (0, FIRST, None)
    previous, recorded = bytes(previous), max(micros(now), last_recorded or 0)
    written = moment(recorded)
    entries, rows = [], []
    for fact in facts:
        position += 1
        body = canonical(fact)
        read(body)
        previous = seal(previous, site, position, recorded, body)
        rows.append((site, position, recorded, body, previous))
        entries.append(Entry(site, position, written, fact, previous))
    store.many(_INSERT, rows)
    store.run(
        "INSERT INTO head (site, position, seal) VALUES (?, ?, ?) ON CONFLICT (site)"
        " DO UPDATE SET position = excluded.position, seal = excluded.seal",
        site,
        position,
        previous,
    )
    return entries


_LAST = (
    "SELECT h.position, h.seal, l.recorded_at FROM head h LEFT JOIN ledger l"
    " ON l.site = h.site AND l.position = h.position WHERE h.site = ?"
)
_INSERT = "INSERT INTO ledger (site, position, recorded_at, body, seal) VALUES (?, ?, ?, ?, ?)"
_SELECT = "SELECT site, position, recorded_at, body, seal FROM ledger"


def entry(store: Store, site: str, position: int) -> Entry | None:
    row = store.one(f"{_SELECT} WHERE site = ? AND position = ?", site, position)
    return None if row is None else entry_from(row)


def entries(store: Store, site: str, first: int = 1, last: int | None = None) -> Iterator[Entry]:
    """The site's entries from *first* to *last*, both included, in order, in flat memory."""
    for row in rows(store, site, first, last):
        yield entry_from(row)


def rows(
    store: Store, site: str, first: int = 1, last: int | None = None
) -> Iterator[tuple[str, int, int, bytes, bytes]]:
    """The same as bare rows: site, position, recorded at in µs, body, seal."""
    after, end = first - 1, 2**62 if last is None else last
    while chunk := store.rows(
        f"{_SELECT} WHERE site = ? AND position > ? AND position <= ? ORDER BY position LIMIT ?",
        site,
        after,
        end,
        _CHUNK,
    ):
        for row in chunk:
            yield row[0], row[1], row[2], as_bytes(row[3]), as_bytes(row[4])
        after = chunk[-1][1]


def everything(store: Store) -> Iterator[Entry]:
    """Every entry of every site, site by site, in flat memory."""
    for site in sites(store):
        yield from entries(store, site)


def sites(store: Store) -> list[str]:
    """Every site that has a head or an entry."""
    found = store.rows("SELECT site FROM head UNION SELECT DISTINCT site FROM ledger")
    return sorted(row[0] for row in found)  # in one order, whatever the database's language


def heads(store: Store) -> dict[str, Head]:
    return {
        site: Head(position, as_bytes(found))
        for site, position, found in store.rows(
            "SELECT site, position, seal FROM head ORDER BY site"
        )
    }


def entry_from(row: Sequence[Any]) -> Entry:
    """The entry of a row: site, position, recorded at in µs, body, seal."""
    site, position, recorded, body, found = row
    return Entry(site, position, moment(recorded), read(as_bytes(body)), as_bytes(found))


def as_bytes(cell: object) -> bytes:
    """A cell's bytes, also where somebody wrote text or a number in it, as SQLite lets them."""
    if isinstance(cell, bytes):
        return cell
    return bytes(cell) if isinstance(cell, memoryview) else str(cell).encode()


def _check_site(site: str) -> None:
    if not _SITE.fullmatch(site):
        raise ValueError(f"“{site}” is no site code: capitals, digits and hyphens, at most 16.")
