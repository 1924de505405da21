"""What is always on: exposed now, exposed ever, uses traceable, and the lists behind them.

The numbers are the tally that is kept with every entry, never a count made for the page; each
exposure that is listed is found again by the same sweep, with its sources and its path.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from equip.desk.act.act import Refused
from equip.desk.clinic import Clinic
from equip.desk.lookback.exposure_json import AnswerNames, of_exposure
from equip.facts import moment
from equip.rules.lookback.reach import upstream
from equip.rules.lookback.sweep import Certainty, Exposure, Source, sweep
from equip.store.fold import exposures
from equip.store.fold.met import Contacts, clears
from equip.store.ledger import ledger
from equip.store.readings import exposure_rows, use_rows
from equip.store.readings.exposure_rows import ExposedRow
from equip.store.readings.use_rows import TouchRow
from equip.typed import is_digits

_NAMED, _NAMED_IN_LIST = 12, 4
"""As many earlier uses are named of one exposure; how many more there are is said."""
_STEPS = 4
"""As many entries of a path are linked from each of its ends."""

Spot = tuple[int, str, str]


@dataclass(frozen=True, slots=True)
class ExposedPanel:
    """How many uses are exposed now, ever were, and can be traced, of how many."""

    now: int
    ever: int
    traced: int
    uses: int

    @property
    def decided(self) -> int:
        return self.ever - self.now

    @property
    def gaps(self) -> int:
        return self.uses - self.traced

    @property
    def percent(self) -> str:
        """The traceable share as it is said; 100 only if it is all of them."""
        said = f"{self.traced / self.uses * 100:.1f}" if self.uses else ""
        return "over 99.9" if said == "100.0" and self.gaps else said


@dataclass(frozen=True, slots=True)
class After:
    """An earlier use that an exposure may carry from; *patient* None is a source outside."""

    patient: str | None
    at: datetime
    certainty: Certainty
    percent: str
    case: str


@dataclass(frozen=True, slots=True)
class Step:
    """An entry of a path; *after_gap* where steps before it are left out of the list."""

    path: str
    at: datetime
    after_gap: bool = False


@dataclass(frozen=True, slots=True)
class Exposed:
    """One exposure as people read it: after whom, how surely, and the entries of its path.

    *kind* is what the thing is.
    """

    row: ExposedRow
    kind: str
    found: Exposure
    sources: tuple[After, ...]
    more_sources: int
    percent: str
    path: tuple[Step, ...]
    left_out: int


@dataclass(frozen=True, slots=True)
class ExposedList:
    """One page of exposures; *onward* leads to the next, empty at the end."""

    rows: tuple[Exposed, ...]
    onward: str


def panel(clinic: Clinic) -> ExposedPanel:
    tally = exposures.tallies(clinic.store)
    uses = tally.get("uses", 0)
    return ExposedPanel(
        now=tally.get("open", 0),
        ever=tally.get("exposed", 0),
        traced=uses - tally.get("gaps", 0),
        uses=uses,
    )


def listed(clinic: Clinic, *, is_open: bool, onward: str = "", most: int = 25) -> ExposedList:
    """Exposures that are open, or decided, the newest first."""
    rows = exposure_rows.exposures(
        clinic.store,
        is_open=is_open,
        most=most + 1,
        beyond=spot(onward),
        newest_first=True,
    )
    onward = mark(rows[most - 1].spot) if len(rows) > most else ""
    return ExposedList(tuple(among(clinic, rows[:most])), onward)


def one(clinic: Clinic, item: str, use: str) -> Exposed | None:
    row = exposure_rows.exposure_of(clinic.store, item, use)
    return None if row is None else told(clinic, row, _NAMED)


def gaps(clinic: Clinic, onward: str = "", most: int = 50) -> tuple[list[TouchRow], str]:
    """Uses with nothing known before them, the newest first, and what leads to the next page."""
    rows = use_rows.gaps(clinic.store, most + 1, spot(onward))
    if len(rows) <= most:
        return rows, ""
    last = rows[most - 1]
    return rows[:most], mark((last.micros, last.item, last.use))


def told(clinic: Clinic, row: ExposedRow, most: int) -> Exposed | None:
    """The exposure of a row, swept anew, with the surest and latest *most* of its sources."""
    found = swept(clinic, row)
    if found is None:
        return None
    decided = exposure_rows.sources_decided(clinic.store, row.item, row.use)
    sources = sorted(found.sources, key=lambda source: (-source.certainty, -source.at, source.use))
    entries = surest(found).path.entries()
    return Exposed(
        row=row,
        kind=clinic.kind_names([row.item]).get(row.item, ""),
        found=found,
        sources=tuple(_after(source, decided) for source in sources[:most]),
        more_sources=max(len(sources) - most, 0),
        percent=_percent(float(found.share)),
        path=tuple(_steps(clinic, entries)),
        left_out=max(len(entries) - 2 * _STEPS, 0),
    )


def among(clinic: Clinic, rows: Iterable[ExposedRow], most: int = _NAMED_IN_LIST) -> list[Exposed]:
    """The exposures of several rows, in their order."""
    found = (told(clinic, row, most) for row in rows)
    return [one for one in found if one is not None]


def swept(clinic: Clinic, row: ExposedRow) -> Exposure | None:
    """What the sweep makes of this use, from all that bears on it."""
    history = Contacts(clinic.store)
    bearing = sorted(upstream(history, [(row.item, row.micros)], clears))
    for found in sweep(bearing, since=row.micros):
        if (found.item, found.use) == (row.item, row.use):
            return found
    return None


def surest(found: Exposure) -> Source:
    """The source with the strongest path; of those, the one that was used first."""
    return max(found.sources, key=lambda source: (source.certainty, -source.at))


def _after(source: Source, decided: dict[str, str]) -> After:
    return After(
        source.patient,
        moment(source.at),
        source.certainty,
        _percent(float(source.share)),
        decided.get(source.use, ""),
    )


def _percent(share: float) -> str:
    """A share that is not the whole, in per cent; empty for the whole."""
    if share == 1:
        return ""
    return f"{share * 100:.1f}" if share >= 0.001 else "less than 0.1"


def _steps(clinic: Clinic, paths: tuple[str, ...]) -> Iterator[Step]:
    """The entries of a path with their times; of a long one those at both ends."""
    kept = paths if len(paths) <= 2 * _STEPS else (*paths[:_STEPS], *paths[-_STEPS:])
    for number, path in enumerate(kept):
        site, _, position = path.rpartition("/")
        entry = ledger.entry(clinic.store, site, int(position))
        if entry is not None:
            after_gap = len(kept) < len(paths) and number == _STEPS
            yield Step(path, entry.fact.at, after_gap)


# --- as JSON, page by page ----------------------------------------------------------------------


def now_as_json(clinic: Clinic, after: str, limit: int) -> dict[str, Any]:
    """As `exposed-now --json` has it, but only *limit* of what is open, from *after* on."""
    names = AnswerNames(clinic)
    rows = exposure_rows.exposures(clinic.store, is_open=True, most=limit + 1, beyond=spot(after))
    found = (swept(clinic, row) for row in rows[:limit])
    counts = panel(clinic)
    return {
        "exposed": counts.now,
        "exposed_ever": counts.ever,
        "uses": counts.uses,
        "traceable": 1 - counts.gaps / counts.uses if counts.uses else None,
        "as_of": clinic.clock().isoformat(),
        "open": [of_exposure(one, names) for one in found if one is not None],
        "next": mark(rows[limit - 1].spot) if len(rows) > limit else None,
    }


def mark(place: Spot) -> str:
    """A place in a list of exposures as a text that stays true while others come and go."""
    return f"{place[0]}.{place[1]}.{place[2]}"


def spot(text: str) -> Spot | None:
    """The place that such a text names; None for an empty one."""
    if not text:
        return None
    at, _, rest = text.partition(".")
    item, _, use = rest.partition(".")
    if not (is_digits(at.removeprefix("-"), 19) and item and use):
        raise Refused("The place in this list is not readable: start from its first page.")
    return int(at), item, use
