"""The memory that a day's log takes, 24 hours at ten readings a second, read in its own process.

Beside it what a process takes that only holds columns of so many numbers, with the same modules.
Run as `python -m tests.measure.reading WAY FILE` it reads the log and prints its peak in bytes.
"""

import resource
import subprocess
import sys
from array import array
from collections.abc import Callable
from pathlib import Path

from equip.logs.layout import Layout
from equip.logs.machine import read_with
from equip.logs.plain import read_file
from tests.measure.lines import Line
from tests.measure.sizes import size

READINGS = size(24 * 3600 * 10, 600)
MOST_BYTES = 200 * 1024 * 1024
_ROOT = Path(__file__).resolve().parents[2]
_COLUMNS = 5
_LAYOUT = Layout(
    probes=("celsius", "celsius_2", "celsius_3"),
    pressure="kpa",
)


def measure(folder: Path) -> list[Line]:
    """One line for the plain reader, one for the reader by a layout."""
    path = folder / "day.csv"
    _write(path)
    peaks = {way: _peak(way, path) for way in _WAYS}
    path.unlink()
    beside = f"its columns alone {_mib(peaks['held'])}"
    return [
        Line(
            f"{READINGS:,} readings, {what}: of {_mib(MOST_BYTES)}",
            peaks[way] / MOST_BYTES,
            1.0,
            f"{_mib(peaks[way])}; {beside}",
        )
        for way, what in (("plain", "the plain log"), ("layout", "by a layout"))
    ]


def _write(path: Path) -> None:
    with path.open("w", encoding="ascii") as file:
        file.write("seconds,celsius,celsius_2,celsius_3,kpa\n")
        for tenth in range(READINGS):
            celsius = 20 + tenth % 11_500 / 100
            kpa = 100 + tenth % 20_000 / 100
            file.write(f"{tenth / 10},{celsius},{celsius + 0.1:.2f},{celsius - 0.1:.2f},{kpa}\n")


def _peak(way: str, path: Path) -> int:
    command = [sys.executable, "-m", __name__, way, str(path)]
    done = subprocess.run(command, cwd=_ROOT, capture_output=True, text=True, check=True)
    return int(done.stdout)


def _mib(size: int) -> str:
    return f"{size / 1024 / 1024:.0f} MiB"


# --- in the process that is measured ----------------------------------------------------------


def _plain(path: Path) -> object:
    return read_file(path)


def _by_layout(path: Path) -> object:
    with path.open("rb") as file:
        return read_with(_LAYOUT, file)


def _held(path: Path) -> object:
    return [array("d", bytes(8 * READINGS)) for _ in range(_COLUMNS)]


_WAYS: dict[str, Callable[[Path], object]] = {"plain": _plain, "layout": _by_layout, "held": _held}


def _main(way: str, path: str) -> None:
    kept = _WAYS[way](Path(path))
    print(highest())
    del kept


def highest() -> int:
    """The most memory that this process ever held, in bytes.

    Linux counts the parent's into what `getrusage` says of a child, so it is asked elsewhere.
    """
    status = Path("/proc/self/status")
    if status.exists():
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) * 1024
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak if sys.platform == "darwin" else peak * 1024


if __name__ == "__main__":
    _main(*sys.argv[1:])
