"""Whether the ledger is as it was written: every seal recomputed, every tail compared."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path

import msgspec

from equip.facts import FIRST, read
from equip.store.database import Store
from equip.store.ledger import ledger
from equip.store.ledger.ledger import Head


@dataclass(frozen=True, slots=True)
class Fault:
    """The first thing that is wrong, and where."""

    site: str
    position: int
    says: str


@dataclass(frozen=True, slots=True)
class KeptHead:
    """A seal that was kept apart from the ledger at some time."""

    site: str
    position: int
    seal: bytes


def verify_chain(store: Store, kept: Iterable[KeptHead] = ()) -> Fault | None:
    """The first fault of any chain, None if every chain is whole.

    Finds a changed body, time or order, a removed entry and a cut tail: by the head, and where
    the head was cut as well, by what the acts say they wrote and any seal that was kept apart.
    """
    known = ledger.heads(store)
    acted = dict(store.rows("SELECT site, MAX(last) FROM act WHERE last IS NOT NULL GROUP BY site"))
    by_site: dict[str, _Kept] = {}
    for head in kept:
        by_site.setdefault(head.site, {}).setdefault(head.position, set()).add(head.seal)
    for site in sorted({*ledger.sites(store), *by_site, *acted}):
        kept_here = by_site.get(site, {})
        kept_here.setdefault(int(acted.get(site, 0)), set())
        fault = _verify_site(store, site, known.get(site), kept_here)
        if fault is not None:
            return fault
    return None


_Kept = dict[int, set[bytes]]


def _verify_site(store: Store, site: str, head: Head | None, kept: _Kept) -> Fault | None:
    previous, position, last_recorded = FIRST, 0, 0
    for _, at, recorded, body, seal in ledger.rows(store, site):
        position += 1
        if at != position:
            says = f"Entry {position} is missing: the next one there is {at}."
            return Fault(site, position, says)
        text = f"{site} {at} {recorded}\n".encode("ascii")
        if sha256(previous + text + body).digest() != seal:
            says = "Its seal does not agree: its text, its time, its place or its seal was changed."
            return Fault(site, position, says)
        if recorded < last_recorded:
            return Fault(site, position, "It says it was written down before the one ahead of it.")
        if kept.get(at, set()) - {seal}:
            says = "Its seal is not the one that was kept apart: the chain was made anew."
            return Fault(site, position, says)
        previous, last_recorded = seal, recorded
        if (unreadable := _unreadable(body)) is not None:
            return Fault(site, position, unreadable)
    return _verify_tail(site, position, previous, head, kept)


def _unreadable(body: bytes) -> str | None:
    try:
        read(body)
    except msgspec.MsgspecError as problem:
        return f"It spells no fact that this version knows: {problem}."
    return None


def _verify_tail(
    site: str, position: int, seal: bytes, head: Head | None, kept: _Kept
) -> Fault | None:
    furthest = max((at for at in kept if at > position), default=None)
    if head is not None and head.position > position:
        furthest = max(furthest or 0, head.position)
    if furthest is not None:
        says = (
            f"The tail is cut: there were entries up to {furthest}, the last one now is {position}."
        )
        return Fault(site, position + 1, says)
    if head is None:
        return Fault(site, position, "The head of this chain is missing.")
    if head.position < position:
        says = f"It was not appended by us: the chain's head says that {head.position} is the last."
        return Fault(site, head.position + 1, says)
    if head.seal != seal:
        return Fault(site, position, "The head of this chain does not agree with its last entry.")
    return None


# --- seals kept apart -------------------------------------------------------------------------


def write_heads(path: Path, heads: Mapping[str, Head], now: datetime) -> None:
    """Add the newest seals to the file that is kept beside the database; it only grows."""
    known = {(head.site, head.position) for head in read_heads(path)}
    fresh = [
        f"{now:%Y-%m-%dT%H:%M:%SZ} {site} {head.position} {head.seal.hex()}\n"
        for site, head in sorted(heads.items())
        if head.position and (site, head.position) not in known
    ]
    if not fresh:
        return
    path.touch(mode=0o600, exist_ok=True)
    with path.open("a", encoding="ascii") as file:
        file.writelines(fresh)


def read_heads(path: Path) -> list[KeptHead]:
    """The seals of such a file; a line that is none is passed over."""
    if not path.is_file():
        return []
    lines = path.read_text("ascii", errors="replace").splitlines()
    return [
        KeptHead(found["site"], int(found["position"]), bytes.fromhex(found["seal"]))
        for line in lines
        if (found := _LINE.fullmatch(line))
    ]


_LINE = re.compile(r"\S+ (?P<site>[A-Z0-9-]+) (?P<position>[1-9][0-9]*) (?P<seal>[0-9a-f]{64})")
