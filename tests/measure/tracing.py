"""What a question of exposure costs: `python -m tests.measure.tracing`, by itself.

The rows of who met whom are written straight into their table, in the form that the fold gives
them, without a ledger behind them: questions read those rows alone. That the form is the fold's
is not checked here; `tests/desk/lookback/test_exposure_answers.py` checks it. The floors are one
plain pass in memory over the same rows, and a graph walked by networkx, which knows nothing of
certainty, shares or paths. USES sets the size, FULL=1 adds ten times that; at more than 200,000
uses the floors run over one clinic and are multiplied.
"""

import os
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
from equip.desk.clinic import Clinic
from equip.desk.lookback import exposure_answer
from equip.desk.lookback.exposure_answer import Scope
from equip.facts import micros, moment
from equip.installation import open_installation
from equip.rules.lookback.sweep import sweep
from equip.settings.settings import Settings
from equip.store.database import Store
from equip.store.fold.changed import Changed
from equip.store.fold.exposures import refresh
from equip.store.fold.met import Contacts
from tests.measure import databases
from tests.measure.decade import CLINICS, clinic_lines
from tests.measure.lines import Line, ms, show
from tests.measure.reading import highest
from tests.measure.sizes import size

_ROW = (
    "INSERT INTO touch (item, sort, ref, at, site, position, what, patient, gate, why_not,"
    " whole, short, state, contents, doubt, rests, gap)"
    " VALUES (?, ?, ?, ?, 'TIMED', ?, ?, ?, '', ?, ?, 0, ?, 0, 0, '', 0)"
)
_STATES = {"pass": "proven", "": "open", "fail": "void"}
_TURNS, _MORE_TURNS, _LONG = size(5, 1), size(25, 1), 1.0
"""How often a question is asked, and how often one whose turns take less than a second in all."""
_FLOORS_WHOLE = 200_000

Row = tuple[Any, ...]


def main() -> int:
    """Measure at a tenth of a million uses and at one (USES to change it; FULL=1 for ten too)."""
    most = int(os.environ.get("USES", size(1_000_000, 1_600)))
    sizes = [most // 10, most] + ([10 * most] if os.environ.get("FULL") else [])
    for name, server in databases.servers().items():
        before = None
        for uses in sizes:
            with TemporaryDirectory(prefix="tracing-") as folder, databases.empty(server) as url:
                times = _measure(Path(folder), uses, url)
            show(f"{uses:,} uses of ten years on {name}", _lines(times, before, uses, most))
            before = times
    return 0


def _lines(
    times: dict[str, float], before: dict[str, float] | None, uses: int, most: int
) -> list[Line]:
    """Each question against the floors of this size, and against a tenth of it."""
    load, more = times["one load"], times["one more fact"]
    said = "" if uses <= _FLOORS_WHOLE else ", one clinic multiplied"
    plain, graph = times["plain pass"], times["networkx"]
    found = [
        Line("one load, against 50 ms", load / 0.05, 1 if uses == most else None, ms(load)),
        Line(
            f"one load, against networkx over all{said}",
            load / graph,
            0.01 if uses >= most else None,
            ms(graph),
        ),
        Line(f"one load, against a plain pass in memory{said}", load / plain, None, ms(plain)),
    ]
    found += [
        Line(f"{name}, against that pass", times[name] / plain, None, ms(times[name]))
        for name in ("a machine over a month", "a source patient", "the invariant from nothing")
    ]
    if before is not None:
        was, earlier = before["one load"], before["one more fact"]
        found += [
            Line("one load, against a tenth of the ledger", load / was, 2, ms(was)),
            Line("one more fact, against a tenth of it", more / earlier, 1.5, ms(more)),
        ]
        cold = "one more fact, its pages not read yet"
        ratio = times[cold] / before[cold]
        found.append(Line(f"{cold}, against a tenth", ratio, None, ms(times[cold])))
    memory = times["peak MiB"]
    found.append(Line("peak memory, against 1 GiB", memory / 1024, 1, f"{memory:,.0f} MiB"))
    return found


def _measure(folder: Path, uses: int, url: str) -> dict[str, float]:
    settings = Settings(data=folder, site="TIMED", **({"database": url} if url else {}))
    with open_installation(settings, utc_now) as installation:
        clinic, store = installation.clinic, installation.clinic.store
        items = _fill(store, uses)
        start = perf_counter()
        _tell_all(store, items)
        times = {"the invariant from nothing": perf_counter() - start}
        load, at, patient = _somewhere(store)
        day = moment(at)
        ours = {
            "one load": partial(_look_back, clinic, Scope(loads=(load,))),
            "a machine over a month": partial(_month, clinic, day),
            "a source patient": partial(_look_back, clinic, Scope(patient=patient)),
        }
        times |= {what: _median(work) for what, work in ours.items()}
        some = sorted(items)[:: len(items) // _MORE_TURNS][:_MORE_TURNS]
        for what in ("one more fact, its pages not read yet", "one more fact"):
            times[what] = median(_timed(partial(_one_more, store, item)) for item in some)
        times["peak MiB"] = highest() / 1024 / 1024
        return times | _floors(store, uses)


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
    _look_back(clinic, Scope(loads=tuple(loads)))


def _look_back(clinic: Clinic, scope: Scope) -> None:
    """The question; it must have been about some use, or nothing was asked."""
    if not exposure_answer.look_back(clinic, scope).uses_looked_at:
        raise RuntimeError(f"No use was looked at: {scope}")


def _somewhere(store: Store) -> tuple[str, int, str]:
    """A good load of an item in the middle of the history, its time, and a patient."""
    rows = store.rows(
        "SELECT ref, at FROM touch WHERE item = 'C07 T03' AND sort = 'gate' AND state = 'proven'"
    )
    load, at = sorted(rows, key=lambda row: row[1])[len(rows) // 2]
    row = store.one(
        "SELECT patient FROM touch WHERE item = 'C07 T03' AND at < ? AND sort = 'use'"
        " ORDER BY at DESC LIMIT 1",
        at,
    ) or ("",)
    return load, at, str(row[0])


def _floors(store: Store, uses: int) -> dict[str, float]:
    """One pass over everything in memory, and the same by a graph; of one clinic if there is much
    (both grow with the rows, so the figure is multiplied and said to be)."""
    part = 1 if uses <= _FLOORS_WHOLE else CLINICS
    which = "" if part == 1 else " WHERE item >= 'C07' AND item < 'C08'"
    history = Contacts(store)
    items = [row[0] for row in store.rows(f"SELECT DISTINCT item FROM touch{which}")]
    told = sorted(contact for item in items for contact in history.of(item))
    return {
        "plain pass": part * _median(lambda: sum(1 for _ in sweep(told))),
        "networkx": part * _median(partial(_by_graph, told)),
    }


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
    turns: list[float] = []
    while len(turns) < _TURNS or (sum(turns) < _LONG and len(turns) < _MORE_TURNS):
        turns.append(_timed(work))
    return median(turns)


def _timed(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start


if __name__ == "__main__":
    sys.exit(main())
