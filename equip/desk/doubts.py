"""A look-back question: which loads are in doubt, who was treated with what came out of them.

It is raised, it lists, it is decided with a reason. Nothing here says who was exposed: that
takes the sweep over every path, which is a room of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from equip import facts
from equip.desk.acting import Act, Refused
from equip.desk.clinic import Clinic
from equip.scan import show_tag
from equip.store import readings
from equip.store.readings import DoubtRow, TouchRow


@dataclass(frozen=True, slots=True)
class Case:
    """One look-back question with the uses that stood on the loads in doubt."""

    row: DoubtRow
    uses: tuple[TouchRow, ...]
    patients: int


def raise_doubt(act: Act, loads: Sequence[str], why: str) -> str:
    for load in loads:
        if readings.load_of(act.store, load) is None:
            raise Refused(f"{show_tag(load) if len(load) == 10 else load} is no load in this book.")
    case = f"case-{act.id[:8]}"
    act.tell(facts.DoubtRaised, case=case, loads=tuple(loads), why=why)
    return case


def decide(act: Act, case: str, decision: str, reason: str) -> None:
    row = next((d for d in readings.doubts(act.store) if d.case == case), None)
    if row is None:
        raise Refused("There is no such look-back.")
    if row.decided is not None:
        raise Refused("It has been decided already; what was decided stays in the book.")
    act.tell(facts.DoubtDecided, case=case, decision=decision, reason=reason)


def case(clinic: Clinic, name: str) -> Case | None:
    row = next((d for d in readings.doubts(clinic.store) if d.case == name), None)
    if row is None:
        return None
    uses = tuple(
        touch for load in row.loads for touch in readings.touches_behind(clinic.store, load)
    )
    return Case(row, uses, len({touch.patient for touch in uses}))
