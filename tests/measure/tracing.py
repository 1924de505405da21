"""What a question of exposure costs: `python -m tests.measure.tracing`, by itself.

The rows of who met whom are written straight into their table, in the form that the fold gives
them, without a ledger behind them: questions read those rows alone. That the form is the fold's is
not checked here. The floors are one plain pass in memory over the same rows, and a graph walked by
networkx, which knows nothing of certainty, shares or paths. USES sets the size, FULL=1 adds ten
times that; at more than 200,000 uses the floors run over one clinic and are multiplied.
"""

import os
import resource
import sys
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import Any

import networkx as nx

from equip.clock import utc_now
from equip.desk import tracing
from equip.desk.clinic import Clinic
from equip.desk.tracing import Scope
from equip.facts import micros, moment
from equip.house import open_house
from equip.rules.exposure import sweep
from equip.settings import Settings
from equip.store.contacts import Changed, Contacts
from equip.store.database import Store
from equip.store.exposures import refresh, tallies
from tests.measure.decade import CLINICS, clinic_lines
from tests.measure.lines import ms

_ROW = (
    "INSERT INTO touch (item, sort, ref, at, site, position, what, patient, gate, why_not,"
    " whole, short, state, contents, doubt, gap)"
    " VALUES (?, ?, ?, ?, 'TIMED', ?, ?, ?, '', ?, ?, 0, ?, 0, 0, 0)"
)
_STATES = {"pass": "proven", "": "open", "fail": "void"}
_TURNS = 5

Row = tuple[Any, ...]


def main() -> int:
    """Measure at one million uses (USES to change it; FULL=1 for ten million as well)."""
    sizes = [int(os.environ.get("USES", "1000000"))]
    if os.environ.get("FULL"):
        sizes.append(10 * sizes[0])
    urls = ["", *filter(None, [os.environ.get("EQUIP_TEST_POSTGRES", "")])]
    for url in urls:
        for uses in sizes:
            with TemporaryDirectory(prefix="tracing-") as folder:
                _measure(Path(folder), uses, url)
    return 0


def _measure(folder: Path, uses: int, url: str) -> None:
    settings = Settings(data=folder, site="TIMED", **({"database": url} if url else {}))
    print(f"\n{uses:,} uses on {'PostgreSQL' if url else 'SQLite'}", flush=True)
    with open_house(settings, utc_now) as house:
        clinic, store = house.clinic, house.clinic.store
        start = perf_counter()
        items = _fill(store, uses)
        _say("rows written", perf_counter() - start)
        start = perf_counter()
        _tell_all(store, items)
        _say("the invariant from nothing", perf_counter() - start)
        print(f"  tallies {tallies(store)}")
        item, load, at, patient = _somewhere(store)
        day = moment(at)
        ours = {
            "one load": lambda: tracing.look_back(clinic, Scope(loads=(load,))),
            "one machine over a month": partial(_month, clinic, day),
            "a source patient": lambda: tracing.look_back(clinic, Scope(patient=patient)),
            "the invariant after one more fact": partial(_one_more, store, item),
        }
        for what, work in ours.items():
            _say(what, _median(work))
        print(f"  peak memory {_peak_mib():,.0f} MiB, before the floors")
        _floors(store, uses)


