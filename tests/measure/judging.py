"""Judging the log of one cycle: read and judge, against reading the file and one plain pass.

The plain pass turns every cell into a number and keeps the hottest: less cannot read a log.
"""

from datetime import date
from functools import partial
from pathlib import Path

from equip import rulebook
from equip.demo_cycles import steam_log
from equip.rules import steam
from equip.rules.steam import SteamProgramme
from equip.traces import read_file
from tests.measure.lines import Line, ms
from tests.measure.rounds import medians

SAMPLES = 3_600
_DAY = date(2026, 1, 5)


def measure(folder: Path, rounds: int) -> list[Line]:
    """One line for reading and judging, one for the reading alone, one for the judging alone."""
    path = folder / "cycle.csv"
    path.write_bytes(_log())
    rules = rulebook.load("england").on(_DAY)
    programme = rules.programme(rules.programmes()[0])
    trace = read_file(path)
    times = medians(
        {
            "ours": partial(_read_and_judge, path, programme),
            "reading": partial(read_file, path),
            "judging": partial(steam.judge, trace, programme),
            "floor": partial(_plain_pass, path),
        },
        rounds,
    )
    floor = times["floor"]
    return [
        Line(f"{SAMPLES:,} samples, {what}", times[name] / floor, None, _beside(times[name], floor))
        for name, what in (
            ("ours", "read and judged"),
            ("reading", "of that reading"),
            ("judging", "of that judging"),
        )
    ]


def _beside(ours: float, floor: float) -> str:
    return f"{ms(ours)} against {ms(floor)}"


def _log() -> bytes:
    """A cycle of exactly so many samples: the rest of the hour is spent holding."""
    short = len(steam_log(1, every_s=1).splitlines()) - 1
    log = steam_log(1, every_s=1, hold_s=215 + SAMPLES - short)
    if len(log.splitlines()) - 1 != SAMPLES:
        raise RuntimeError(f"The log has {len(log.splitlines()) - 1} samples.")
    return log


def _read_and_judge(path: Path, programme: SteamProgramme) -> None:
    steam.judge(read_file(path), programme)


def _plain_pass(path: Path) -> float:
    hottest = 0.0
    with path.open(encoding="ascii") as lines:
        next(lines)
        for line in lines:
            hottest = max(hottest, [float(cell) for cell in line.split(",")][1])
    return hottest
