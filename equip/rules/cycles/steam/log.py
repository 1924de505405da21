"""What a steam cycle's log shows when it is held against a programme's band: the runs in it.

Measuring only: what follows from it is for `judge` and `reasons`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from operator import sub

from equip.logs.plain import Trace
from equip.rules.cycles.heat import LOWEST_KPA, saturation_celsius
from equip.rules.cycles.runs import Run, cut_at_holes, hole_over, longest, runs_in


@dataclass(frozen=True, slots=True)
class MachineStages:
    """What one machine's maker says of its air removal and drying; no published figure exists.

    Absolute kPa. A pulse is counted each time the pressure falls to *vacuum_kpa* or lower; the
    next can come only after it was at *steam_kpa* or higher. Drying must reach *drying_kpa*
    or lower at some moment after the holding time, and stay there for *drying_s* in one piece.
    What is None is not judged.
    """

    pulses: int | None = None
    vacuum_kpa: float | None = None
    steam_kpa: float | None = None
    drying_kpa: float | None = None
    drying_s: float | None = None


@dataclass(frozen=True, slots=True)
class StageLevels:
    """By what the stages of a steam cycle are told apart in a log that does not name them.

    Absolute kPa, °C. The pressure turns where it goes *swing_kpa* the other way; venting ends at
    *vented_kpa*; drying is what lies at *drying_kpa* or lower after the holding time. Where no
    pulse went before, heating counts from the last reading at *heating_from_c* or lower.
    """

    swing_kpa: float
    vented_kpa: float
    drying_kpa: float
    heating_from_c: float


@dataclass(frozen=True, slots=True)
class SteamProgramme:
    """What a cycle is judged against; each number comes from a dated rule.

    °C, seconds and kelvin as the names say. *spore_d_min* is the D-value at the F0 reference, in
    minutes, by which the decades of kill are worked out. A theory gap over *theory_remark_k* that
    still passes is remarked on. *stages* are the machine's own limits for what lies before and
    after the holding time; without them it is not judged. *levels* tell the stages apart for
    figures that no verdict rests on; without them those are not worked out.
    """

    id: str
    low_c: float
    high_c: float
    hold_s: float
    spread_k: float
    theory_gap_k: float
    equilibration_s: float
    hole_s: float
    hole_factor: float
    f0_reference_c: float
    f0_z_k: float
    theory_remark_k: float | None = None
    spore_d_min: float | None = None
    stages: MachineStages | None = None
    levels: StageLevels | None = None


@dataclass(frozen=True, slots=True)
class Seen:
    """One log held against one band.

    *coldest* and *hottest* are over all probes at each reading. *runs* are unbroken readings with
    every probe in the band, *whole* the same cut at each hole; *held* is the longest of these and
    the holding time that is judged. *gaps* are saturation temperature less reference probe and
    *spreads* hottest less coldest probe, in kelvin, for each reading of *held*; empty, and
    *equilibration_s* None, where they were not measured.
    """

    trace: Trace
    coldest: Sequence[float]
    hottest: Sequence[float]
    runs: list[Run]
    whole: list[Run]
    held: Run | None
    gaps: list[float]
    spreads: list[float]
    equilibration_s: float | None

    def length(self, run: Run | None) -> float:
        """Seconds from the first to the last reading of *run*; nought for none."""
        return 0.0 if run is None else self.trace.seconds[run.last] - self.trace.seconds[run.first]


def look(trace: Trace, programme: SteamProgramme) -> Seen:
    """Measure *trace* against the band of *programme*."""
    one = len(trace.probes) == 1
    coldest = trace.probes[0] if one else list(map(min, *trace.probes))
    hottest = trace.probes[0] if one else list(map(max, *trace.probes))
    runs = runs_in(coldest, hottest, programme.low_c, programme.high_c)
    over = hole_over(trace.seconds, programme.hole_s, programme.hole_factor)
    whole = cut_at_holes(trace.seconds, runs, over)
    held = longest(trace.seconds, whole)
    gaps: list[float] = []
    spreads: list[float] = []
    equilibration: float | None = None
    if held is not None:
        part = slice(held.first, held.last + 1)
        gaps = _theory_gaps(trace, part)
        if not one:
            spreads = list(map(sub, hottest[part], coldest[part]))
            equilibration = _equilibration_s(trace, coldest, held, programme.low_c)
    return Seen(trace, coldest, hottest, runs, whole, held, gaps, spreads, equilibration)


def _theory_gaps(trace: Trace, part: slice) -> list[float]:
    """Below the triple point there is no steam: such a pressure counts as that of 0 °C."""
    if trace.kpa is None:
        return []
    pressures = trace.kpa[part]
    # A gauge of few digits says the same over and over: each pressure is worked out once.
    saturated = {kpa: saturation_celsius(max(kpa, LOWEST_KPA)) for kpa in set(pressures)}
    return [saturated[kpa] - c for kpa, c in zip(pressures, trace.probes[0][part], strict=True)]


def _equilibration_s(trace: Trace, coldest: Sequence[float], held: Run, low: float) -> float:
    """From the reference reaching *low* until every probe has, on the way into *held*.

    A chamber that hovers about *low* while the load lags is timed from the first touch; after a
    dip in which the load had been hot before, the second approach is timed by itself.
    """
    reached = held.first
    while reached > 0 and coldest[reached - 1] >= low:
        reached -= 1
    start = reached
    while start > 0 and coldest[start - 1] < low:
        start -= 1
    reference = trace.probes[0]
    first = next(index for index in range(start, reached + 1) if reference[index] >= low)
    return trace.seconds[reached] - trace.seconds[first]
