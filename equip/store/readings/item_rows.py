"""Items on the register: where each stands, what is kept of it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from functools import partial, reduce
from typing import Any

import msgspec

from equip.facts import micros
from equip.rules.fitness.standing import (
    Done,
    Standing,
    after,
    contents_waiting,
    doubted,
    settled,
)
from equip.store.database import Store, in_chunks
from equip.store.fold.items import standing_from
from equip.store.ledger.about import told_about
from equip.store.readings.open_cases import open_cases


@dataclass(frozen=True, slots=True)
class ItemRow:
    """What the register keeps of an item, a column each; packs have a tag and a type alone."""

    tag: str
    type: str
    name: str = ""
    serial: str = ""


_ITEM = f"SELECT {', '.join(column.name for column in fields(ItemRow))} FROM item"


def standing_of(store: Store, item: str) -> Standing | None:
    found = _known(store, store.rows("SELECT state FROM standing WHERE item = ?", item))
    return found[0] if found else None


def standings(store: Store, only: Sequence[str] | None = None) -> list[Standing]:
    """Where everything stands that is not retired, or where those named stand."""
    if only is None:
        rows = store.rows("SELECT state FROM standing WHERE whereabouts <> 'retired' ORDER BY item")
        return _known(store, rows)
    return standings_at(store, only, None)


def standings_at(store: Store, items: Sequence[str], at: datetime | None) -> list[Standing]:
    """Where those named stand, or stood at *at* by all that is known today.

    One of which nothing was told by then stands as it does now: a pack holds what it holds.
    """
    rows = (store.one("SELECT state FROM standing WHERE item = ?", item) for item in items)
    now = map(_state, filter(None, rows))
    return _as_known(store, now if at is None else (_then(store, one, at) for one in now))


def _then(store: Store, now: Standing, at: datetime) -> Standing:
    if now.at is None or now.at <= at:
        return now
    told = settled([entry.fact for entry in told_about(store, now.item)])
    by_then = (fact for _, fact in told if fact.at <= at)
    stood = reduce(after, by_then, Standing(item=now.item))
    return now if stood.at is None else stood


def standings_of_type(store: Store, code: str, most: int = 2**31) -> list[Standing]:
    """Where items of one type stand that are here and not kept back."""
    rows = store.rows(
        "SELECT state FROM standing WHERE type = ? AND whereabouts = 'here' AND held = 0"
        " ORDER BY item LIMIT ?",
        code,
        most,
    )
    return _known(store, rows)


def all_of_type(store: Store, code: str) -> list[Standing]:
    """Where items of one type stand that are not retired."""
    rows = store.rows(
        "SELECT state FROM standing WHERE type = ? AND whereabouts <> 'retired' ORDER BY item", code
    )
    return _known(store, rows)


def standings_held(store: Store) -> list[Standing]:
    """Where everything stands that is kept back."""
    rows = store.rows("SELECT state FROM standing WHERE held > 0 ORDER BY item")
    return _known(store, rows)


def _known(store: Store, rows: Iterable[Sequence[Any]]) -> list[Standing]:
    """Where items stand by their own facts and by what is known of the loads behind them.

    Every page, list and act reads it here, so that each of them knows what a look-back holds in
    doubt, and whether the load counts that a pack's untagged contents came out of.
    """
    return _as_known(store, map(_state, rows))


def _state(row: Sequence[Any]) -> Standing:
    return standing_from(bytes(row[0]))


def _as_known(store: Store, those: Iterable[Standing]) -> list[Standing]:
    in_doubt, cases = _in_doubt(store), open_cases(store)
    found = []
    for standing in those:
        if in_doubt and (standing.done or standing.served):
            standing = doubted(standing, partial(_is_in_doubt, in_doubt, standing.item))
        if standing.out_of:
            standing = contents_waiting(standing, *_load_known(store, standing.out_of, in_doubt))
        if case := next((one.case for one in cases if one.holds(standing)), ""):
            standing = msgspec.structs.replace(standing, in_case=case)
        found.append(standing)
    return found


def _in_doubt(store: Store) -> set[tuple[str, str | int]]:
    """What open look-backs hold in doubt: (item or "", load), and (item, end) of steps by hand."""
    found: set[tuple[str, str | int]] = set()
    for item, ref, of, at in store.rows(
        "SELECT d.item, d.ref, t.item, t.at FROM in_doubt d LEFT JOIN touch t ON t.ref = d.ref"
        " AND t.sort = 'gate' AND t.item = d.item AND d.item <> ''"
    ):
        found.add((item, ref))
        if of is not None:
            found.add((of, int(at)))
    return found


def _is_in_doubt(in_doubt: set[tuple[str, str | int]], item: str, done: Done) -> bool:
    if done.load:
        return ("", done.load) in in_doubt or (item, done.load) in in_doubt
    return (item, micros(done.wet_until)) in in_doubt


def _load_known(
    store: Store, load: str, in_doubt: set[tuple[str, str | int]]
) -> tuple[str, str, bool]:
    """What a load waits for, its verdict, and whether a look-back holds it in doubt."""
    stage, verdict = store.one("SELECT stage, verdict FROM load WHERE tag = ?", load) or ("", "")
    return str(stage), str(verdict), ("", load) in in_doubt


def item_row(store: Store, tag: str) -> ItemRow | None:
    row = store.one(f"{_ITEM} WHERE tag = ?", tag)
    return None if row is None else ItemRow(*row)


def types_of(store: Store, tags: Sequence[str]) -> dict[str, str]:
    """The type's code of each of *tags* that is on the register."""
    found: dict[str, str] = {}
    for some in in_chunks(tags):
        marks = ", ".join("?" * len(some))
        rows = store.rows(f"SELECT tag, type FROM item WHERE tag IN ({marks})", *some)
        found.update((str(tag), str(code)) for tag, code in rows)
    return found


def items(store: Store) -> list[ItemRow]:
    """Everything on the register but packs, which come and go."""
    return [ItemRow(*row) for row in store.rows(f"{_ITEM} WHERE type <> 'pack' ORDER BY tag")]


def aliased(store: Store, text: str) -> str | None:
    row = store.one("SELECT item FROM alias WHERE text = ?", text)
    return None if row is None else str(row[0])


def aliases_of(store: Store, item: str) -> list[str]:
    return [r[0] for r in store.rows("SELECT text FROM alias WHERE item = ? ORDER BY text", item)]


def sites_of_things(store: Store) -> dict[str, str]:
    """The site of each item that has a duty."""
    rows = store.rows(
        "SELECT i.tag, i.site FROM item i WHERE EXISTS (SELECT 1 FROM duty d WHERE d.item = i.tag)"
    )
    return dict(rows)
