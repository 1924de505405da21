"""Whose session it is: what was checked for the session of a room, and where a patient is open.

The room of an item is the place where it stands. Of one that nobody placed it is the room of the
bench that checked it. What nobody can tell the room of goes with the session that ends: what is
checked once too often hurts nobody.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

import msgspec

from equip.desk.clinic import Clinic
from equip.desk.fitness.session import lines_today
from equip.rules.bench.transitions import Context
from equip.rules.fitness.session import CheckLine
from equip.rules.fitness.standing import Standing
from equip.store.ledger import ledger
from equip.store.readings import act_rows, item_rows

_context_from = msgspec.json.Decoder(Context).decode


def is_room(clinic: Clinic, place: str) -> bool:
    """Whether a session can be held there: what is scanned to put things away is no room."""
    return clinic.house.place_sort(place) != "store"


def patient_open(context: Context) -> bool:
    """Whether somebody is in the chair: in hand, and not finished."""
    return bool(context.patient) and not context.finished


def checked_for(clinic: Clinic, place: str, bench: str, at: datetime) -> list[Standing]:
    """What has checks in force for the session in *place*, or anywhere where that is "".

    *bench* is the one that ends it, "" where a page does.
    """
    every = {one.item: one for one in item_rows.standings(clinic.store)}
    found = lines_today(clinic, every.values(), at)
    return [
        every[item]
        for item, lines in found.items()
        if any(line.state == "in force" for line in lines)
        and (not place or _belongs(clinic, every[item], lines, place, bench))
    ]


def _belongs(
    clinic: Clinic, standing: Standing, lines: list[CheckLine], place: str, bench: str
) -> bool:
    if standing.place:
        return standing.place == place
    made = [line.last for line in lines if line.last is not None and line.state == "in force"]
    newest = max(made, key=lambda one: one.at)
    site, _, position = newest.path.rpartition("/")
    entry = ledger.entry(clinic.store, site, int(position))
    act = act_rows.act_of(clinic.store, entry.fact.act) if entry is not None else None
    if act is None or not act.bench:
        return True
    room = _context_from(act.context).place if act.context else ""
    if room and is_room(clinic, room):
        return room == place
    return act.bench == bench


def benches_with_patient(clinic: Clinic, place: str, at: datetime, but: str = "") -> list[str]:
    """The benches in *place*, or any where that is "", at which a patient is open; not *but*."""
    idle = timedelta(minutes=clinic.house.rules(at).number("bench.idle-minutes"))
    return [
        bench
        for bench, context in _in_hand(clinic)
        if bench != but
        and patient_open(context)
        and (not place or context.place == place)
        and context.at is not None
        and at - context.at <= idle
    ]


def _in_hand(clinic: Clinic) -> Iterator[tuple[str, Context]]:
    for bench in act_rows.benches(clinic.store):
        last = act_rows.last_act(clinic.store, bench)
        if last is not None and last.context:
            yield bench, _context_from(last.context)
