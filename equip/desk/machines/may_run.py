"""May this machine run a load now? The one place that says why not.

Loads, Stock, its own page, its sheet, the Bench and the act that starts a load all ask here: what
stands against the machine itself, what its tests of the day say, and what is in it if it is a bath.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.desk.fitness.readiness import Readiness
from equip.desk.machines import baths, sheets
from equip.desk.register.stock import Shelf, Stock, Thing
from equip.facts import Process
from equip.rules.fitness.agents import agent_of
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import Why
from equip.store.readings import item_rows

_NOT_YET = "never-processed"
"""A machine is not made fit by going through a route."""


def why_not_run(
    clinic: Clinic, machine: str, at: datetime, *, hollow: bool = False, bath: bool = True
) -> list[Why]:
    """Every reason why *machine* may not run a load at *at*; empty means that it may.

    *hollow* says that something hollow is to go in. Of a bath, what is in it counts too, unless
    whoever asks (not *bath*) looks at that with the load in hand.
    """
    standing = item_rows.standing_of(clinic.store, machine)
    process = clinic.house.kind(standing.type).process if standing is not None else None
    if standing is None or process is None:
        return []
    return against_itself(clinic, standing, at) + _of_the_day(
        clinic, machine, process, at, hollow=hollow, bath=bath
    )


def against_itself(clinic: Clinic, machine: Standing, at: datetime) -> list[Why]:
    """What stands against it whatever its tests say: quarantine, a look-back, a late service."""
    ready = Readiness(clinic, at)
    reasons = ready.why_not_use(machine, [], ready.asking(machine))
    return [why for why in reasons if why.code != _NOT_YET]


def _of_the_day(
    clinic: Clinic, machine: str, process: Process, at: datetime, *, hollow: bool, bath: bool
) -> list[Why]:
    says = sheets.why_not_run(clinic, machine, process, at, hollow=hollow)
    if bath:
        says += _of_the_bath(clinic, machine, process, at)
    return [Why("machine-not-to-run", one) for one in says]


def _of_the_bath(clinic: Clinic, machine: str, process: Process, at: datetime) -> list[str]:
    agents = baths.agents_of(process)
    if not agents:
        return []
    name = agent_of(baths.programme_by_filling(clinic, machine, process, at)) or agents[0]
    return [reason.says for reason in baths.why_not(clinic, machine, name, at)]


def in_short(clinic: Clinic, machine: str, process: Process, at: datetime) -> str:
    """The same in a few words, for a list: ready, or what has to happen first."""
    if not why_not_run(clinic, machine, at):
        return "ready"
    standing = item_rows.standing_of(clinic.store, machine)
    sheet = sheets.sheet(clinic, machine, process, at)
    failed = any(line.state == "failed" and line.stops for line in sheet.lines)
    if failed or standing is None or against_itself(clinic, standing, at):
        return "out of use"
    if not sheet.ready:
        return "tests to do"
    return "to be signed" if sheet.must_sign and not sheet.signed else "to be filled anew"


# --- Stock, with what its machines say ---------------------------------------------------------


def stock_with(clinic: Clinic, found: Stock) -> Stock:
    """Stock, with every reason why a machine in it may not run."""
    return replace(found, shelves=tuple(_shelf(clinic, one, found.at) for one in found.shelves))


def thing_with(clinic: Clinic, thing: Thing, at: datetime) -> Thing:
    """An item as Stock shows it, with why it may not run if it is a machine that runs loads."""
    more = _more(thing.reasons, why_not_run(clinic, thing.tag, at))
    return replace(thing, reasons=(*thing.reasons, *more)) if more else thing


def _shelf(clinic: Clinic, shelf: Shelf, at: datetime) -> Shelf:
    if clinic.house.kind(shelf.type).process is None:
        return shelf
    return replace(shelf, things=tuple(thing_with(clinic, one, at) for one in shelf.things))


def _more(known: Iterable[Why], found: Iterable[Why]) -> list[Why]:
    said = set(known)
    return [why for why in found if why not in said]
