"""What brings duties on: uses, cycles, hours and moves, each kept at its moment.

A duty keeps how many were counted since it was last met, when that reached what it asks for,
and when the thing was moved first. Each follows from the two tables alone, so it does not matter
in which order entries come in.
"""

from collections.abc import Sequence

from equip import facts
from equip.facts import micros
from equip.rules.fitness.standing import Standing
from equip.rules.upkeep.meters import TENTHS, gains
from equip.store.database import Store
from equip.store.ledger.about import told_about

Worked = tuple[str, str, int, int]
"""A thing, of what sort its work was, when (µs), how many; hours and counters in tenths."""

_BROUGHT_ON = ("uses", "cycles", "moves")


def read_meter(store: Store, fact: facts.MeterRead) -> None:
    """Every reading of that meter again: a late one, or a correction, changes its neighbours."""
    told = [
        one.fact
        for one in told_about(store, fact.item)
        if isinstance(one.fact, facts.MeterRead) and one.fact.meter == fact.meter
    ]
    store.run("DELETE FROM worked WHERE item = ? AND sort = ?", fact.item, fact.meter)
    gained = gains(one for one in told if isinstance(one, facts.MeterRead))
    keep_work(store, [(fact.item, fact.meter, micros(one.at), one.tenths) for one in gained])
    count_again(store, fact.item)


def work_in(before: Standing, stands: Standing, fact: facts.Fact) -> list[Worked]:
    """What one fact adds to what a thing has done, a row for each sort."""
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
    """Keep what things have done; what they did in one instant is one row."""
    store.many(
        "INSERT INTO worked (item, sort, at, n) VALUES (?, ?, ?, ?)"
        " ON CONFLICT (item, sort, at) DO UPDATE SET n = worked.n + excluded.n",
        rows,
    )


def forget_work(store: Store, item: str) -> None:
    """What a thing has done, ahead of folding all of it again; its meters are not its own."""
    for sort in _BROUGHT_ON:
        store.run("DELETE FROM worked WHERE item = ? AND sort = ?", item, sort)


def count_again(store: Store, item: str) -> None:
    """How far each duty of a thing has come that something other than a day brings on."""
    for row in store.rows(
        "SELECT duty, counts, every_count, already, since, after_move FROM duty"
        " WHERE item = ? AND (counts <> '' OR after_move IS NOT NULL)",
        item,
    ):
        duty, counts, every_count, already, since, after_move = row
        counted, reached = _counted(store, item, counts, every_count, already, since)
        moved = None if after_move is None else _first_move(store, item, since)
        store.run(
            "UPDATE duty SET counted = ?, reached = ?, moved = ? WHERE item = ? AND duty = ?",
            counted,
            reached,
            moved,
            item,
            duty,
        )


def _counted(
    store: Store, item: str, counts: str, every_count: int, already: int, since: int
) -> tuple[int, int | None]:
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
