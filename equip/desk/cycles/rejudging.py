"""Stored cycles judged again: under another book, an edition of a day, or a corrected sensor.

A table of what flips; nothing is overwritten, and that it was asked is an entry. One log is in
memory at a time, however many cycles there are. The machine's own limits are those of its type
as it is now; boundaries of stages that were corrected by hand stay as they were corrected.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from equip import facts, rulebook
from equip.desk.act.act import Act, Refused
from equip.desk.cycles import logs
from equip.desk.cycles.judging import judge_trace
from equip.facts import Process, Verdict
from equip.logs.plain import Trace, UnreadableLog
from equip.rulebook import Book, MissingRule
from equip.rules.loads.load import Load
from equip.store.kept import files
from equip.store.readings import load_rows

CLINICS_OWN = "as it is here"


@dataclass(frozen=True, slots=True)
class Sensor:
    """What is known of a sensor now: true = reading x gain + offset, in °C; uncertainty in K."""

    offset_k: Decimal = Decimal(0)
    gain: Decimal = Decimal(1)
    uncertainty_k: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        if not abs(self.offset_k) <= 20:
            raise Refused("An offset is between -20 and 20 K: a sensor further off is broken.")
        if not Decimal("0.8") <= self.gain <= Decimal("1.2"):
            raise Refused("A gain is between 0.8 and 1.2: a sensor further off is broken.")
        if not 0 <= self.uncertainty_k <= 20:
            raise Refused("An uncertainty is between 0 and 20 K.")

    def corrected(self, trace: Trace) -> Trace:
        """The trace as a true sensor would have read it."""
        gain, offset = float(self.gain), float(self.offset_k)
        if (gain, offset) == (1.0, 0.0):
            return trace
        probes = tuple([reading * gain + offset for reading in probe] for probe in trace.probes)
        return Trace(trace.seconds, probes, trace.kpa, trace.notes)


@dataclass(frozen=True, slots=True)
class RejudgedRow:
    """One cycle whose verdict would be another, with why."""

    load: Load
    would_be: Verdict
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Result:
    """What came of it: how many were judged again, what flips, what could not be."""

    judged: int
    flips: tuple[RejudgedRow, ...]
    left_out: tuple[tuple[str, str], ...]


def rejudge(
    act: Act,
    machine: str,
    since: date,
    until: date,
    reason: str,
    *,
    book: str = CLINICS_OWN,
    rules_of: date | None = None,
    sensor: Sensor | None = None,
) -> Result:
    """Judge the machine's cycles of *since* to *until*, both included, again; told as one entry.

    *rules_of* takes the edition in force on that day for all of them; else each is judged by
    the edition of its own day.
    """
    if until < since:
        raise Refused(f"The range ends ({until}) before it begins ({since}).")
    if not reason.strip():
        raise Refused("Say why they are judged again: it is read years later.")
    chosen = act.house.book if book == CLINICS_OWN else _book(book)
    truth = sensor or Sensor()
    judged, flips, left_out = 0, [], []
    for load in _loads(act, machine, since, until):
        try:
            row = _again(act, load, chosen, rules_of, truth)
        except (MissingRule, UnreadableLog) as problem:
            left_out.append((load.load, str(problem)))
            continue
        judged += 1
        if row.would_be != load.verdict:
            flips.append(row)
    act.tell(
        facts.Rejudged,
        machine=machine,
        since=since,
        until=until,
        book=chosen.name,
        digest=chosen.digest,
        reason=reason.strip(),
        judged=judged,
        flipped=tuple(row.load.load for row in flips),
        verdicts=tuple(row.would_be for row in flips),
        rules_of=rules_of,
        offset_k=truth.offset_k,
        gain=truth.gain,
        uncertainty_k=truth.uncertainty_k,
    )
    return Result(judged, tuple(flips), tuple(left_out))


def _again(act: Act, load: Load, book: Book, rules_of: date | None, sensor: Sensor) -> RejudgedRow:
    data = files.fetch(act.store, load.log) if load.log else None
    if data is None:
        raise UnreadableLog("There is no log of it: what was typed is not judged again.")
    ran = load.ended or load.opened or act.at
    rules = book.on(rules_of or act.house.today(ran))
    process = act.kind(act.standing(load.machine)).process or Process(steps=())
    judged = judge_trace(
        rules,
        load.programme,
        sensor.corrected(logs.read(data, load.layout).trace),
        process,
        load,
        uncertainty_k=float(sensor.uncertainty_k),
    )
    says = tuple(reason.says for reason in judged.reasons if reason.spoils != "pass")
    return RejudgedRow(load, judged.verdict, says)


def _loads(act: Act, machine: str, since: date, until: date) -> Iterator[Load]:
    zone = act.house.zone
    first = datetime.combine(since, time(0), zone)
    after = datetime.combine(until + timedelta(days=1), time(0), zone)
    return load_rows.judged_loads(act.store, machine, first, after)


def _book(name: str) -> Book:
    try:
        return rulebook.load(name)
    except rulebook.UnknownBook as problem:
        raise Refused(str(problem)) from None
