"""What a washer's log shows: its warm stages, and which one of them the water surely made.

A plain log does not say which stage is which, and hot air of the drying kills nothing that A0
counts. So the log is cut by its own turning points: a stage ends at the first fall of more than
*stage_fall_k* below its hottest reading, as when the water is drained, and another begins where it
rises by as much again. A stage that rises out of the cold, or with which the log begins, is water;
one that rises while the chamber is still warm comes after a drain and may be air. A thermostat
swings about one temperature; where a smaller dip of more than *stage_swing_k* is followed by a
climb well above what was before, that may be a drain from which little heat was lost, and nobody
can say what came after it. The readings are those of the coldest probe. Measuring only: what
follows from it is for `thermal`.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from equip.logs.plain import Trace
from equip.rules.cycles.runs import INSTANT_S, hole_over

Start = Literal["log", "cold", "warm", "dipped", "unseen"]
"""How a stage began: with the log, out of the cold, while still warm after a fall or only after
a dip, or in a hole of the log."""


@dataclass(frozen=True, slots=True)
class WasherStages:
    """What one machine's maker says of its flush and wash; what is None is not judged.

    A part of the log is steady while its readings stay within *steady_k* for *steady_s*. With
    *dosing* the wash takes detergent, which no log of temperatures can show.
    """

    wash_low_c: float | None = None
    wash_high_c: float | None = None
    flush_high_c: float | None = None
    dosing: bool = False
    steady_k: float = 0.0
    steady_s: float = 0.0


@dataclass(frozen=True, slots=True)
class ThermalProgramme:
    """What a cycle is judged against; each number comes from a dated rule.

    °C, seconds and kelvin as the names say; *target_s* is the A0 to reach. *stages* are the
    machine's own limits for what comes before the disinfection; without them it is not judged.
    """

    id: str
    target_s: float
    floor_c: float
    reference_c: float
    z_k: float
    stage_from_c: float
    stage_fall_k: float
    stage_swing_k: float
    fresh_water_c: float
    hottest_water_c: float
    hole_s: float
    hole_factor: float
    hiding_hole_s: float
    stages: WasherStages | None = None


@dataclass(frozen=True, slots=True)
class WarmStage:
    """One rise and what followed it until the fall: first and last index, its hottest reading.

    *cut* says that a long hole of the log ended it and no fall did.
    """

    first: int
    last: int
    hottest_c: float
    start: Start
    cut: bool = False


@dataclass(frozen=True, slots=True)
class Seen:
    """One log held against one programme.

    *counted* is the stage that counts, None if none does. *unclear* are warm stages of which
    nobody can say whether they were water or air, *dry* those after the counted one; *stages*
    are all of them in their order, cold washes and rinses too, *warm* those of them that are warm.
    *hole_over* is the spacing in seconds beyond which readings leave a hole. *dries_from_s* is
    where the drying begins if somebody corrected that by hand: then *counted* and *dry* follow
    from it.
    """

    trace: Trace
    coldest: Sequence[float]
    hottest: Sequence[float]
    hole_over: float
    counted: WarmStage | None
    unclear: tuple[WarmStage, ...]
    dry: tuple[WarmStage, ...]
    has_long_hole: bool
    stages: tuple[WarmStage, ...] = ()
    warm: tuple[WarmStage, ...] = ()
    dries_from_s: float | None = None


def look(trace: Trace, programme: ThermalProgramme) -> Seen:
    """Find the stages of *trace* and sort them."""
    one = len(trace.probes) == 1
    coldest = trace.probes[0] if one else list(map(min, *trace.probes))
    hottest = trace.probes[0] if one else list(map(max, *trace.probes))
    over = hole_over(trace.seconds, programme.hole_s, programme.hole_factor)
    long_hole = max(over, programme.hiding_hole_s + INSTANT_S)
    pieces = list(_pieces(trace.seconds, long_hole))
    stages = [
        stage
        for number, (first, last) in enumerate(pieces)
        for stage in _stages(coldest, hottest, first, last, number > 0, programme)
    ]
    warm = tuple(one for one in stages if one.hottest_c >= programme.stage_from_c)
    counted, unclear, dry = _sorted(warm)
    holed = len(pieces) > 1
    return Seen(trace, coldest, hottest, over, counted, unclear, dry, holed, tuple(stages), warm)


def _pieces(seconds: Sequence[float], long_hole: float) -> Iterator[tuple[int, int]]:
    first = 0
    for index, (before, after) in enumerate(pairwise(seconds)):
        if after - before > long_hole:
            yield first, index
            first = index + 1
    yield first, len(seconds) - 1


def _stages(
    coldest: Sequence[float],
    hottest: Sequence[float],
    first: int,
    last: int,
    after_hole: bool,
    programme: ThermalProgramme,
) -> Iterator[WarmStage]:
    """The stages between two long holes, by one walk over the turning points."""
    fall, swing, fresh = programme.stage_fall_k, programme.stage_swing_k, programme.fresh_water_c
    start: Start = "log"
    if after_hole:
        start = "cold" if hottest[first] < fresh else "unseen"
    begin, end = first, first
    while end <= last:
        climb = _Climb(coldest, begin)
        while end <= last and not climb.ends(end, fall, swing):
            end += 1
        if end > last:
            yield WarmStage(begin, last, climb.top, start, cut=True)
            return
        if climb.resumed:
            yield WarmStage(begin, climb.low_at, climb.top, start)
            begin = climb.low_at
            start = "cold" if hottest[begin] < fresh else "dipped"
            continue
        yield WarmStage(begin, end - 1, climb.top, start)
        turn = fallen = end
        while end <= last and coldest[end] <= coldest[turn] + fall:
            turn = end if coldest[end] < coldest[turn] else turn
            end += 1
        start = "cold" if min(hottest[fallen : end + 1]) < fresh else "warm"
        begin = turn


class _Climb:
    """One stage while it lasts: its peak, the lowest since, the hottest of all."""

    def __init__(self, coldest: Sequence[float], begin: int) -> None:
        self.coldest = coldest
        self.peak = self.low = self.top = coldest[begin]
        self.low_at = begin
        self.resumed = False

    def ends(self, index: int, fall: float, swing: float) -> bool:
        """Whether the reading at *index* is no longer of this stage.

        It is not after a fall of more than *fall* below the hottest, nor where the temperature,
        having dipped by more than *swing*, goes on to climb by more than that above its peak.
        """
        value = self.coldest[index]
        if value < self.top - fall:
            return True
        if self.low < self.peak - swing:
            if value > self.peak + swing:
                self.resumed = True
                return True
        elif value > self.peak:
            self.peak = self.low = value
            self.low_at = index
        if value < self.low:
            self.low, self.low_at = value, index
        self.top = max(self.top, value)
        return False


def _sorted(
    stages: Sequence[WarmStage],
) -> tuple[WarmStage | None, tuple[WarmStage, ...], tuple[WarmStage, ...]]:
    """The stage that counts, those that are unclear, those that are taken for drying.

    Only the first warm stage can count, and only if water surely made it: whatever is warm after
    it may be air. What rises out of the cold once more may be the disinfection after a hot wash.
    """
    counted: WarmStage | None = None
    unclear: list[WarmStage] = []
    dry: list[WarmStage] = []
    for stage in stages:
        if unclear:
            unclear.append(stage)
        elif counted is None and stage.start in ("log", "cold"):
            counted = stage
        elif counted is not None and (stage.start == "warm" or _goes_on(dry, stage)):
            dry.append(stage)
        else:
            unclear.append(stage)
    return counted, tuple(unclear), tuple(dry)


def _goes_on(dry: Sequence[WarmStage], stage: WarmStage) -> bool:
    """Whether a drying that had begun goes on after a hole, or after a dip: no water came in."""
    return bool(dry) and stage.start in ("unseen", "dipped")
