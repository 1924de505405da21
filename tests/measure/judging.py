"""Judging the log of one cycle, an hour of three probes at a reading a second, against a floor.

The floor reads the same file and passes once over it: the coldest and hottest probe of each
reading, the readings in the band, the widest spread, the lethality of the coldest. With numpy if
it can be imported, else in plain Python; the lines say which.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

from equip import rulebook
from equip.logs.plain import read_file
from equip.rules.cycles.heat import saturation_kpa
from equip.rules.cycles.steam import judge as steam
from equip.rules.cycles.steam.judge import SteamProgramme
from tests.measure.lines import Line, ms
from tests.measure.rounds import medians

READINGS = 3_601
MOST = 3.0
_DAY = date(2026, 1, 5)
_LOW_C, _HIGH_C, _REFERENCE_C, _Z_K = 134.0, 137.0, 121.1, 10.0


@dataclass(frozen=True, slots=True)
class Floor:
    """How the file is read and passed over without a judgement."""

    name: str
    read: Callable[[Path], Any]
    pass_over: Callable[[Any], object]

    def both(self, path: Path) -> object:
        return self.pass_over(self.read(path))


def measure(folder: Path, rounds: int) -> list[Line]:
    """Read and judged, read alone and judged alone; to each floor that can be had here."""
    path = folder / "cycle.csv"
    path.write_bytes(_log())
    programme = rulebook.load("england").on(_DAY).programme("steam-134")
    trace = read_file(path)
    if steam.judge(trace, programme).verdict != "pass":
        raise RuntimeError("The log does not pass: it would time something else.")
    ours: dict[str, Callable[[], object]] = {
        "read and judged": partial(_read_and_judge, path, programme),
        "judged alone": partial(steam.judge, trace, programme),
    }
    lines: list[Line] = []
    for number, floor in enumerate(_floors()):
        theirs = {
            "file": partial(floor.both, path),
            "columns": partial(floor.pass_over, floor.read(path)),
        }
        for work in (*ours.values(), *theirs.values()):
            work()  # the first time imports and fills caches
        times = medians({**ours, **theirs}, rounds)
        most = None if number else MOST
        lines += [
            _line(name, times[name], f"{floor.name}, read and passed over", times["file"], most)
            for name in ours
        ]
        alone = times["judged alone"]
        lines.append(
            _line("judged alone", alone, f"{floor.name}, one pass", times["columns"], None)
        )
    return lines


def _line(what: str, ours: float, floor: str, theirs: float, most: float | None) -> Line:
    beside = f"{ms(ours)} against {ms(theirs)} ({floor})"
    return Line(f"{READINGS:,} readings of 3 probes, {what}", ours / theirs, most, beside)


def _read_and_judge(path: Path, programme: SteamProgramme) -> None:
    steam.judge(read_file(path), programme)


def _log() -> bytes:
    """Ten minutes up, three quarters of an hour in the band, five minutes down; invented."""
    random = Random(20_261)
    lines = ["seconds,celsius,celsius_2,celsius_3,kpa"]
    for second in range(READINGS):
        if second < 600:
            celsius = 20 + 114.6 * second / 600
        elif second < 3300:
            celsius = 134.6 + random.uniform(-0.2, 0.2)
        else:
            celsius = 134 - (second - 3300) / 3
        others = [celsius - random.uniform(0, 0.3) for _ in range(2)]
        cells = (celsius, *others, saturation_kpa(celsius))
        lines.append(f"{second}," + ",".join(f"{cell:.2f}" for cell in cells))
    return ("\n".join(lines) + "\n").encode("ascii")


# --- floors -----------------------------------------------------------------------------------


def _floors() -> list[Floor]:
    plain = Floor("plain Python", _plain_read, _plain_pass)
    has_numpy = find_spec("numpy") is not None
    return [Floor("numpy", _numpy_read, _numpy_pass), plain] if has_numpy else [plain]


def _plain_read(path: Path) -> list[Sequence[float]]:
    with path.open(encoding="ascii") as file:
        next(file)
        rows = [[float(cell) for cell in line.split(",")] for line in file]
    return list(zip(*rows, strict=True))


def _plain_pass(columns: list[Sequence[float]]) -> tuple[int, float, float]:
    seconds, *probes, _ = columns
    inside, widest, rates = 0, 0.0, []
    for readings in zip(*probes, strict=True):
        coldest, hottest = min(readings), max(readings)
        inside += coldest >= _LOW_C and hottest <= _HIGH_C
        widest = max(widest, hottest - coldest)
        rates.append(10 ** ((coldest - _REFERENCE_C) / _Z_K))
    steps = zip(pairwise(seconds), pairwise(rates), strict=True)
    return inside, widest, sum((t1 - t0) * (r0 + r1) / 2 for (t0, t1), (r0, r1) in steps)


def _numpy_read(path: Path) -> Any:
    import numpy

    return numpy.loadtxt(path, delimiter=",", skiprows=1)


def _numpy_pass(table: Any) -> tuple[int, float, float]:
    import numpy

    seconds, probes = table[:, 0], table[:, 1:-1]
    coldest, hottest = probes.min(axis=1), probes.max(axis=1)
    inside = ((coldest >= _LOW_C) & (hottest <= _HIGH_C)).sum()
    lethality = numpy.trapezoid(10 ** ((coldest - _REFERENCE_C) / _Z_K), seconds)
    return int(inside), float((hottest - coldest).max()), float(lethality)