def _fill(store: Store, uses: int) -> set[str]:
    items: set[str] = set()
    position = 0
    for clinic in range(CLINICS):
        rows = []
        for line in clinic_lines(clinic, uses // CLINICS):
            position += 1
            rows.append(_row(line, position))
            items.add(rows[-1][0])
        with store.writing():
            for first in range(0, len(rows), 20_000):
                store.many(_ROW, rows[first : first + 20_000])
    store.run("ANALYZE")
    return items


def _row(line: tuple[str, ...], position: int) -> Row:
    when, what, item, patient, load, _, _, result, *_ = line
    at = micros(datetime.fromisoformat(when))
    if what == "use":
        why_not = "no load or step that passed and was released stands before it"
        return item, "use", f"{patient} {when}", at, position, "used", patient, why_not, 0, ""
    return item, "gate", load, at, position, "", "", "", 3, _STATES[result]


def _tell_all(store: Store, items: set[str]) -> None:
    for item in sorted(items):
        changed = Changed(since={item: 0}, until={item: 2**61}, refolded={item})
        with store.writing():
            refresh(store, changed)


def _one_more(store: Store, item: str) -> None:
    """One more use of *item*, and the invariant brought up to date."""
    row = store.one("SELECT MAX(at) FROM touch WHERE item = ?", item) or (0,)
    at = int(row[0]) + 60_000_000
    with store.writing():
        store.run(_ROW, item, "use", f"more {at}", at, 1, "used", "DEMO-more", "", 0, "")
        refresh(store, Changed(since={item: at}, until={item: at}, uses=1))


def _month(clinic: Clinic, day: datetime) -> None:
    """Half the loads of a clinic within a month: those of one of its two machines."""
    since, until = micros(day), micros(day + timedelta(days=30))
    rows = clinic.store.rows(
        "SELECT DISTINCT ref FROM touch WHERE sort = 'gate' AND item >= 'C07' AND item < 'C08'"
        " AND at >= ? AND at < ?",
        since,
        until,
    )
    loads = [ref for (ref,) in rows if int(ref[-6:]) % 2 == 0]
    tracing.look_back(clinic, Scope(loads=tuple(loads)))


def _somewhere(store: Store) -> tuple[str, str, int, str]:
    """An item in the middle of the history, a load of it, its time, and a patient."""
    rows = store.rows("SELECT ref, at FROM touch WHERE item = 'C07 T03' AND sort = 'gate'")
    load, at = sorted(rows, key=lambda row: row[1])[len(rows) // 2]
    row = store.one(
        "SELECT patient FROM touch WHERE item = 'C07 T03' AND at < ? AND sort = 'use'"
        " ORDER BY at DESC LIMIT 1",
        at,
    ) or ("",)
    return "C07 T03", load, at, str(row[0])


def _floors(store: Store, uses: int) -> None:
    """One pass over everything in memory, and the same by a graph; of one clinic if there is much
    (both grow with the rows, so the figure is multiplied and said to be)."""
    part = 1 if uses <= 200_000 else CLINICS
    which = "" if part == 1 else " WHERE item >= 'C07' AND item < 'C08'"
    history = Contacts(store)
    items = [row[0] for row in store.rows(f"SELECT DISTINCT item FROM touch{which}")]
    told = sorted(contact for item in items for contact in history.of(item))
    said = "" if part == 1 else f", one clinic × {part}"
    _say(
        f"floor: a plain pass in memory{said}", part * _median(lambda: sum(1 for _ in sweep(told)))
    )
    _say(f"floor: networkx over all{said}", part * _median(partial(_by_graph, told)))


def _by_graph(told: list[Any]) -> int:
    """Each contact to the next of its item unless a gate clears; who is reached from each use."""
    graph, last = nx.DiGraph(), {}
    for number, one in enumerate(told):
        clears = one.effect == "clears"
        if one.item in last and not clears:
            graph.add_edge(last[one.item], number)
        if clears:
            last.pop(one.item, None)
        else:
            last[one.item] = number
            graph.add_node(number)
    return sum(
        told[reached].patient != told[number].patient
        for number in graph
        if told[number].what == "use"
        for reached in nx.descendants(graph, number)
        if told[reached].what == "use"
    )


def _median(work: Callable[[], object]) -> float:
    return median(_timed(work) for _ in range(_TURNS))


def _timed(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start


def _peak_mib() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _say(what: str, seconds: float) -> None:
    print(f"  {what:<50}{ms(seconds):>12}", flush=True)


if __name__ == "__main__":
    sys.exit(main())
