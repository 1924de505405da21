"""Entries as they stand in the ledger, byte for byte, for whoever takes some of them away."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from equip.facts import FIRST
from equip.store.database import Store
from equip.store.ledger import ledger

_CHUNK = 5_000


@dataclass(frozen=True, slots=True)
class SealedEntry:
    """One entry as it is sealed: the exact bytes of its body, the seal before it."""

    site: str
    position: int
    recorded_at: int
    body: bytes
    seal: bytes
    previous: bytes


def lines(store: Store, paths: Iterable[str]) -> Iterator[SealedEntry]:
    """The entries at *paths* (site/position), site by site, in order; LookupError for a hole."""
    wanted = {(site, int(position)) for site, position in (path.split("/") for path in paths)}
    for site, position in sorted(wanted):
        found = {row[1]: row for row in ledger.rows(store, site, position - 1, position)}
        if position not in found or (position > 1 and position - 1 not in found):
            raise LookupError(f"The ledger of {site} has a hole at {position}: ask `verify`.")
        _, _, recorded, body, seal = found[position]
        before = found[position - 1][4] if position > 1 else FIRST
        yield SealedEntry(site, position, recorded, body, seal, before)


def seals(store: Store, site: str, last: int) -> Iterator[bytes]:
    """Every seal of a site up to *last*, in order, in flat memory."""
    after = 0
    while rows := store.rows(
        "SELECT position, seal FROM ledger WHERE site = ? AND position > ? AND position <= ?"
        f" ORDER BY position LIMIT {_CHUNK}",
        site,
        after,
        last,
    ):
        for _, seal in rows:
            yield ledger.as_bytes(seal)
        after = rows[-1][0]
