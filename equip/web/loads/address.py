"""What an address of Loads names: a load, or a machine that runs loads; 404 if there is none."""

from flask import abort, g

from equip.facts import Process
from equip.rules.loads.load import Load
from equip.store.readings import item_rows, load_rows


def load_at(tag: str) -> Load:
    load = load_rows.load_of(g.clinic.store, tag)
    if load is None:
        abort(404)
    return load


def process_at(tag: str) -> Process:
    """What the machine of that tag does to its loads."""
    machine = item_rows.standing_of(g.clinic.store, tag)
    process: Process | None = g.clinic.house.kind(machine.type).process if machine else None
    if process is None:
        abort(404)
    return process
