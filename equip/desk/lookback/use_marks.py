"""What a use in a logbook is marked with: whom it may have exposed, or that it is a gap."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from equip.desk.clinic import Clinic
from equip.desk.lookback import exposed_now
from equip.desk.lookback.exposed_now import Exposed
from equip.facts import micros
from equip.rules.lookback.reach import downstream
from equip.store.fold.met import Contacts, clears
from equip.store.ledger.ledger import Entry
from equip.store.readings import exposure_rows, use_rows
from equip.store.readings.use_rows import TouchRow

_MOST_AFTER = 60
"""As many uses are listed that came after a load."""


@dataclass(frozen=True, slots=True)
class UseMark:
    """An exposure of a use, or why it is a gap; one of the two."""

    item: str
    exposed: Exposed | None = None
    gap: str = ""


@dataclass(frozen=True, slots=True)
class UseAfter:
    """A use of what was in a load, before the thing was next cleared."""

    touch: TouchRow
    marks: tuple[UseMark, ...]


Marks = dict[str, tuple[UseMark, ...]]
"""By the path of the entry that tells the use."""


def marks_of(
    clinic: Clinic, subject: str, entries: Sequence[Entry], touches: Iterable[TouchRow]
) -> Marks:
    """The marks of the uses among the *entries* of an item's or a patient's logbook."""
    if not entries:
        return {}
    times = [micros(entry.fact.at) for entry in entries]
    rows = exposure_rows.exposures_of(clinic.store, subject, min(times), max(times))
    marks: dict[str, list[UseMark]] = {}
    shown = {entry.path for entry in entries}
    for exposed in exposed_now.among(clinic, (row for row in rows if row.path in shown)):
        marks.setdefault(exposed.row.path, []).append(UseMark(exposed.row.item, exposed))
    for touch in touches:
        if touch.gap and touch.path in shown:
            marks.setdefault(touch.path, []).append(UseMark(touch.item, gap=touch.gap))
    return {path: tuple(found) for path, found in marks.items()}


def uses_after(clinic: Clinic, load: str) -> tuple[tuple[UseAfter, ...], int]:
    """Uses of what was in a load up to where each thing was next cleared; how many more."""
    history = Contacts(clinic.store)
    gates = history.gates_of(load)
    begun = {gate.item: gate.at for gate in gates}
    reached = downstream(history, [(gate.item, gate.at) for gate in gates], clears)
    uses = sorted(
        use for use in reached if use.what == "use" and use.at >= begun.get(use.item, use.at)
    )
    found = []
    for use in uses[:_MOST_AFTER]:
        touch = use_rows.touch_of(clinic.store, use.item, use.ref)
        if touch is not None:
            found.append(UseAfter(touch, tuple(_marks(clinic, touch))))
    return tuple(found), max(len(uses) - _MOST_AFTER, 0)


def _marks(clinic: Clinic, touch: TouchRow) -> Iterable[UseMark]:
    row = exposure_rows.exposure_of(clinic.store, touch.item, touch.use)
    for exposed in exposed_now.among(clinic, [] if row is None else [row]):
        yield UseMark(touch.item, exposed)
    if touch.gap:
        yield UseMark(touch.item, gap=touch.gap)
