"""The time before this book, brought in from a file: in batches, so that it can be interrupted.

Names that are not known yet are made, and what they were called stays their alias. What the file
does not say is not claimed: first uses without a load before them are gaps. No alert goes out.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from itertools import islice

from equip import facts
from equip.desk.act.act import acting
from equip.desk.clinic import Clinic
from equip.desk.past.file import PastRow, plan_of
from equip.desk.past.tell import begin, tell
from equip.store.fold import exposures
from equip.store.readings import past_rows

BATCH = 10_000
"""Lines that are told in one transaction. Whoever scans meanwhile waits for it: at the speeds that
were measured a second on SQLite, three on PostgreSQL."""

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Summary:
    """What came of a file: its rows, how many are new, how many were here already.

    *exposed* and *gaps* are how many more uses are exposed, and how many more have nothing known
    before them: an import alarms nobody, so its summary says it.
    """

    rows: int
    added: int
    already: int
    items: int
    loads: int
    patients: int
    exposed: int
    gaps: int


def bring_in(
    clinic: Clinic,
    rows: tuple[PastRow, ...],
    data: bytes,
    name: str,
    progress: Progress = lambda done, of: None,
) -> Summary:
    """Tell all of *rows* that are not in the book yet; *data* is the file they were read from."""
    after = _done_before(clinic, data)
    digests = _Digests(data)
    so_far = begin(plan_of(rows), after)
    fresh = [row for row in rows if row.line > after]
    waiting = iter(fresh)
    done = 0
    before = exposures.tallies(clinic.store)
    while batch := list(islice(waiting, BATCH)):
        with acting(clinic, by="") as act:
            tell(act, so_far, batch)
            done += len(batch)
            act.by = ""
            act.tell(
                facts.PastBroughtIn,
                name=name[:200],
                line=batch[-1].line,
                digest=digests.up_to(batch[-1].line),
                rows=len(batch),
            )
        progress(done, len(fresh))
    now = exposures.tallies(clinic.store)
    return Summary(
        rows=len(rows),
        added=len(fresh),
        already=len(rows) - len(fresh),
        items=len(so_far.names.made),
        loads=len(so_far.names.made_loads),
        patients=len(so_far.names.patients),
        exposed=now.get("exposed", 0) - before.get("exposed", 0),
        gaps=now.get("gaps", 0) - before.get("gaps", 0),
    )


def _done_before(clinic: Clinic, data: bytes) -> int:
    """The last line of this very file that is in the book already, whatever it was called."""
    digests = _Digests(data)
    told = sorted(past_rows.past_lines(clinic.store))
    return max((line for line, digest in told if digests.up_to(line) == digest), default=0)


class _Digests:
    """SHA-256 of a file up to the end of a line, asked for line after line: each byte is read once.

    The line's own break does not count, so that a file may end with one or without.
    """

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._ends = _line_ends(data)
        self._at = 0
        self._hash = sha256()

    def up_to(self, line: int) -> str:
        end = self._ends[line - 1] if line <= len(self._ends) else len(self._data)
        while end > self._at and self._data[end - 1] in b"\r\n":
            end -= 1
        self._hash.update(memoryview(self._data)[self._at : end])
        self._at = max(end, self._at)
        return self._hash.hexdigest()


def _line_ends(data: bytes) -> list[int]:
    """Where each line ends, its break included; the first is line 1."""
    ends, at = [], 0
    while at := data.find(b"\n", at) + 1:
        ends.append(at)
    return ends


def problems_in(clinic: Clinic, rows: Iterable[PastRow]) -> Iterator[tuple[int, str]]:
    """Faults that only the clinic knows: times that have not come yet."""
    now = clinic.clock()
    for row in rows:
        if row.when > now:
            yield row.line, f"{row.when.isoformat()} has not come yet: mend the time."
