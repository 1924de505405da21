"""A judged log as something to draw: what was asked, what was measured, where it went wrong.

The limits are those of the judgement, as it kept them: a picture never shows other rules than
those that decided.
"""

from collections.abc import Iterable, Iterator, Sequence

from equip.deliver.drawing import LOWEST
from equip.deliver.drawn import Curve, Drawn, Event, Level, Panel, Span, Trouble
from equip.deliver.thinning import unbroken
from equip.facts import Told
from equip.rules.explaining import behind
from equip.rules.heat import LOWEST_KPA, saturation_celsius, saturation_kpa
from equip.rules.loading import Load
from equip.rules.steam import SteamProgramme
from equip.rules.steam_log import hole_over
from equip.rules.thermal_a0 import running_a0
from equip.rules.thermal_log import Seen, Stage, ThermalProgramme, look
from equip.rules.wording import exact_span
from equip.traces import Trace

_DASHES: tuple[tuple[float, ...], ...] = ((), (9, 3), (4, 3), (9, 3, 2, 3), (6, 2, 2, 2, 2, 2))
_STEAM_DASH = (1.5, 3.5)
_COLD = 20.0
_AWAY_K = 4.0
"""How far above or below the band the close-up goes at most."""
_FAR_K = 15.0
"""A cycle that stayed this far below the band has no holding time to look at."""

_WORDS_EM = 1.6
"""The height of a row of words with its air, in sizes of the type."""

_Whole = Sequence[tuple[int, int]]


def drawn(
    trace: Trace, programme: SteamProgramme | ThermalProgramme, load: Load, title: str, says: str
) -> Drawn:
    """Everything the picture of this load shows, from its log and its judgement."""
    longest_gap = hole_over(trace.seconds, programme.hole_s, programme.hole_factor)
    whole = unbroken(trace.seconds, longest_gap)
    if isinstance(programme, SteamProgramme):
        panels = tuple(_steam_panels(trace, programme, load, whole))
        events = tuple(_steam_events(trace, load))
    else:
        seen = look(trace, programme)
        so_far = running_a0(seen, programme)
        panels = tuple(_washer_panels(seen, programme, so_far, whole))
        events = tuple(_washer_events(seen, programme, so_far))
    return Drawn(panels, tuple(_troubles(load.reasons)), events, title, says)


def _troubles(reasons: Iterable[Told]) -> Iterator[Trouble]:
    for number, reason in enumerate(reasons, start=1):
        if reason.at_s is not None:
            about, at = behind(reason.code), float(reason.at_s)
            yield Trouble(number, at, f"{exact_span(at)}: {about.short}", about.remark)


def _probes(trace: Trace, whole: _Whole) -> Iterator[Curve]:
    for number, probe in enumerate(trace.probes, start=1):
        mark = "T" if len(trace.probes) == 1 else f"T{number}"
        name = "chamber" if number == 1 else f"probe {number}"
        dash = _DASHES[(number - 1) % len(_DASHES)]
        yield Curve(
            mark, name, "°C", trace.seconds, probe, whole, dash, 2.0 if number == 1 else 1.4
        )


# --- steam ------------------------------------------------------------------------------------


def _steam_panels(
    trace: Trace, programme: SteamProgramme, load: Load, whole: _Whole
) -> Iterator[Panel]:
    curves = list(_probes(trace, whole))
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
    low, tall = min(_COLD, min(min(probe) for probe in trace.probes)), 11
    yield Panel(
        title="The whole cycle: temperature, °C",
        curves=tuple(curves),
        start=trace.seconds[0],
        end=trace.seconds[-1],
        low=low,
        high=_with_room(low, max(hottest, programme.high_c, most_steam), tall),
        tall=tall,
        band=(programme.low_c, programme.high_c),
        band_says=band_says,
        spans=spans,
    )
    if trace.kpa is not None:
        yield _pressure(trace, programme, whole)
    yield from _close_up(trace, programme, hold, curves, band_says, load)


