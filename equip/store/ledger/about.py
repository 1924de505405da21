"""What the ledger says about one subject: an item, a load, a patient token, a person, a use."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from equip.facts import micros
from equip.store.database import Store
from equip.store.ledger.ledger import Entry, entry_from

_TOLD = (
    "SELECT l.site, l.position, l.recorded_at, l.body, l.seal FROM about a"
    " JOIN ledger l ON l.site = a.site AND l.position = a.position WHERE a.subject = ?"
)


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in the logbook of a subject: when it happened (µs), and the entry."""

    at: int
    site: str
    position: int


def told_about(store: Store, subject: str) -> list[Entry]:
    """Everything the ledger says about *subject*, oldest happening first."""
    rows = store.rows(f"{_TOLD} ORDER BY a.at, a.site, a.position", subject)
    return [entry_from(row) for row in rows]


def newest_about(store: Store, subject: str, most: int, before: Spot | None = None) -> list[Entry]:
    """The newest *most* entries about *subject* ahead of *before*, oldest happening first."""
    edge = before or Spot(2**62, "", 0)
    rows = store.rows(
        f"{_TOLD} AND (a.at, a.site, a.position) < (?, ?, ?)"
        " ORDER BY a.at DESC, a.site DESC, a.position DESC LIMIT ?",
        subject,
        edge.at,
        edge.site,
        edge.position,
        most,
    )
    return [entry_from(row) for row in reversed(rows)]


def told_between(store: Store, subject: str, after: datetime, before: datetime) -> list[Entry]:
    """What happened to *subject* between two moments, neither included, oldest first."""
    rows = store.rows(
        f"{_TOLD} AND a.at > ? AND a.at < ? ORDER BY a.at, a.site, a.position",
        subject,
        micros(after),
        micros(before),
    )
    return [entry_from(row) for row in rows]


def withdrawn(store: Store, acts: Iterable[str]) -> set[str]:
    """Those of *acts* that were taken back."""
    return {
        act
        for act in set(acts)
        if store.one("SELECT 1 FROM withdrawn WHERE act = ?", act) is not None
    }


def in_time(entry: Entry) -> tuple[datetime, str, int]:
    """The order of the logbook: when it happened, then where it stands."""
    return entry.fact.at, entry.site, entry.position
