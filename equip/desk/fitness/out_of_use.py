"""What stands against an item whatever its checks say: out of use, or overdue."""

from collections.abc import Iterator
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.desk.fitness.due_days import overdue
from equip.desk.fitness.readiness import Readiness
from equip.facts import Told
from equip.rules.fitness.standing import Standing

_OUT_OF_USE = frozenset({"retired", "sent-out", "quarantined", "in-look-back", "piece-missing"})


def out_of_use(clinic: Clinic, standing: Standing, at: datetime) -> tuple[Told, ...]:
    """Each reason as a sentence, to be said in the same breath as a check of it."""
    return tuple(_reasons(clinic, standing, at))


def _reasons(clinic: Clinic, standing: Standing, at: datetime) -> Iterator[Told]:
    ready = Readiness(clinic, at)
    for why in ready.why_not_use(standing, ready.members(standing), ready.asking(standing)):
        if why.code in _OUT_OF_USE:
            yield Told(code=why.code, says=why.says)
    for row, why in overdue(clinic, standing.item, clinic.house.today(at)):
        stops = "" if row.goes_by.grounds else " It may be used all the same."
        yield Told(code=why.code, says=f"{why.says}{stops}")
