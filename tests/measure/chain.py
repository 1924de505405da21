"""Proving a chain whole, against the hashing alone and against reading the rows alone."""

import hashlib
from functools import partial
from typing import Any

from equip.clock import utc_now
from equip.facts import FIRST
from equip.installation import open_installation
from equip.settings.settings import Settings
from equip.store.database import Store
from equip.store.ledger import ledger, verifying
from tests.measure.grown import Grown
from tests.measure.lines import Line, us
from tests.measure.rounds import medians


def measure(grown: Grown, rounds: int) -> list[Line]:
    """`verify --chain` over every entry of *grown*."""
    with open_installation(Settings(data=grown.folder, site="TIMED"), utc_now) as installation:
        store = installation.clinic.store
        hashed = _what_is_hashed(store)
        times = medians(
            {
                "ours": partial(_verify, store),
                "hashing": partial(_hash, hashed),
                "reading": partial(_read, store),
            },
            rounds,
        )
    count = len(hashed)
    each = {name: us(taken / count) for name, taken in times.items()}
    return [
        Line(
            f"{count:,} entries, against one SHA-256 each from memory",
            times["ours"] / times["hashing"],
            None,
            f"{each['ours']} against {each['hashing']} an entry",
        ),
        Line(
            f"{count:,} entries, against reading the rows alone",
            times["ours"] / times["reading"],
            None,
            f"{each['ours']} against {each['reading']} an entry",
        ),
    ]


def _verify(store: Store) -> None:
    fault = verifying.verify_chain(store)
    if fault is not None:
        raise RuntimeError(f"The chain that was just made is broken: {fault.says}")


def _what_is_hashed(store: Store) -> list[bytes]:
    """The very bytes that each seal is made over."""
    every, previous = [], FIRST
    for site, position, recorded, body, seal in ledger.rows(store, "TIMED"):
        every.append(previous + f"{site} {position} {recorded}\n".encode("ascii") + body)
        previous = seal
    return every


def _hash(texts: list[bytes]) -> None:
    for text in texts:
        hashlib.sha256(text).digest()


def _read(store: Store) -> None:
    sql = "SELECT site, position, recorded_at, body, seal FROM ledger ORDER BY site, position"
    db: Any = store.db
    for _ in db.connection().execute(sql):
        pass
