"""A scan from the bench's first byte to the last byte of its answer, the fact safely on disk.

Against the same server that answers with one bare insert, at a young and at an old ledger. The
checks ahead of the session are made first, untimed. They end with the day, so a run that goes
past midnight stops.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from statistics import median

from equip import facts
from equip.store.database import Store
from equip.store.ledger import ledger
from tests.measure import scripts
from tests.measure.grown import Grown
from tests.measure.lines import Line, ms
from tests.measure.rounds import in_turns, percentile
from tests.measure.scripts import USED, VISIT
from tests.measure.served import Bench, book_served, floor_served, together
from tests.measure.sizes import size

MOST = 3.0
MOST_GROWTH = 1.2
_SCANS = {1: size(10, 1) * VISIT, 8: size(2, 1) * VISIT}  # each bench, in each turn
_WARM_UP = size(32, 8)  # visits, shared out among the benches


@dataclass(frozen=True, slots=True)
class Times:
    """Seconds: the median of each turn, and what 99 of 100 scans of all turns stayed within."""

    p50s: list[float]
    p99: float


def measure(books: dict[str, Grown], folder: Path, rounds: int) -> Iterator[tuple[str, list[Line]]]:
    """The lines of each number of benches; *books* go by their size, smallest first."""
    with _served(books, folder) as ports:
        for name, grown in books.items():
            _check(ports[name], grown)
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


def _check(port: int, grown: Grown) -> None:
    """What every clinic does ahead of a session; without it no scope may be used."""
    script = scripts.checks(grown.pairs)
    bench = Bench(0, port, grown.key, script)
    try:
        bench.scan(len(script))
    finally:
        bench.close()


def _times(
    books: dict[str, Grown], ports: dict[str, int], count: int, rounds: int
) -> dict[str, Times]:
    any_book = next(iter(books.values()))
    ones: dict[str, Callable[[], list[float]]] = {}
    with ExitStack() as open_:
        for name, port in ports.items():
            grown = books.get(name, any_book)
            benches = _benches(port, grown, count, bare=name not in books)
            for bench in benches:
                open_.callback(bench.close)
            if name in books:
                open_.enter_context(_all_written(grown, benches))
            together(benches, _WARM_UP // count * VISIT)
            ones[name] = partial(together, benches, _SCANS[count])
        seen = in_turns(ones, rounds)
    return {
        name: Times(
            [median(turn) for turn in turns],
            percentile([one for turn in turns for one in turn], 0.99),
        )
        for name, turns in seen.items()
    }


def _benches(port: int, grown: Grown, count: int, *, bare: bool) -> list[Bench]:
    benches = []
    for number, pair in enumerate(grown.pairs[:count], start=1 + 10 * count):
        script = scripts.visits(number, pair, grown.lot)
        benches.append(Bench(number, port, grown.key, scripts.bare(script) if bare else script))
    return benches


@contextmanager
def _all_written(grown: Grown, benches: list[Bench]) -> Iterator[None]:
    """Whatever *benches* scan meanwhile must be in the file afterwards: each scan and each use."""
    store = Store.open(str(grown.folder / "book.sqlite3"))
    store.connect()
    try:
        last, acts = ledger.heads(store)["TIMED"].position, _acts(store)
        yield
        written = ledger.entries(store, "TIMED", last + 1)
        uses = sum(isinstance(entry.fact, facts.Used) for entry in written)
        scans = _acts(store) - acts
    finally:
        store.dispose()
    answered = sum((bench.answered for bench in benches), Counter[bytes]())
    if (scans, uses) != (answered.total(), answered[USED]):
        raise RuntimeError(
            f"{answered.total()} scans with {answered[USED]} uses were answered,"
            f" {scans} with {uses} were written down."
        )


def _acts(store: Store) -> int:
    row = store.one("SELECT COUNT(*) FROM act")
    return int(row[0]) if row else 0


def _lines(sizes: list[str], times: dict[str, Times]) -> Iterator[Line]:
    for name in sizes:
        yield from _pair(f"{name} facts", times[name], times["floor"], MOST)
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
