"""What brings duties on: uses, cycles, hours and moves, each kept at its moment.

A duty keeps how many were counted since it was last met, when that reached what it asks for,
and when the item was moved first. Each follows from the two tables alone, so it does not matter
in which order entries come in.
"""

from collections.abc import Sequence

import msgspec

from equip import facts
from equip.facts import DutyTerms, micros
from equip.rules.fitness.standing import Standing
from equip.rules.upkeep.due import Duty, SoFar
from equip.rules.upkeep.meters import TENTHS, gains
from equip.store.database import Store
from equip.store.ledger.about import told_about

Worked = tuple[str, str, int, int]
"""An item, of what sort its work was, when (µs), how many; hours and counters in tenths."""

duty_from = msgspec.json.Decoder(Duty).decode
encode = msgspec.json.Encoder(order="sorted").encode

BROUGHT_ON = ("uses", "cycles", "moves")
"""The sorts of work that follow from an item's own facts; its meters are read apart."""


def read_meter(store: Store, fact: facts.MeterRead) -> None:
    """Every reading of that meter again: a late one, or a correction, changes its neighbours."""
    told = (entry.fact for entry in told_about(store, fact.item))
    readings = [read for read in told if isinstance(read, facts.MeterRead)]
    gained = gains(read for read in readings if read.meter == fact.meter)
    store.run("DELETE FROM worked WHERE item = ? AND sort = ?", fact.item, fact.meter)
    keep_work(store, [(fact.item, fact.meter, micros(gain.at), gain.tenths) for gain in gained])
    count_again(store, fact.item)


def work_in(before: Standing, stands: Standing, fact: facts.Fact) -> list[Worked]:
    """What one fact adds to what an item has done, a row for each sort."""
    moves = int(_moved(before, stands, fact))
    uses, cycles = stands.uses - before.uses, stands.cycles - before.cycles
    if not (uses or cycles or moves):
        return []
    found = (("uses", uses), ("cycles", cycles), ("moves", moves))
    return [(stands.item, sort, micros(fact.at), n) for sort, n in found if n]


def _moved(before: Standing, stands: Standing, fact: facts.Fact) -> bool:
    """It came back from outside; or a machine stands in another place than before."""
    if isinstance(fact, facts.Arrived):
        return True
    if stands.item[0] != "D" or not isinstance(fact, facts.Placed):
        return False
    return bool(before.place) and before.place != stands.place


def keep_work(store: Store, rows: Sequence[Worked]) -> None:
    """Keep what items have done; what they did in one instant is one row."""
    store.many(
        "INSERT INTO worked (item, sort, at, n) VALUES (?, ?, ?, ?)"
        " ON CONFLICT (item, sort, at) DO UPDATE SET n = worked.n + excluded.n",
        rows,
    )


def forget_work(store: Store, item: str) -> None:
    """What an item has done, ahead of folding all of it again; its meters are not its own."""
    for sort in BROUGHT_ON:
        store.run("DELETE FROM worked WHERE item = ? AND sort = ?", item, sort)


def count_again(store: Store, item: str) -> None:
    """How far each duty of an item has come that watches what is done with it."""
    for name, goes_by, since in store.rows(
        "SELECT duty, goes_by, since FROM duty WHERE item = ? AND watches = 1", item
    ):
        so_far = _so_far(store, item, duty_from(bytes(goes_by)).terms, since)
        store.run(
            "UPDATE duty SET so_far = ?, early = ? WHERE item = ? AND duty = ?",
            encode(so_far),
            so_far.early,
            item,
            name,
        )


def _so_far(store: Store, item: str, terms: DutyTerms, since: int) -> SoFar:
    """What an item did after *since*, as far as these terms ask for it."""
    counted, reached = _counted(store, item, terms, since)
    moved = None if terms.after_move_days is None else _first_move(store, item, since)
    return SoFar(counted, reached, moved)


def _counted(store: Store, item: str, terms: DutyTerms, since: int) -> tuple[int, int | None]:
    """How many were counted, and when that reached what the duty falls due at."""
    counts, every_count, already = terms.counts, terms.every_count, terms.already
    if not counts:
        return 0, None
    unit = TENTHS if counts in ("hours", "counter") else 1
    worked = "FROM worked WHERE item = ? AND sort = ? AND at > ?"
    row = store.one(f"SELECT COALESCE(SUM(n), 0) {worked}", item, counts, since)
    counted = already + (int(row[0]) if row else 0) // unit
    if counted < every_count:
        return counted, None
    left = (every_count - already) * unit
    if left <= 0:
        return counted, since
    row = store.one(
        "SELECT MIN(at) FROM (SELECT at, SUM(n) OVER (ORDER BY at) AS total"
        f" {worked}) AS so_far WHERE total >= ?",
        item,
        counts,
        since,
        left,
    )
    return counted, None if row is None else row[0]


def _first_move(store: Store, item: str, since: int) -> int | None:
    row = store.one(
        "SELECT MIN(at) FROM worked WHERE item = ? AND sort = 'moves' AND at > ?", item, since
    )
    return None if row is None else row[0]
