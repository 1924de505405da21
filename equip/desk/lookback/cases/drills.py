"""A look-back for practice: timed, listed, written down as a drill; nothing else is touched."""

from dataclasses import dataclass
from decimal import Decimal
from random import Random

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.desk.lookback.cases import exposed_list
from equip.desk.lookback.exposure_answer import ExposureAnswer, Scope, look_back
from equip.scan import show_tag
from equip.store.readings import case_rows, load_rows

_MILLI = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Drill:
    """What a drill came to: the load taken to have failed, the list, how long it took."""

    load: str
    at_random: bool
    seconds: Decimal
    answer: ExposureAnswer


def pick(clinic: Clinic, chance: Random) -> str:
    """A load that was let go, by chance."""
    loads = case_rows.drillable(clinic.store)
    if not loads:
        raise Refused("No load was let go yet: there is nothing to practise on.")
    return chance.choice(loads)


def run(clinic: Clinic, load: str, *, at_random: bool = False) -> Drill:
    """List who would be exposed if this load had failed; timed from question to list."""
    if load_rows.load_of(clinic.store, load) is None:
        raise Refused(f"{show_tag(load)} is no load in this book.")
    if any(load in one.loads and not one.unfounded for one in case_rows.doubts(clinic.store)):
        raise Refused("This load is in a look-back already: choose another to practise on.")
    began = clinic.clock()
    answer = look_back(clinic, Scope(loads=(load,)))
    took = Decimal(str((clinic.clock() - began).total_seconds())).quantize(_MILLI)
    return Drill(load, at_random, took, answer)


def keep(act: Act, drill: Drill) -> None:
    """Write the drill down."""
    answer = drill.answer
    share = answer.traceable
    act.tell(
        facts.DrillRun,
        load=drill.load,
        seconds=drill.seconds,
        uses=len(answer.exposures),
        patients=exposed_list.patients_in(answer.exposures),
        gaps=exposed_list.gap_uses(answer.gaps),
        looked_at=answer.uses_looked_at,
        traceable=None if share is None else Decimal(str(share)).quantize(_MILLI),
        at_random=drill.at_random,
    )
