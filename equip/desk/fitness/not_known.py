"""What a Yes does not know, for the bench and an item's page alike."""

from collections.abc import Iterator
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.desk.fitness.readiness import Readiness
from equip.rules.fitness import not_known
from equip.rules.fitness.day_gate import what_makes_fit
from equip.rules.fitness.standing import Standing
from equip.store.readings import load_rows


def says_not_known(clinic: Clinic, standing: Standing, at: datetime) -> str:
    """What is not known of what makes *standing* fit, as a sentence; "" if nothing is missing."""
    return not_known.said(_parts(clinic, standing, at))


def _parts(clinic: Clinic, standing: Standing, at: datetime) -> Iterator[str]:
    members = Readiness(clinic, at).members(standing)
    kind, zone = clinic.house.kind(standing.type), clinic.house.zone
    done = what_makes_fit(standing, kind, members, at, zone)
    if done is None:
        return
    load = load_rows.load_of(clinic.store, done.load) if done.load else None
    if load is not None:
        yield from not_known.of_the_load(load, sterilises="sterilise" in done.steps)
    for one in (standing, *(member for member, _ in members)):
        yield from not_known.of_the_steps(one.done)
