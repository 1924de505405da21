"""A washer's cycle to draw: temperature, the floor, its stages, and its A0 as it grew."""

from collections.abc import Iterator

from equip.deliver.picture.cycle import Curve, CycleEvent, Level, Panel, Span
from equip.desk.cycles.picture.curves import COLD_C, Whole, probes, with_room
from equip.rules.cycles.washer.log import Seen, ThermalProgramme, WarmStage


def water_panels(
    seen: Seen, programme: ThermalProgramme, so_far: list[float], whole: Whole
) -> Iterator[Panel]:
    trace, reached = seen.trace, so_far[-1]
    floor = programme.floor_c
    yield Panel(
        title="The whole cycle: temperature, °C",
        curves=tuple(probes(trace, whole)),
        start=trace.seconds[0],
        end=trace.seconds[-1],
        low=min(COLD_C, min(seen.coldest)),
        high=max(max(seen.hottest), floor) + 5,
        tall=11,
        levels=(Level(floor, f"{floor:g} °C: floor of A0"),),
        spans=tuple(_stage_spans(seen)),
    )
    whose = "" if len(trace.probes) == 1 else " of the coldest probe"
    everything = ((0, len(trace.seconds)),)
    yield Panel(
        title=f"A0{whose} so far, s: it came to {_down(reached)}",
        curves=(Curve("A0", "so far", "s", trace.seconds, so_far, everything, (), 2.0),),
        start=trace.seconds[0],
        end=trace.seconds[-1],
        low=0.0,
        high=with_room(0.0, max(reached, programme.target_s), 8),
        tall=8,
        levels=(Level(programme.target_s, f"needed: {programme.target_s:,g} s"),),
    )


def _stage_spans(seen: Seen) -> Iterator[Span]:
    def span(stage: WarmStage, says: str, *, sure: bool) -> Span:
        return Span(seen.trace.seconds[stage.first], seen.trace.seconds[stage.last], says, sure)

    if seen.counted is not None:
        yield span(seen.counted, "water: counts", sure=True)
    by_hand = "" if seen.dries_from_s is None else ", by hand"
    for stage in seen.dry:
        yield span(stage, f"drying{by_hand}: does not count", sure=False)
    for stage in seen.unclear:
        yield span(stage, "water or air? does not count", sure=False)


def water_events(
    seen: Seen, programme: ThermalProgramme, so_far: list[float]
) -> Iterator[CycleEvent]:
    seconds = seen.trace.seconds
    if seen.counted is not None:
        yield CycleEvent(seconds[seen.counted.first], "the stage that counts begins")
        yield CycleEvent(seconds[seen.counted.last], "the stage that counts ends")
    by_hand = "" if seen.dries_from_s is None else ", as corrected by hand"
    for stage in seen.dry:
        yield CycleEvent(seconds[stage.first], f"drying begins{by_hand}")
    for stage in seen.unclear:
        yield CycleEvent(seconds[stage.first], "a stage that may be water or air begins")
    enough = next((n for n, a0 in enumerate(so_far) if a0 >= programme.target_s), None)
    if enough is not None:
        yield CycleEvent(seconds[enough], f"A0 has reached {programme.target_s:,g} s")


def _down(a0_s: float) -> str:
    """An A0 as it is said: never rounded up to a target that was missed."""
    return f"{int(a0_s * 10 + 1e-6) / 10:,.1f}".removesuffix(".0")
