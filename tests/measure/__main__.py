"""`make measure`: print every figure, as a ratio to its floor in this run, beside its aim.

SIZES are the two numbers of facts that scans are timed at (default 5000,1000000: some minutes
and two gigabytes in a temporary folder, deleted afterwards); ROUNDS how often all take turns.
With SMALL=1 everything runs once and small, which proves that it runs and measures nothing.
"""

import os
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from tests.measure import (
    appending,
    bringing_in,
    chain,
    duties,
    judging,
    reading,
    rejudged,
    reminding,
    scans,
)
from tests.measure.grown import Grown, grow
from tests.measure.lines import show
from tests.measure.sizes import SMALL, size

SIZES = (size(5_000, 200), size(1_000_000, 400))
ROUNDS = size(12, 1)


def main() -> int:
    """Measure and print; the status is 0 whatever was met, for a busy machine is no fault.

    A measure that cannot be had, or is answered otherwise than it should be, raises.
    """
    sizes = [int(one) for one in os.environ.get("SIZES", "").split(",") if one] or list(SIZES)
    rounds = int(os.environ.get("ROUNDS", ROUNDS))
    start = perf_counter()
    if SMALL:
        print("SMALL: this shows only that every measure runs. Its figures mean nothing.")
    print("Each ratio is to a floor measured in the same run, turn and turn about.")
    print("The times behind them belong to this machine, now; × is “times the floor”.")
    with TemporaryDirectory(prefix="measure-") as name:
        folder = Path(name)
        show("Judging the log of one cycle", judging.measure(folder, rounds))
        show("The memory of reading a day's log, to the most it may take", reading.measure(folder))
        show("A tick of reminders", reminding.measure(folder, rounds))
        show("Stored cycles judged again", rejudged.measure(folder))
        show("Facts into the ledger alone", appending.measure(folder, rounds))
        show("The past brought in", bringing_in.measure(folder))
        show("What is due", duties.measure(folder, rounds))
        books = _grown(folder, sizes)
        show("verify --chain", chain.measure(books[_named(sizes[0])], rounds))
        for title, lines in scans.measure(books, folder, rounds):
            show(title, lines)
    # In a process of its own: it tells the most memory that it took.
    subprocess.run([sys.executable, "-m", "tests.measure.tracing"], check=True)
    print(f"\nAll of it took {perf_counter() - start:.0f} s.")
    return 0


def _grown(folder: Path, sizes: list[int]) -> dict[str, Grown]:
    start = perf_counter()
    books = {_named(wanted): grow(folder / str(wanted), wanted) for wanted in sizes}
    print(f"\nBooks of {' and '.join(books)} facts were made in {perf_counter() - start:.0f} s.")
    return books


def _named(wanted: int) -> str:
    return f"{wanted:,}"


if __name__ == "__main__":
    sys.exit(main())
