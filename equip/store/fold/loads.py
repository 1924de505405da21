"""Loads as the ledger tells of them: what each waits for, its log, and the logs of no load."""

from collections.abc import Sequence
from functools import reduce
from typing import Any

import msgspec

from equip import facts
from equip.facts import Fact, micros
from equip.rules.loads import fold as load_fold
from equip.rules.loads.load import Load
from equip.store.database import Store, in_chunks
from equip.store.fold.by_kind import Folds
from equip.store.fold.machines import keep_spores_of
from equip.store.ledger.about import in_time, told_about
from equip.store.ledger.ledger import Entry

_LOAD_KINDS = (
    facts.LoadOpened,
    facts.LoadAdded,
    facts.LoadTakenOut,
    facts.LotPut,
    facts.LoadStarted,
    facts.LoadEnded,
    facts.EvidenceConfirmed,
    facts.LoadJudged,
    facts.StagesCorrected,
    facts.LoadReleased,
    facts.LoadRejected,
    facts.IndicatorRead,
    facts.SporeTestPut,
    facts.SporeTestRead,
    facts.LoadTakenOver,
)

load_from = msgspec.json.Decoder(Load).decode
_encode = msgspec.json.Encoder(order="sorted").encode


def fold_loads(store: Store, entries: Sequence[Entry]) -> list[str]:
    """Bring the table of loads up to date, with their logs and spore tests; which were touched."""
    touched: dict[str, list[Fact]] = {}
    for entry in sorted(entries, key=in_time):
        fact = entry.fact
        if isinstance(fact, _LOAD_KINDS):
            touched.setdefault(fact.load, []).append(fact)
        elif isinstance(fact, facts.Withdrawn):
            for subject in fact.covers:
                if subject[0] == "L" and len(subject) == 10:
                    touched.setdefault(subject, []).append(fact)
    before = _loads_before(store, list(touched))
    folded = [
        _fold(store, before.get(tag) or Load(load=tag), told) for tag, told in touched.items()
    ]
    store.many(_KEEP_LOAD, [_row(load) for load in folded if _stage(load) != _NEVER_OPENED])
    gone = [(load.load,) for load in folded if _stage(load) == _NEVER_OPENED]
    store.many("DELETE FROM load WHERE tag = ?", gone)
    return list(touched)


def _loads_before(store: Store, loads: Sequence[str]) -> dict[str, Load]:
    found: dict[str, Load] = {}
    for some in in_chunks(loads):
        marks = ", ".join("?" * len(some))
        rows = store.rows(f"SELECT tag, state FROM load WHERE tag IN ({marks})", *some)
        found.update((tag, load_from(state)) for tag, state in rows)
    return found


_KEEP_LOAD = (
    "INSERT INTO load (tag, machine, cycle_no, at, stage, verdict, state)"
    " VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT (tag) DO UPDATE SET"
    " machine = excluded.machine, cycle_no = excluded.cycle_no, at = excluded.at,"
    " stage = excluded.stage, verdict = excluded.verdict, state = excluded.state"
)


def _fold(store: Store, before: Load, told: Sequence[Fact]) -> Load:
    """The load once *told* has happened to it; its log and its spore tests are kept."""
    late = before.at is not None and told[0].at < before.at
    if late or any(isinstance(fact, facts.Withdrawn) for fact in told):
        load = load_fold.fold(before.load, [entry.fact for entry in told_about(store, before.load)])
    else:
        load = reduce(load_fold.after, told, before)
    if before.log or load.log:
        _keep_load_log(store, load.load, load.log)
    if before.spores or load.spores:
        keep_spores_of(store, load)
    if before.alone or load.alone:
        _keep_lone_release(store, load)
    return load


def _keep_lone_release(store: Store, load: Load) -> None:
    """It is listed while somebody else has yet to look at it."""
    store.run("DELETE FROM lone_release WHERE load = ?", load.load)
    if load.wants_look:
        store.run("INSERT INTO lone_release (load) VALUES (?)", load.load)


def _row(load: Load) -> tuple[Any, ...]:
    return (
        load.load,
        load.machine,
        load.cycle_no,
        None if load.opened is None else micros(load.opened),
        _stage(load),
        load.verdict or "",
        _encode(load),
    )


_NEVER_OPENED = "never opened"


def _stage(load: Load) -> str:
    """What a load waits for; one whose opening was taken back is none."""
    if load.past:
        return "past"
    return _NEVER_OPENED if load.opened is None else load.state


# --- logs: whose they are, how a machine writes them, those of nobody ------------------------


def _keep_load_log(store: Store, load: str, log: str) -> None:
    """The log by which *load* is judged now, "" for none."""
    if not log:
        store.run("DELETE FROM load_log WHERE load = ?", load)
        return
    store.run(
        "INSERT INTO load_log (load, log) VALUES (?, ?)"
        " ON CONFLICT (load) DO UPDATE SET log = excluded.log",
        load,
        log,
    )


def _layout(store: Store, entry: Entry, fact: facts.LayoutSet) -> None:
    store.run(
        "INSERT INTO log_layout (site, position, machine, at, layout, reason, who)"
        " VALUES (?, ?, ?, ?, ?, ?, ?)",
        entry.site,
        entry.position,
        fact.machine,
        micros(fact.at),
        fact.layout,
        fact.reason,
        fact.by,
    )


def _log_unclaimed(store: Store, entry: Entry, fact: facts.LogUnclaimed) -> None:
    store.run(
        "INSERT INTO stray_log (log, machine, name, cycle_no, why, layout, at, explained)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, '') ON CONFLICT (log) DO NOTHING",
        fact.log,
        fact.machine,
        fact.name,
        fact.cycle_no,
        fact.why,
        fact.layout,
        micros(fact.at),
    )


def _log_explained(store: Store, entry: Entry, fact: facts.LogExplained) -> None:
    store.run("UPDATE stray_log SET explained = ? WHERE log = ?", fact.reason, fact.log)


FOLDS: Folds = {
    facts.LayoutSet: _layout,
    facts.LogUnclaimed: _log_unclaimed,
    facts.LogExplained: _log_explained,
}
"""The kinds of fact about logs, each with the function that folds it."""
