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
_SCANS = {1: 150, 8: 30}  # each bench, in each turn: whole visits of fifteen
_WARM_UP = 480


@dataclass(frozen=True, slots=True)
class Times:
    """Seconds: the median of each turn, and what 99 of 100 scans of all turns stayed within."""

    p50s: list[float]
    p99: float


def measure(books: dict[str, Grown], folder: Path, rounds: int) -> Iterator[tuple[str, list[Line]]]:
    """The lines of each number of benches; *books* go by their size, smallest first."""
    with _served(books, folder) as ports:
        for benches in _SCANS:
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
        together(benches, _WARM_UP // count // 15 * 15, checked=name in books)
        ones[name] = partial(together, benches, _SCANS[count], checked=name in books)
    try:
        seen = in_turns(ones, rounds)
    finally:
        for bench in everybody:
            bench.close()
    return {
        name: Times(
            [median(turn) for turn in turns],
            percentile([one for turn in turns for one in turn], 0.99),
        )
        for name, turns in seen.items()
    }


def _lines(sizes: list[str], times: dict[str, Times]) -> Iterator[Line]:
    for size in sizes:
        yield from _pair(f"{size} facts", times[size], times["floor"], MOST)
    young, old = sizes[0], sizes[-1]
    if young != old:
        yield from _pair(f"growth to {old} facts", times[old], times[young], MOST_GROWTH)


def _pair(what: str, ours: Times, bare: Times, most: float) -> Iterator[Line]:
    """Turns that followed each other are compared with each other, so that drift falls out."""
    ratio = median(a / b for a, b in zip(ours.p50s, bare.p50s, strict=True))
    beside = f"{ms(median(ours.p50s))} against {ms(median(bare.p50s))}"
    yield Line(f"{what}, half of all scans", ratio, most, beside)
    beside = f"{ms(ours.p99)} against {ms(bare.p99)}"
    yield Line(f"{what}, 99 of 100 scans", ours.p99 / bare.p99, most, beside)
