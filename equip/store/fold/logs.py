"""Logs as the ledger tells of them: how machines write them, whose they are, those of nobody."""

from equip import facts
from equip.facts import micros
from equip.store.database import Store
from equip.store.ledger.ledger import Entry

LOG_KINDS = (facts.LayoutSet, facts.LogUnclaimed, facts.LogExplained)


def project_logs(store: Store, entry: Entry) -> None:
    """Bring the tables of logs up to date with one entry."""
    match entry.fact:
        case facts.LayoutSet() as fact:
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
        case facts.LogUnclaimed() as fact:
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
        case facts.LogExplained() as fact:
            store.run("UPDATE stray_log SET explained = ? WHERE log = ?", fact.reason, fact.log)
        case _:
            pass


def keep_load_log(store: Store, load: str, log: str) -> None:
    """The log that *load* stands on now, "" for none."""
    if not log:
        store.run("DELETE FROM load_log WHERE load = ?", load)
        return
    store.run(
        "INSERT INTO load_log (load, log) VALUES (?, ?)"
        " ON CONFLICT (load) DO UPDATE SET log = excluded.log",
        load,
        log,
    )