def _pressure(trace: Trace, programme: SteamProgramme, whole: _Whole) -> Panel:
    assert trace.kpa is not None  # noqa: S101 — asked before
    low, high = saturation_kpa(programme.low_c), saturation_kpa(programme.high_c)
    bottom, tall = min(0.0, min(trace.kpa)), 6.5
    return Panel(
        title="The whole cycle: pressure, kPa absolute",
        curves=(Curve("P", "pressure", "kPa", trace.seconds, trace.kpa, whole, (), 2.0),),
        start=trace.seconds[0],
        end=trace.seconds[-1],
        low=bottom,
        high=_with_room(bottom, max(max(trace.kpa), high), tall),
        tall=tall,
        band=(low, high),
        band_says=f"saturated: {low:.0f} to {high:.0f} kPa",
    )


def _with_room(low: float, highest: float, tall: float) -> float:
    """The upper end of a scale on which words still fit above *highest*, however low it is set."""
    return low + (highest - low) / (1 - _WORDS_EM / (tall * LOWEST))


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


def _steam_events(trace: Trace, load: Load) -> Iterator[Event]:
    hold = _hold(load)
    if hold is None:
        probe = list(trace.probes[0])
        yield Event(trace.seconds[probe.index(max(probe))], "hottest reading of the chamber")
        return
    yield Event(hold[0], "holding time begins")
    yield Event(hold[1], "holding time ends")
    inside = [n for n, second in enumerate(trace.seconds) if hold[0] <= second <= hold[1]]
    coldest = min(inside, key=lambda n: min(probe[n] for probe in trace.probes))
    hottest = max(inside, key=lambda n: max(probe[n] for probe in trace.probes))
    yield Event(trace.seconds[coldest], "lowest in the holding time")
    yield Event(trace.seconds[hottest], "highest in the holding time")


# --- hot water --------------------------------------------------------------------------------


def _washer_panels(
    seen: Seen, programme: ThermalProgramme, so_far: list[float], whole: _Whole
) -> Iterator[Panel]:
    trace, reached = seen.trace, so_far[-1]
    floor = programme.floor_c
    yield Panel(
        title="The whole cycle: temperature, °C",
        curves=tuple(_probes(trace, whole)),
        start=trace.seconds[0],
        end=trace.seconds[-1],
        low=min(_COLD, min(seen.coldest)),
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
        high=_with_room(0.0, max(reached, programme.target_s), 8),
        tall=8,
        levels=(Level(programme.target_s, f"needed: {programme.target_s:,g} s"),),
    )


def _stage_spans(seen: Seen) -> Iterator[Span]:
    def span(stage: Stage, says: str, *, sure: bool) -> Span:
        return Span(seen.trace.seconds[stage.first], seen.trace.seconds[stage.last], says, sure)

    if seen.counted is not None:
        yield span(seen.counted, "water: counts", sure=True)
    for stage in seen.dry:
        yield span(stage, "drying: does not count", sure=False)
    for stage in seen.unclear:
        yield span(stage, "water or air? does not count", sure=False)


def _washer_events(seen: Seen, programme: ThermalProgramme, so_far: list[float]) -> Iterator[Event]:
    seconds = seen.trace.seconds
    if seen.counted is not None:
        yield Event(seconds[seen.counted.first], "the stage that counts begins")
        yield Event(seconds[seen.counted.last], "the stage that counts ends")
    for stage in seen.dry:
        yield Event(seconds[stage.first], "drying begins")
    for stage in seen.unclear:
        yield Event(seconds[stage.first], "a stage that may be water or air begins")
    enough = next((n for n, a0 in enumerate(so_far) if a0 >= programme.target_s), None)
    if enough is not None:
        yield Event(seconds[enough], f"A0 has reached {programme.target_s:,g} s")


def _down(a0_s: float) -> str:
    """An A0 as it is said: never rounded up to a target that was missed."""
    return f"{int(a0_s * 10 + 1e-6) / 10:,.1f}".removesuffix(".0")
