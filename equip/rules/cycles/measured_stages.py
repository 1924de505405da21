"""The stages of a cycle as its log shows them, and a figure or two of each. Measuring only.

A log does not name its stages, so they are found by turning points and levels: pulses, heating,
holding, venting and drying of a steam cycle; each rise and fall of a washer. Everything is
measured from one turning point to another, so a log that starts earlier changes nothing. What a
difference between two cycles may mean is for `likeness`, what a load's size has to do with it
for `load_size`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from equip.rules.cycles.runs import Run
from equip.rules.cycles.steam import log as steam_log
from equip.rules.cycles.steam.log import StageLevels
from equip.rules.cycles.washer import log as washer_log
from equip.rules.cycles.washer.log import WarmStage
from equip.rules.verdict import Figures


@dataclass(frozen=True, slots=True)
class Profile:
    """One cycle: its *figures* in the order of the cycle, and how its heating went.

    *heating* are the readings from which the heating is told, *seconds* and *celsius* all of the
    log, °C by the coldest probe at each moment. What the log does not show has no figure.
    """

    figures: dict[str, float]
    heating: Run | None
    seconds: Sequence[float]
    celsius: Sequence[float]

    @property
    def size_figures(self) -> Figures:
        """Those that grow with what is in the chamber, for a judgement; None if not measured."""
        found = {name: self.figures.get(name) for name in SIZE_FIGURES}
        return {name: None if v is None else round(v, 6) for name, v in found.items()}


SIZE_FIGURES = ("heat_up_s", "drying_s")
"""The figures that each judgement keeps for `load_size`."""


@dataclass(frozen=True, slots=True)
class _Vacuum:
    """One fall of the pressure: where it was lowest, and the last reading before it had risen."""

    lowest: int
    left: int


# --- steam ------------------------------------------------------------------------------------


def of_steam(seen: steam_log.Seen, levels: StageLevels) -> Profile:
    """The stages about the holding time of *seen*; without one there is nothing to go by."""
    found: dict[str, float] = {}
    heating: Run | None = None
    if seen.held is not None:
        vacuums, begun = _vacuums(seen, seen.held, levels.swing_kpa)
        heating = _heating(seen, seen.held, vacuums, levels)
        found |= _air_removal(seen, vacuums, begun)
        if heating is not None:
            found["heat_up_s"] = seen.length(heating)
        found |= _holding(seen, seen.held)
        found |= _after(seen, seen.held, levels)
    return Profile(found, heating, seen.trace.seconds, seen.coldest)


def _vacuums(seen: steam_log.Seen, held: Run, swing_kpa: float) -> tuple[list[_Vacuum], int | None]:
    """Each fall before the holding time that the pressure rose from again; where the first began.

    A fall begins, and is left, at the reading where the pressure is *swing_kpa* off its last
    turning point: a flat stretch ahead of either moves nothing.
    """
    found: list[_Vacuum] = []
    begun: int | None = None
    falling = False
    turn = 0
    kpa = () if seen.trace.kpa is None else seen.trace.kpa[: held.first]
    for index, value in enumerate(kpa):
        if falling and value >= kpa[turn] + swing_kpa:
            found.append(_Vacuum(turn, index - 1))
            falling, turn = False, index
        elif not falling and value <= kpa[turn] - swing_kpa:
            begun = index if begun is None else begun
            falling, turn = True, index
        elif (value < kpa[turn]) if falling else (value > kpa[turn]):
            turn = index
    return found, begun


def _air_removal(
    seen: steam_log.Seen, vacuums: Sequence[_Vacuum], begun: int | None
) -> dict[str, float]:
    if seen.trace.kpa is None:
        return {}
    found: dict[str, float] = {"pulses": len(vacuums)}
    for number, one in enumerate(vacuums, start=1):
        found[f"vacuum_{number}_kpa"] = seen.trace.kpa[one.lowest]
    if vacuums and begun is not None:
        found["air_removal_s"] = seen.length(Run(begun, vacuums[-1].left))
    return found


def _heating(
    seen: steam_log.Seen, held: Run, vacuums: Sequence[_Vacuum], levels: StageLevels
) -> Run | None:
    """From the last vacuum, else from the last cool reading, to the holding time."""
    if vacuums:
        return Run(vacuums[-1].left, held.first)
    cool = [i for i in range(held.first) if seen.coldest[i] <= levels.heating_from_c]
    return Run(cool[-1], held.first) if cool else None


def _holding(seen: steam_log.Seen, held: Run) -> dict[str, float]:
    part = slice(held.first, held.last + 1)
    found = {
        "hold_s": seen.length(held),
        "hold_min_c": min(seen.coldest[part]),
        "hold_max_c": max(seen.hottest[part]),
    }
    if seen.gaps:
        found["theory_gap_k"] = median(seen.gaps)
    return found


def _after(seen: steam_log.Seen, held: Run, levels: StageLevels) -> dict[str, float]:
    kpa, found = seen.trace.kpa, {}
    if kpa is None:
        return {}
    after = range(held.last + 1, len(kpa))
    vented = next((i for i in after if kpa[i] <= levels.vented_kpa), None)
    if vented is not None:
        found["venting_s"] = seen.length(Run(held.last, vented))
    dry = [i for i in after if kpa[i] <= levels.drying_kpa]
    if dry:
        found["drying_s"] = seen.length(Run(dry[0], dry[-1]))
        found["drying_min_kpa"] = min(kpa[i] for i in dry)
    return found


# --- hot water --------------------------------------------------------------------------------


def of_water(seen: washer_log.Seen, swing_k: float, a0_s: float) -> Profile:
    """Every stage of a washer's log; the heating is that of the stage that counts.

    It begins with the last reading within *swing_k* of the coldest before it and ends with the
    first within as much of the hottest. How long a stage lasted is told only where the log holds
    both its ends.
    """
    found: dict[str, float] = {"stages": len(seen.stages)}
    for number, stage in enumerate(seen.stages, start=1):
        found[f"stage_{number}_c"] = stage.hottest_c
        if stage.start != "log" and not stage.cut:
            found[f"stage_{number}_s"] = _length(seen, stage)
    heating = None
    if seen.counted is not None:
        heating = _up(seen, seen.counted, swing_k)
        seconds = seen.trace.seconds
        found["heat_up_s"] = seconds[heating.last] - seconds[heating.first]
        found["a0_s"] = a0_s
    if seen.dry:
        found["drying_s"] = sum(_length(seen, stage) for stage in seen.dry)
    return Profile(found, heating, seen.trace.seconds, seen.coldest)


def _up(seen: washer_log.Seen, stage: WarmStage, swing_k: float) -> Run:
    warm = stage.hottest_c - swing_k
    last = next(i for i in range(stage.first, stage.last + 1) if seen.coldest[i] >= warm)
    cool = min(seen.coldest[stage.first : last + 1]) + swing_k
    first = max(i for i in range(stage.first, last + 1) if seen.coldest[i] <= cool)
    return Run(first, last)


def _length(seen: washer_log.Seen, stage: WarmStage) -> float:
    return seen.trace.seconds[stage.last] - seen.trace.seconds[stage.first]
