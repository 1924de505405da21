"""The A0 of a stage of a washer's log: its sum, and how it grew reading by reading.

A hole of the log is never bridged: it adds nothing.
"""

from collections.abc import Sequence

from equip.rules.cycles.heat import equivalent_time, equivalent_times
from equip.rules.cycles.washer.log import Seen, ThermalProgramme, WarmStage


def a0_of(
    seen: Seen, stage: WarmStage | None, programme: ThermalProgramme, lowered_k: float = 0.0
) -> float:
    """The A0 of *stage* in seconds, holes left out, with every reading *lowered_k* lower."""
    seconds = seen.trace.seconds
    total = 0.0
    for first, last in stretches(seen, stage):
        part = slice(first, last + 1)
        total += equivalent_time(
            seconds[part],
            [celsius - lowered_k for celsius in seen.coldest[part]],
            reference=programme.reference_c,
            z=programme.z_k,
            floor=programme.floor_c,
        )
    return total


def running_a0(seen: Seen, programme: ThermalProgramme) -> list[float]:
    """The A0 that the stage that counts has made up to each reading of the log, in seconds."""
    so_far = [0.0] * len(seen.trace.seconds)
    total, at = 0.0, 0
    for first, last in stretches(seen, seen.counted):
        so_far[at:first] = [total] * (first - at)
        grown = _grown(
            seen.trace.seconds[first : last + 1], seen.coldest[first : last + 1], programme
        )
        so_far[first : last + 1] = [total + value for value in grown]
        total, at = so_far[last], last + 1
    so_far[at:] = [total] * (len(so_far) - at)
    return so_far


def _grown(
    seconds: Sequence[float], celsius: Sequence[float], programme: ThermalProgramme
) -> list[float]:
    return equivalent_times(
        seconds,
        celsius,
        reference=programme.reference_c,
        z=programme.z_k,
        floor=programme.floor_c,
    )


def stretches(seen: Seen, stage: WarmStage | None) -> list[tuple[int, int]]:
    """First and last index of each part of *stage* that has no hole and at least two readings."""
    if stage is None:
        return []
    parts, first = [], stage.first
    for index in holes_in(seen, stage):
        parts.append((first, index))
        first = index + 1
    parts.append((first, stage.last))
    return [(first, last) for first, last in parts if last > first]


def holes_in(seen: Seen, stage: WarmStage) -> list[int]:
    """The index of the reading before each hole within *stage*."""
    seconds = seen.trace.seconds
    return [
        index
        for index in range(stage.first, stage.last)
        if seconds[index + 1] - seconds[index] > seen.hole_over
    ]
