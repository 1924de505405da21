"""Stored cycles judged again: how much more memory ten times as many take, and what one costs.

The cycles are computed and stand for no machine. Each is loaded by scans, ended with its log and
judged, as in any clinic.
"""

import tracemalloc
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from functools import partial
from pathlib import Path

from equip import rulebook
from equip.demo.cycles import steam_log
from equip.desk.act.act import acting
from equip.desk.cycles import rejudging
from equip.logs.plain import read_plain
from equip.rules.cycles.steam import judge as steam
from equip.store.database import Store, migrate
from tests.measure.lines import Line, ms
from tests.measure.rounds import medians
from tests.measure.sizes import size
from tests.support.playing import Play
from tests.support.stopped import StoppedClock

FEW, MANY = size(100, 2), size(1_000, 20)
MOST_GROWTH = 1.2
_ROUNDS = size(2, 1)  # there and back, each of all cycles: a median of four
_DAY = date(2026, 3, 4)


def measure(folder: Path) -> list[Line]:
    """The growth of memory from few cycles to many, and the time against the bare judging."""
    with _clinic(folder) as play:
        machine = play.add("steriliser-vacuum")
        _run(play, machine, FEW)
        few_until = play.clock.now.date()
        play.clock.passes(days=1)
        _run(play, machine, MANY - FEW)
        until = play.clock.now.date()
        small = _peak(play, machine, few_until, FEW)
        large = _peak(play, machine, until, MANY)
        logs = [steam_log(number) for number in range(1, MANY + 1)]
        times = medians(
            {"ours": partial(_again, play, machine, until, MANY), "floor": partial(_bare, logs)},
            _ROUNDS,
        )
    each, bare = times["ours"] / MANY, times["floor"] / MANY
    return [
        Line(
            f"memory at its highest, {FEW:,} cycles to {MANY:,}",
            large / small,
            MOST_GROWTH,
            f"{large / 1024:.0f} KiB against {small / 1024:.0f} KiB",
        ),
        Line(
            f"{MANY:,} cycles, each, to reading and judging its log",
            each / bare,
            None,
            f"{ms(each)} against {ms(bare)}",
        ),
    ]


@contextmanager
def _clinic(folder: Path) -> Iterator[Play]:
    store = Store.open(f"sqlite:///{folder / 'rejudged.sqlite3'}")
    migrate(store)
    store.connect()
    try:
        yield Play.begin(store, StoppedClock(), folder / "rejudged")
    finally:
        store.dispose()


def _run(play: Play, machine: str, count: int) -> None:
    """So many cycles of a steriliser, one after the other, each judged."""
    for _ in range(count):
        play.run(machine, play.add("hook"))


def _again(play: Play, machine: str, until: date, count: int) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        result = rejudging.rejudge(act, machine, date(2026, 1, 1), until, "measured")
    if (result.judged, result.flips) != (count, ()):
        raise RuntimeError(f"Of {count} cycles {result.judged} were judged again, or some flipped.")


def _peak(play: Play, machine: str, until: date, count: int) -> int:
    """The most memory that Python held at once, in bytes, beyond what it held before."""
    _again(play, machine, until, count)  # whatever is kept for good is kept by now
    tracemalloc.start()
    try:
        _again(play, machine, until, count)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def _bare(logs: list[bytes]) -> None:
    programme = rulebook.load("england").on(_DAY).programme("steam-134")
    for log in logs:
        steam.judge(read_plain(log), programme)
