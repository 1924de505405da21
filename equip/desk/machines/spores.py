"""Spore tests of machines: which wait for their result, and how they stand on the sheet.

A positive one stops its machine and keeps unused stock back at once, by the rule of the sheet,
until enough repeats in a row are negative.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, cast

from equip.desk.act import keep_back
from equip.desk.act.act import Act, alert
from equip.desk.clinic import Clinic
from equip.facts import Process, Told
from equip.rules.fitness.lots import Lot
from equip.rules.machines import spores as rules_spores
from equip.rules.machines.leak_and_spores import Spore
from equip.rules.machines.sheet import Done, Effect, Kind, Line
from equip.rules.machines.sheet import line as sheet_line
from equip.rules.machines.spores import Episode, Outcome
from equip.rules.wording import day
from equip.scan import show_tag
from equip.store.readings import lot_rows, machine_rows
from equip.store.readings.machine_rows import SporeRow


@dataclass(frozen=True, slots=True)
class Waiting:
    """A spore test that nobody has read. *due* is when its result can be read, once it has run."""

    row: SporeRow
    lot: Lot | None
    due: datetime | None
    late: bool


def sort_of(process: Process) -> Literal["steam", "other"]:
    """How the rule of doubt calls this process: steam, or any other."""
    return "steam" if process.heat == "steam" else "other"


def negatives_needed(clinic: Clinic, process: Process, now: datetime) -> int:
    """How many repeats in a row must be negative before the machine is used again."""
    return clinic.house.rules(now).whole(f"spore.negatives-{sort_of(process)}")


def waiting(clinic: Clinic, now: datetime) -> list[Waiting]:
    """Spore tests that wait for their result, oldest first."""
    usual = clinic.house.rules(now).whole("spore.read-within-hours")
    found = []
    for row in machine_rows.spores_waiting(clinic.store):
        lot = lot_rows.lot_of(clinic.store, row.lot, clinic.house.zone)
        due = None if row.ran is None else rules_spores.to_be_read(row.ran, lot, usual)
        found.append(Waiting(row, lot, due, late=due is not None and due < now))
    return found


def late_lines(clinic: Clinic, now: datetime) -> list[str]:
    """A sentence for each result that nobody has read in time."""
    zone = clinic.house.zone
    return [
        f"The spore test in load {show_tag(one.row.load)} waits to be read since "
        f"{day(one.due.astimezone(zone), now.astimezone(zone))}."
        for one in waiting(clinic, now)
        if one.late and one.due is not None
    ]


def read_so_far(tests: Sequence[SporeRow]) -> list[Outcome]:
    """Those of *tests* that have run and been read."""
    return [
        Outcome(one.ran, one.read, cast(Spore, one.result))
        for one in tests
        if one.ran is not None and one.read is not None
    ]


def open_episode(clinic: Clinic, machine: str, process: Process, now: datetime) -> Episode | None:
    """What a positive test opened on this machine and no repeats have closed yet."""
    tests = read_so_far(machine_rows.spore_tests(clinic.store, machine))
    found = rules_spores.episodes(tests, negatives_needed(clinic, process, now))
    return found[-1] if found and found[-1].ended is None else None


def line(
    clinic: Clinic, machine: str, process: Process, kind: Kind, last: Done | None, now: datetime
) -> Line | None:
    """The spore test on the sheet of the day; None where no rule and no positive asks for one.

    A test that grows in its incubator counts as done until its result is late.
    """
    rules, today = clinic.house.rules(now), clinic.house.today(now)
    effect = cast(Effect, rules.text(f"test.{kind.id}.failed"))
    found = open_episode(clinic, machine, process, now)
    if found is not None:
        needed = negatives_needed(clinic, process, now)
        more = f"{found.in_a_row} of {needed} negative repeats in a row so far."
        return Line(kind, "failed", last, today, effect, more)
    every = rules[f"test.{kind.id}.every-days"]
    if every.value is None:
        return None
    done = [
        clinic.house.today(one.ran)
        for one in machine_rows.spore_tests(clinic.store, machine)
        if one.ran is not None and one.result == "negative"
    ]
    done += [
        clinic.house.today(one.row.ran)
        for one in waiting(clinic, now)
        if one.row.machine == machine and one.row.ran is not None and not one.late
    ]
    settled = None if last is not None and last.verdict == "fail" else last
    passed = max(done, default=None)
    return sheet_line(kind, settled, passed, today, rules.whole(every.id), effect)


def failed(act: Act, machine: str, ran: datetime, effect: str) -> None:
    """A positive test: word goes out, and unused stock is kept back where the rule says so."""
    label = act.label(act.standing(machine))
    alert(act, f"The spore test of {label} was positive: take it out of use, repeat the test.")
    if effect == "block-and-hold":
        tests = read_so_far(machine_rows.spore_tests(act.store, machine))
        since = rules_spores.last_negative(tests, ran)
        keep_back.hold(act, machine_rows.loads_since(act.store, machine, since), why_held(label))


def why_held(label: str) -> Told:
    """Why unused stock of a machine is kept back after a positive spore test."""
    return Told(code="spore-test-failed", says=f"a spore test of {label} was positive after it")
