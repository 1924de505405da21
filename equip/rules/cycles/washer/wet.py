"""The wet part of a washer's cycle where somebody says by hand when the drying began.

A log of temperatures cannot always tell water from hot air; the machine's own record can. So a
person may say where the water ended. What the log itself contradicts is refused: the water cannot
end while it still heats up, cannot be hotter than it boils, and cannot go on after a drain.
"""

from collections.abc import Sequence
from dataclasses import replace

from equip.rules.cycles.boundaries import Boundaries, outside, up_to
from equip.rules.cycles.heat import ATMOSPHERE_KPA, saturation_celsius
from equip.rules.cycles.runs import INSTANT_S
from equip.rules.cycles.washer.log import Seen, ThermalProgramme, WarmStage
from equip.rules.wording import exact_span


def boundaries(seen: Seen) -> Boundaries:
    """Where the drying begins as the log shows it; nothing where no fall ends the wet stage."""
    stage = seen.counted
    if stage is None or stage.cut or stage.last + 1 >= len(seen.trace.seconds):
        return Boundaries()
    return Boundaries(drying_begins_s=seen.trace.seconds[stage.last + 1])


def recut(seen: Seen, dries_from_s: float | None) -> Seen:
    """The same log with the drying beginning at that second: what is warm before it is water.

    The wet stage is the last that rose out of the cold before then, up to the last reading before
    the drying. The second that the log itself shows changes nothing.
    """
    if dries_from_s is None:
        return seen
    end = up_to(seen.trace.seconds, dries_from_s - INSTANT_S)
    counted = _wet(seen, end)
    dry: tuple[WarmStage, ...] = ()
    if end < len(seen.coldest):
        dry = (WarmStage(end, len(seen.coldest) - 1, max(seen.coldest[end:]), "warm", cut=True),)
    return replace(seen, counted=counted, unclear=(), dry=dry, dries_from_s=dries_from_s)


def _wet(seen: Seen, end: int) -> WarmStage | None:
    """The stage that is water if the readings before *end* are; None if none of them was warm."""
    before = [stage for stage in seen.warm if stage.first < end - 1]
    if not before:
        return None
    fresh = [stage for stage in before if stage.start in ("log", "cold")]
    stage = fresh[-1] if fresh else before[0]
    readings = seen.coldest[stage.first : end]
    return WarmStage(stage.first, end - 1, max(readings), stage.start)


def why_not(seen: Seen, wanted: Boundaries, programme: ThermalProgramme) -> list[str]:
    """What the log, as found, says against the boundaries that somebody wants."""
    if wanted.air_removal_ends_s is not None:
        return ["A washer has no air removal: only the beginning of its drying can be corrected."]
    begins = wanted.drying_begins_s
    if begins is None:
        return []
    if away := outside(seen.trace, wanted):
        return away
    end = up_to(seen.trace.seconds, begins - INSTANT_S)
    if heating := _heats(seen, begins, end, programme.stage_swing_k):
        return [heating]
    wet = _wet(seen, end)
    return [] if wet is None else _not_water(seen, wet, begins, programme)


def _heats(seen: Seen, begins: float, end: int, swing_k: float) -> str:
    """Whether the drying would begin before a stage that it cuts had reached its hottest."""
    for stage in seen.warm:
        if end <= stage.first and stage != seen.counted:
            continue
        reached = max(seen.coldest[stage.first : max(end, stage.first + 1)])
        if reached >= stage.hottest_c - swing_k or stage.last < end:
            continue
        hottest = seen.coldest.index(stage.hottest_c, stage.first)
        return (
            f"The drying cannot begin at {exact_span(begins)}: it was still heating up, to "
            f"{stage.hottest_c:g} °C at {exact_span(seen.trace.seconds[hottest])}, and one climb "
            "is all water or all air. If it was not water, reject the load."
        )
    return ""


def _not_water(seen: Seen, wet: WarmStage, begins: float, programme: ThermalProgramme) -> list[str]:
    """Why the readings of *wet* cannot all be water."""
    start = f"The drying cannot begin as late as {exact_span(begins)}: "
    boils = saturation_celsius(ATMOSPHERE_KPA[1])
    part = range(wet.first, wet.last + 1)
    seconds = seen.trace.seconds
    hot = next((index for index in part if seen.hottest[index] > boils), None)
    if hot is not None:
        return [
            f"{start}at {exact_span(seconds[hot])} it read {seen.hottest[hot]:g} °C, and water "
            "boils before that."
        ]
    turn = drained(seen.coldest, part, programme.stage_fall_k)
    if turn is None:
        return []
    return [
        f"{start}at {exact_span(seconds[turn])} it had fallen by more than "
        f"{programme.stage_fall_k:g} K and rose by as much again, as after a drain; what is warm "
        "after that is taken for hot air. If this machine does so in water, a manager can set the "
        "rule thermal.stage-fall for it, in Setup, Rules."
    ]


def drained(coldest: Sequence[float], part: range, fall_k: float) -> int | None:
    """The lowest reading between a fall and a rise of more than *fall_k* each, if there is one."""
    top = low = coldest[part.start]
    low_at = part.start
    for index in part:
        value = coldest[index]
        if value > top and low >= top - fall_k:
            top = low = value
            low_at = index
        if value < low:
            low, low_at = value, index
        if low < top - fall_k and value > low + fall_k:
            return low_at
    return None
