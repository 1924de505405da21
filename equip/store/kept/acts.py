"""Acts as they were answered: kept beside the ledger, so that the same id answers the same."""

from datetime import datetime

from equip.facts import micros
from equip.store.database import Store


def keep_act(
    store: Store,
    act: str,
    site: str,
    at: datetime,
    *,
    bench: str | None,
    seq: int | None,
    payload_hash: bytes,
    reading: str,
    answer: str,
    context: str,
    wrote: tuple[int, int] | None,
) -> None:
    """The row of one act; *wrote* are the first and last position of its entries, None if none."""
    first, last = wrote or (None, None)
    store.run(
        "INSERT INTO act (id, site, bench, seq, at, payload_hash, reading, answer, context,"
        " first, last) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        act,
        site,
        bench,
        seq,
        micros(at),
        payload_hash,
        reading,
        answer,
        context,
        first,
        last,
    )
