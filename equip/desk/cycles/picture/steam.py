"""A steam cycle to draw: temperature, steam of its pressure, the band, and the hold close up."""

from collections.abc import Iterable, Iterator, Sequence

from equip.deliver.picture.cycle import Curve, CycleEvent, Panel, Span
from equip.desk.cycles.picture.curves import COLD_C, Whole, probes, with_room
from equip.logs.plain import Trace
from equip.rules.cycles.boundaries import BOUNDARIES, as_boundaries
from equip.rules.cycles.heat import LOWEST_KPA, saturation_celsius, saturation_kpa
from equip.rules.cycles.steam.judge import SteamProgramme
from equip.rules.loads.load import Load
from equip.rules.wording import exact_span

_STEAM_DASH = (1.5, 3.5)
_AWAY_K = 4.0
"""How far above or below the band the close-up goes at most."""
_ROUNDING_S = 1e-5
"""A judgement keeps its moments to the millionth of a second, a log may have more."""
_FAR_K = 15.0
"""A cycle that stayed this far below the band has no holding time to look at."""


def steam_panels(
    trace: Trace, programme: SteamProgramme, load: Load, whole: Whole
) -> Iterator[Panel]:
    curves = list(probes(trace, whole))
    steam: list[float] = []
    if trace.kpa is not None:
        steam = [saturation_celsius(max(kpa, LOWEST_KPA)) for kpa in trace.kpa]
        name = "saturated steam at the measured pressure"
        curves.append(Curve("S", name, "°C", trace.seconds, steam, whole, _STEAM_DASH, 1.8))
    band_says = f"band {programme.low_c:g} to {programme.high_c:g} °C"
    hold = _hold(load)
    spans = () if hold is None else (Span(*hold, f"holding time {exact_span(hold[1] - hold[0])}"),)
    hottest = max(max(probe) for probe in trace.probes)
    most_steam = min(max(steam, default=0.0), programme.high_c + _AWAY_K)
    low, tall = min(COLD_C, min(min(probe) for probe in trace.probes)), 11
    yield Panel(
        title="The whole cycle: temperature, °C",
        curves=tuple(curves),
        start=trace.seconds[0],
        end=trace.seconds[-1],
        low=low,
        high=with_room(low, max(hottest, programme.high_c, most_steam), tall),
        tall=tall,
        band=(programme.low_c, programme.high_c),
        band_says=band_says,
        spans=spans,
    )
    if trace.kpa is not None:
        yield _pressure(trace, programme, whole)
    yield from _close_up(trace, programme, hold, curves, band_says, load)


def _pressure(trace: Trace, programme: SteamProgramme, whole: Whole) -> Panel:
    assert trace.kpa is not None  # noqa: S101 — asked before
    low, high = saturation_kpa(programme.low_c), saturation_kpa(programme.high_c)
    bottom, tall = min(0.0, min(trace.kpa)), 6.5
    return Panel(
        title="The whole cycle: pressure, kPa absolute",
        curves=(Curve("P", "pressure", "kPa", trace.seconds, trace.kpa, whole, (), 2.0),),
        start=trace.seconds[0],
        end=trace.seconds[-1],
        low=bottom,
        high=with_room(bottom, max(max(trace.kpa), high), tall),
        tall=tall,
        band=(low, high),
        band_says=f"saturated: {low:.0f} to {high:.0f} kPa",
    )


def _hold(load: Load) -> tuple[float, float] | None:
    """The holding time that was judged, None if there was none."""
    start = load.figures.get("hold_start_s")
    if start is None:
        return None
    return float(start), float(start) + float(load.figures.get("hold_s", "0"))


def _close_up(
    trace: Trace,
    programme: SteamProgramme,
    hold: tuple[float, float] | None,
    curves: Sequence[Curve],
    band_says: str,
    load: Load,
) -> Iterator[Panel]:
    """The holding time again, so large that a tenth of a kelvin is seen."""
    probe, needed = trace.probes[0], programme.hold_s
    spans: tuple[Span, ...] = ()
    if hold is not None:
        core = (hold[0], max(hold[1], hold[0] + needed))
        spans = (
            Span(*hold, f"in the band for {exact_span(hold[1] - hold[0])}"),
            Span(hold[0], hold[0] + needed, f"needed: {exact_span(needed)}", sure=False),
        )
    elif max(probe) > programme.low_c - _FAR_K:
        middle = trace.seconds[list(probe).index(max(probe))]
        core = (middle - needed / 2, middle + needed / 2)
    else:
        return
    near = [float(r.at_s) for r in load.reasons if r.at_s is not None]
    near = [at for at in near if core[0] - needed <= at <= core[1] + needed]
    first, last = min([core[0], *near]), max([core[1], *near])
    low, high = _scale_near(trace, programme, curves, (first, last))
    pad = max((last - first) / 5, 20.0)
    yield Panel(
        title="Close-up of the holding time: temperature, °C",
        curves=tuple(curves),
        start=max(first - pad, trace.seconds[0]),
        end=min(last + pad, trace.seconds[-1]),
        low=low,
        high=high,
        tall=12,
        band=(programme.low_c, programme.high_c),
        band_says=band_says,
        spans=spans,
        close=True,
    )


def _scale_near(
    trace: Trace, programme: SteamProgramme, curves: Iterable[Curve], part: tuple[float, float]
) -> tuple[float, float]:
    """The band and what was measured about it, but nothing far from it."""
    inside = [n for n, second in enumerate(trace.seconds) if part[0] <= second <= part[1]]
    values = [curve.values[n] for curve in curves for n in inside]
    low = max(min([programme.low_c, *values]), programme.low_c - _AWAY_K)
    high = min(max([programme.high_c, *values]), programme.high_c + _AWAY_K)
    return low - 1.5, high + 1.5


def steam_events(trace: Trace, load: Load) -> Iterator[CycleEvent]:
    for name, seconds in as_boundaries(load.boundaries).known.items():
        yield CycleEvent(seconds, f"{BOUNDARIES[name]}, as corrected by hand")
    hold = _hold(load)
    if hold is None:
        probe = list(trace.probes[0])
        yield CycleEvent(trace.seconds[probe.index(max(probe))], "hottest reading of the chamber")
        return
    yield CycleEvent(hold[0], "holding time begins")
    yield CycleEvent(hold[1], "holding time ends")
    first, last = hold[0] - _ROUNDING_S, hold[1] + _ROUNDING_S
    inside = [n for n, second in enumerate(trace.seconds) if first <= second <= last]
    coldest = min(inside, key=lambda n: min(probe[n] for probe in trace.probes))
    hottest = max(inside, key=lambda n: max(probe[n] for probe in trace.probes))
    yield CycleEvent(trace.seconds[coldest], "lowest in the holding time")
    yield CycleEvent(trace.seconds[hottest], "highest in the holding time")
