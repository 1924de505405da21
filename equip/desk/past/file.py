"""A file of the past, read whole and checked before anything is told: every fault by its line.

What no single line tells is planned here too: which names are packs, sets and machines.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import get_args

from equip import typed
from equip.desk.register.import_file import Problem, UnreadableFile
from equip.facts import Ear, Verdict
from equip.typed import Mistyped

COLUMNS = (
    "when",
    "what",
    "item",
    "patient",
    "load",
    "machine",
    "programme",
    "result",
    "who",
    "ear",
    "note",
)
WHATS = ("use", "load", "packed", "test", "quarantine", "lift", "join", "leave", "retire")
_EARS: tuple[str, ...] = get_args(Ear)
_RESULTS: dict[str, Verdict | None] = {"pass": "pass", "fail": "fail", "": None}
_NEEDS = {
    "use": ("item", "patient"),
    "load": ("item", "load"),
    "packed": ("item", "load"),
    "test": ("machine",),
    "join": ("item", "note"),
    "leave": ("item", "note"),
}
_CONTENTS = re.compile(r"contents\s*=\s*([0-9]{1,4})", re.IGNORECASE)
_MOST_PROBLEMS = 200


@dataclass(frozen=True, slots=True)
class PastRow:
    """One line: who did what with what, as it was written down before this book."""

    line: int
    when: datetime
    what: str
    item: str
    patient: str
    load: str
    machine: str
    programme: str
    verdict: Verdict | None
    who: str
    ear: str
    note: str
    contents: int | None


@dataclass(frozen=True, slots=True)
class PastFile:
    """All lines that are good, every fault of the others, and where each line ends in the bytes."""

    rows: tuple[PastRow, ...]
    problems: tuple[Problem, ...]


def read_past(data: bytes) -> PastFile:
    """Check *data*, a CSV file in UTF-8 with the header of COLUMNS."""
    rows: list[PastRow] = []
    problems: list[Problem] = []
    for line, cells in _lines(data):
        found: list[str] = []
        row = _row(line, cells, found)
        problems += [Problem(line, says) for says in found]
        if row is not None and not found:
            rows.append(row)
        if len(problems) >= _MOST_PROBLEMS:
            problems.append(Problem(line, "So many faults were found that reading stopped here."))
            break
    problems += _contradictions(rows)
    return PastFile(tuple(rows), tuple(sorted(problems, key=lambda problem: problem.line)))


def _lines(data: bytes) -> Iterator[tuple[int, list[str]]]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise UnreadableFile("The file is not UTF-8 text: save it as CSV in UTF-8.") from None
    if "\0" in text:
        raise UnreadableFile("The file is not text: save it as CSV in UTF-8.")
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        header = [name.strip().lower() for name in next(reader, [])]
        if header != list(COLUMNS):
            raise UnreadableFile(
                f"The first line is “{','.join(header)[:120]}”: it must be {','.join(COLUMNS)}."
            )
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield reader.line_num, cells
    except csv.Error as problem:
        raise UnreadableFile(
            f"Line {reader.line_num} is no CSV ({problem}): check its quotation marks."
        ) from None


def _row(line: int, cells: list[str], found: list[str]) -> PastRow | None:
    if len(cells) != len(COLUMNS):
        found.append(f"It has {len(cells)} cells and {len(COLUMNS)} are needed.")
        return None
    when, what, item, patient, load, machine, programme, result, who, ear, note = (
        cell.strip() for cell in cells
    )
    moment = _moment(when, found)
    if what not in WHATS:
        found.append(f"“{what}” is nothing that happens here: {', '.join(WHATS)}.")
        return None
    given = {"item": item, "patient": patient, "load": load, "machine": machine, "note": note}
    needed = _NEEDS.get(what, ("item",))
    found += [f"“{name}” is empty, and “{what}” needs it." for name in needed if not given[name]]
    if result not in _RESULTS:
        found.append(f"The result “{result}” was read: it is pass, fail or empty.")
    if ear not in _EARS:
        found.append(f"The ear “{ear}” was read: it is left, right, both or empty.")
    if moment is None or found:
        return None
    contents = _CONTENTS.search(note)
    count = int(contents.group(1)) if contents else None
    if count == 0:
        found.append("A pack holds at least one thing: contents=0 was read.")
    return PastRow(
        line=line,
        when=moment,
        what=what,
        item=item,
        patient=patient,
        load=load,
        machine=machine,
        programme=programme,
        verdict=_RESULTS[result],
        who=who,
        ear=ear,
        note=_CONTENTS.sub("", note).strip(" ;,"),
        contents=count,
    )


def _moment(text: str, found: list[str]) -> datetime | None:
    try:
        return typed.moment(text).astimezone(UTC)
    except Mistyped as problem:
        found.append(str(problem))
        return None


def _contradictions(rows: list[PastRow]) -> list[Problem]:
    """What no single line shows: a load told in two ways, a pack used before it was packed."""
    problems = []
    loads: dict[str, PastRow] = {}
    packed: dict[str, PastRow] = {}
    first: dict[str, PastRow] = {}
    for row in rows:
        if row.item and (row.item not in first or row.when < first[row.item].when):
            first[row.item] = row
        if row.what == "load":
            told = loads.setdefault(row.load, row)
            same = (told.when, told.machine, told.programme, told.verdict)
            if same != (row.when, row.machine, row.programme, row.verdict):
                says = f"Load {row.load} was told otherwise on line {told.line}: when, machine, "
                problems.append(Problem(row.line, f"{says}programme and result must agree."))
        elif row.what == "packed":
            if row.item in packed:
                says = f"{row.item} was packed on line {packed[row.item].line} already."
                problems.append(Problem(row.line, f"{says} Each pack has a name of its own."))
            packed.setdefault(row.item, row)
    for name, row in packed.items():
        if first[name].when < row.when:
            says = f"{name} is packed here, but line {first[name].line} has it earlier."
            problems.append(Problem(row.line, f"{says} Mend one of the two."))
        if row.load in loads and row.when < loads[row.load].when:
            says = f"{name} is packed out of load {row.load} before that load ended."
            problems.append(Problem(row.line, f"{says} Mend one of the two."))
    return problems


# --- what only the whole file tells ---------------------------------------------------------

Change = tuple[datetime, str, str]
"""When something joined or left a set, which of both, what it was."""


@dataclass
class PastPlan:
    """Which names of a file are packs, sets and machines, and since when there is word of each."""

    since: dict[str, datetime] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)
    packs: dict[str, int] = field(default_factory=dict)
    made_here: dict[str, PastRow] = field(default_factory=dict)
    sets: set[str] = field(default_factory=set)
    machines: dict[str, datetime] = field(default_factory=dict)
    loads: dict[str, list[PastRow]] = field(default_factory=dict)
    members: dict[str, list[Change]] = field(default_factory=dict)
    ears: dict[tuple[str, datetime], set[str]] = field(default_factory=dict)


def plan_of(rows: Iterable[PastRow]) -> PastPlan:
    """What all rows together tell of their names, read through once."""
    plan = PastPlan()
    mixed: set[str] = set()
    for row in rows:
        if row.item:
            plan.since[row.item] = min(row.when, plan.since.get(row.item, row.when))
        if row.machine:
            plan.machines[row.machine] = min(row.when, plan.machines.get(row.machine, row.when))
        match row.what:
            case "load":
                plan.loads.setdefault(row.load, []).append(row)
            case "packed":
                mixed.add(row.load)
                plan.packs.setdefault(row.item, 1)
                plan.made_here.setdefault(row.item, row)
                plan.kinds.setdefault(row.item, row.note)
            case "join" | "leave":
                plan.sets.add(row.note)
                plan.since[row.note] = min(row.when, plan.since.get(row.note, row.when))
                plan.members.setdefault(row.note, []).append((row.when, row.what, row.item))
            case "use":
                plan.ears.setdefault((row.patient, row.when), set()).add(row.ear)
        if row.what in ("use", "load") and row.note:
            plan.kinds.setdefault(row.item, row.note)
    for load in mixed:
        for row in plan.loads.get(load, ()):
            plan.packs[row.item] = row.contents or plan.packs.get(row.item, 1)
    for changes in plan.members.values():
        changes.sort(key=lambda change: (change[0], change[1] == "leave"))
    return plan
