"""The checks of the demonstration: each morning's, some of them not good at first. All invented."""

from collections.abc import Callable, Sequence

from equip.desk.act.act import acting
from equip.desk.bench import session_acts
from equip.desk.clinic import Clinic
from equip.desk.fitness.session import lines_of
from equip.store.readings import item_rows

_READ = {"water-temperature": "37", "pressure": "1"}
_COLD_EVERY, _COLD = 23, "34.5"


def look_at_the_edge(clinic: Clinic, who: str, scope: str) -> None:
    """The edge of a scope is looked at for each use."""
    with acting(clinic, by=who) as act:
        session_acts.record(act, scope, "edge", good=True)


def check_in_the_morning(
    clinic: Clinic, who: str, number: int, things: Sequence[str], wait: Callable[[], None]
) -> None:
    """Everything that is asked for of *things*; on some days the water is too cold at first.

    *wait* lets the time pass that a check takes.
    """
    for turn, standing in enumerate(item_rows.standings(clinic.store, things)):
        kind = clinic.house.kind(standing.type)
        for line in lines_of(clinic, standing.item, kind, clinic.clock()):
            check = line.asked.check
            good = _READ.get(check, str(58 + (number + turn) % 7) if line.kind.measured else "")
            cold = check == "water-temperature" and number % _COLD_EVERY == _COLD_EVERY - 1
            for read in (_COLD, good) if cold else (good,):
                wait()
                with acting(clinic, by=who) as act:
                    session_acts.record(act, standing.item, check, good=True, read=read)
