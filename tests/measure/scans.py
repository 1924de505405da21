"""A scan from the bench's first byte to the last byte of its answer, the fact safely on disk.

Against the same server that answers with one bare insert, at a young and at an old ledger.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from statistics import median

from tests.measure.grown import Grown
from tests.measure.lines import Line, ms
from tests.measure.rounds import in_turns, percentile
from tests.measure.served import Bench, book_served, floor_served, together

MOST = 3.0
MOST_GROWTH = 1.2
_SCANS = {1: 720, 8: 120}  # each bench, in each turn: whole visits of twelve
_WARM_UP = 240


@dataclass(frozen=True, slots=True)
class Times:
    """Seconds: the median over all turns of each turn's median and 99th percentile."""

    p50: float
    p99: float


def measure(books: dict[str, Grown], folder: Path, rounds: int) -> Iterator[tuple[str, list[Line]]]:
    """The lines of each number of benches; *books* go by their size, smallest first."""
    with _served(books, folder) as ports:
        for benches in (1, 8):
            times = _times(books, ports, benches, rounds)
            who = "alone" if benches == 1 else f"{benches} benches at once"
            yield f"A scan through HTTP to disk, {who}", list(_lines(list(books), times))


@contextmanager
def _served(books: dict[str, Grown], folder: Path) -> Iterator[dict[str, int]]:
    with ExitStack() as open_:
        ports = {"floor": open_.enter_context(floor_served(folder / "floor.sqlite3"))}
        for size, grown in books.items():
            ports[size] = open_.enter_context(book_served(grown))
        yield ports


def _times(
    books: dict[str, Grown], ports: dict[str, int], count: int, rounds: int
) -> dict[str, Times]:
    any_book = next(iter(books.values()))
    ones: dict[str, Callable[[], list[float]]] = {}
    everybody: list[Bench] = []
    for name, port in ports.items():
        grown = books.get(name, any_book)
        benches = [
            Bench(number, port, grown.key, pair)
            for number, pair in enumerate(grown.pairs[:count], start=1 + 10 * count)
        ]
        everybody += benches
        together(benches, _WARM_UP // count // 12 * 12, checked=name in books)
        ones[name] = partial(together, benches, _SCANS[count], checked=name in books)
    try:
        seen = in_turns(ones, rounds)
    finally:
        for bench in everybody:
            bench.close()
    return {
        name: Times(
            median(percentile(turn, 0.5) for turn in turns),
            median(percentile(turn, 0.99) for turn in turns),
        )
        for name, turns in seen.items()
    }


def _lines(sizes: list[str], times: dict[str, Times]) -> Iterator[Line]:
    floor = times["floor"]
    for size in sizes:
        book = times[size]
        for what, ours, bare in (
            ("half of all", book.p50, floor.p50),
            ("99 of 100", book.p99, floor.p99),
        ):
            beside = f"{ms(ours)} against {ms(bare)}"
            yield Line(f"{size} facts, {what} scans done within", ours / bare, MOST, beside)
    young, old = times[sizes[0]], times[sizes[-1]]
    if young is not old:
        for what, before, now in (
            ("half of all", young.p50, old.p50),
            ("99 of 100", young.p99, old.p99),
        ):
            beside = f"{ms(now)} against {ms(before)}"
            yield Line(f"growth to {sizes[-1]} facts, {what}", now / before, MOST_GROWTH, beside)
