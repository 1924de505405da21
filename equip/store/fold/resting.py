"""What gates rest on: whether the loads behind a decontamination count, looked at anew.

A gate that rests on a load holds for as long as that load counts for its item: when it is judged,
released, rejected, or held in doubt, every gate behind it is seen again.
"""

from collections.abc import Iterable
from functools import partial

from equip.rules.lookback.hazards import holds, stops_usual
from equip.store.database import Store
from equip.store.fold.changed import Changed


def set_stops(
    store: Store, item: str, ref: str, whole: int, stops: int, changed: Changed, at: int
) -> None:
    """A gate stops *whole* now, of all that it could (*stops*), both as bits."""
    changed.at(item, int(at))
    store.run(
        "UPDATE touch SET whole = ?, short = ? WHERE item = ? AND sort = 'gate' AND ref = ?",
        whole,
        stops - whole,
        item,
        ref,
    )


def rest_again(store: Store, item: str, load: str, changed: Changed) -> None:
    """Whether *load* counts has changed: see anew which gates of *item* that rest on it hold."""
    for ref, at, whole, short, rests in store.rows(
        "SELECT ref, at, whole, short, rests FROM touch"
        " WHERE item = ? AND sort = 'gate' AND rests LIKE ? ORDER BY at, ref",
        item,
        f"%{load}%",
    ):
        stops = int(whole) | int(short)
        now = stops if holds(rests, partial(counts_for, store, item)) else 0
        if now != whole:
            set_stops(store, item, ref, now, stops, changed, at)


def packs_rest_again(store: Store, loads: Iterable[str], changed: Changed) -> None:
    """The same for packs of untagged contents that came out of *loads*."""
    for load in loads:
        packs = "SELECT item FROM touch WHERE ref = ? AND sort = 'made' ORDER BY item"
        for (pack,) in store.rows(packs, load):
            rest_again(store, pack, load, changed)


def counts_for(store: Store, item: str, load: str, must_stop: bool, but: int = 0) -> bool:
    """Whether a load counts for *item* that later steps rest on; *but* so many cases of doubt.

    *must_stop*: only if it stops the usual hazard, for it is there to.
    """
    row = store.one(
        "SELECT state, doubt, whole, short FROM touch WHERE item = ? AND sort = 'gate' AND ref = ?",
        item,
        load,
    )
    if row is None:
        return load_counts(store, load, but)
    enough = not must_stop or stops_usual(int(row[2]) | int(row[3]))
    return row[0] == "proven" and row[1] <= but and enough


def load_counts(store: Store, load: str, but: int = 0) -> bool:
    """Whether a load as a whole was released and is in no doubt.

    Of what was brought in from the time before this book earlier steps are taken as done.
    """
    row = store.one("SELECT stage FROM load WHERE tag = ?", load)
    if row is None or row[0] != "released":
        return row is not None and row[0] == "past"
    doubts = store.one("SELECT COUNT(*) FROM in_doubt WHERE ref = ? AND item = ''", load)
    return doubts is None or int(doubts[0]) <= but


def is_past(store: Store, load: str) -> bool:
    return store.one("SELECT 1 FROM load WHERE tag = ? AND stage = 'past'", load) is not None


def doubts(store: Store, item: str, ref: str, changed: Changed) -> int:
    """How many cases hold this gate in doubt; that none holds anything is asked once."""
    if changed.doubts is None:
        changed.doubts = store.one("SELECT 1 FROM in_doubt LIMIT 1") is not None
    if not changed.doubts:
        return 0
    row = store.one("SELECT COUNT(*) FROM in_doubt WHERE ref = ? AND item IN ('', ?)", ref, item)
    return 0 if row is None else int(row[0])
