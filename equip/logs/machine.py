"""A log as a machine writes it to samples, by the layout that describes it.

The units come out as everywhere in this house: elapsed seconds, °C and absolute kPa. What was
done on the way, such as the air pressure that was added, stands in the notes of the trace. Every
fault is one sentence that names the line.
"""

from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import BinaryIO, NoReturn

from equip.logs import layout as log_layout
from equip.logs import plain
from equip.logs.layout import Layout
from equip.logs.plain import Trace, UnreadableLog, shown
from equip.logs.rows import Row, Walk

__all__ = ["MachineLog", "Preview", "Row", "preview", "read_file", "read_with"]

# Below this no cycle disinfects or sterilises: a log that never reaches it may be in another unit.
_LUKEWARM_C = 65.0


@dataclass(frozen=True, slots=True)
class MachineLog:
    """A log that was read: its samples, the numbers the machine gave, when it began if it says so.

    *machine* and *cycle_no* are as written, "" where there were none.
    """

    trace: Trace
    machine: str = ""
    cycle_no: str = ""
    started: datetime | None = None


@dataclass(frozen=True, slots=True)
class Preview:
    """The first rows of a log by a layout; *fault* says why there are no more, or is ""."""

    rows: tuple[Row, ...]
    fault: str = ""
    machine: str = ""
    cycle_no: str = ""
    notes: tuple[str, ...] = ()


def read_with(
    layout: Layout, source: bytes | BinaryIO, *, limit_bytes: int = plain.LIMIT_BYTES
) -> MachineLog:
    """The log in *source*, line by line. Raises UnreadableLog."""
    walk = Walk(layout, source, limit_bytes)
    seconds = array("d")
    probes = tuple(array("d") for _ in layout.probes)
    kpa = None if layout.pressure is None else array("d")
    for row in walk.rows():
        seconds.append(row.at_s)
        for probe, celsius in zip(probes, row.celsius, strict=True):
            probe.append(celsius)
        if kpa is not None and row.kpa is not None:
            kpa.append(row.kpa)
    if len(seconds) < 2:
        found = "one reading" if len(seconds) else "no reading"
        raise UnreadableLog(
            f"By this layout the log has {found} and at least two are needed: look at the layout."
        )
    trace = Trace(seconds, probes, kpa, tuple(_notes(walk, probes)))
    _check_units(layout, trace)
    return MachineLog(trace, walk.machine, walk.cycle_no, walk.times.started)


def read_file(layout: Layout, path: Path, *, limit_bytes: int = plain.LIMIT_BYTES) -> MachineLog:
    """The log at *path*. Raises UnreadableLog, also where the file cannot be opened."""
    with plain.opened(path, limit_bytes) as file:
        return read_with(layout, file, limit_bytes=limit_bytes)


def preview(layout: Layout, source: bytes | BinaryIO, lines: int = 20) -> Preview:
    """The first *lines* readings as the layout has them, or those before the fault, and why."""
    rows: list[Row] = []
    try:
        walk = Walk(layout, source, plain.LIMIT_BYTES)
    except UnreadableLog as fault:
        return Preview((), str(fault))
    says = ""
    try:
        rows.extend(
            replace(row, text=shown(row.text.replace("\t", "  "), 200))
            for row in islice(walk.rows(), lines)
        )
        if not rows:
            says = "By this layout the log has no reading: look at the lines to skip."
    except UnreadableLog as fault:
        says = str(fault)
    notes = tuple(_notes(walk, ()))
    return Preview(tuple(rows), says, walk.machine, walk.cycle_no, notes)


# --- what was done, and what cannot be --------------------------------------------------------


def _notes(walk: Walk, probes: tuple[Sequence[float], ...]) -> Iterator[str]:
    layout = walk.layout
    if layout.gauge:
        yield (
            f"The log has gauge pressure: {walk.air_kpa:.3f} kPa of air pressure were added, "
            f"{walk.air_from}."
        )
    if walk.times.changed:
        yield "The clock was put forward or back during the log: its times are as they elapsed."
    hottest = max((max(probe) for probe in probes), default=_LUKEWARM_C)
    if layout.temperature == "°F" and hottest < _LUKEWARM_C:
        yield (
            f"Read as °F the hottest is {hottest:.1f} °C: if the machine writes °C, "
            "set the layout so."
        )


def _check_units(layout: Layout, trace: Trace) -> None:
    """What no chamber reads in the units of the layout."""
    lasted = trace.seconds[-1] - trace.seconds[0]
    if lasted > plain.LONGEST_S:
        _contradiction(f"a length of {lasted:g} s", "no cycle is so long; look at the times")
    hottest = max(max(probe) for probe in trace.probes)
    coldest = min(min(probe) for probe in trace.probes)
    if hottest > plain.HOTTEST_C:
        advice = "looks like °F" if layout.temperature == "°C" else "no chamber is so hot"
        _contradiction(f"a temperature of {hottest:.1f} °C", advice)
    if coldest < plain.COLDEST_C:
        _contradiction(f"a temperature of {coldest:.1f} °C", "no chamber is so cold")
    if trace.kpa is not None:
        air_kpa = log_layout.air_kpa(layout)[0] if layout.gauge else 0.0
        _check_pressure(layout, min(trace.kpa), max(trace.kpa), air_kpa, hottest)


def _check_pressure(
    layout: Layout, lowest: float, highest: float, air_kpa: float, hottest: float
) -> None:
    """*lowest* and *highest* are absolute, with *air_kpa* added if a gauge read them."""
    if lowest < plain.LOWEST_KPA:
        advice = (
            "more than all the air is missing; look at the unit and the barometer"
            if layout.gauge
            else "looks like gauge pressure, but the layout says absolute"
        )
        _contradiction(f"a pressure of {lowest:.1f} kPa", advice)
    if highest > plain.HIGHEST_KPA:
        advice = f"the unit cannot be {layout.pressure_unit}"
        _contradiction(f"a pressure of {highest:.1f} kPa", advice)
    if hottest > plain.HOT_C and highest - air_kpa < plain.HOLLOW_KPA:
        read = f"a pressure of {highest - air_kpa:.1f} kPa at most, with {hottest:.1f} °C"
        _contradiction(read, f"the unit cannot be {layout.pressure_unit}")


def _contradiction(read: str, advice: str) -> NoReturn:
    raise UnreadableLog(f"By this layout the log has {read}: {advice}. Correct the layout.")
