"""A machine's sheet of the day: its tests recorded, what a failed one means, signed.

A load on a machine whose test is missing or failed cannot be started or released; the refusal
says which test.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import cast

from equip import facts
from equip.desk.act import keep_back
from equip.desk.act.act import Act, Refused, alert
from equip.desk.act.as_told import rules_used, told_of
from equip.desk.act.rights import need
from equip.desk.clinic import Clinic
from equip.desk.machines import spores
from equip.desk.people import competence
from equip.facts import Process, Told, Verdict
from equip.rulebook import Rules
from equip.rulebook.measuring import LEAK, leak_limits
from equip.rules.machines import sheet as rules_sheet
from equip.rules.machines.leak_and_spores import why_leaking
from equip.rules.machines.sheet import Effect, Kind, Line
from equip.rules.verdict import worst
from equip.scan import show_tag
from equip.store.readings import item_rows, load_rows, machine_rows
from equip.typed import Mistyped, cycle_number


@dataclass(frozen=True, slots=True)
class DaySheet:
    """One machine's sheet of one day."""

    machine: str
    day: date
    lines: tuple[Line, ...]
    signed: str
    must_sign: bool

    @property
    def ready(self) -> bool:
        """Whether nothing on it stops the machine but a signature."""
        return not rules_sheet.why_not_run(self.lines, hollow=False, signed=True, must_sign=False)


def sheet(clinic: Clinic, machine: str, process: Process, now: datetime) -> DaySheet:
    """How the tests of *machine* stand on the day of *now*, by the rules in force then."""
    house = clinic.house
    today = house.today(now)
    rules = house.rules(now)
    done = machine_rows.tests_of(clinic.store, machine)
    lines: list[Line] = []
    for kind in rules_sheet.kinds_for(process):
        tests = [test for test in done if test.test == kind.id]
        if kind.id == "spore":
            own = spores.line(clinic, machine, process, kind, tests[-1] if tests else None, now)
            lines += [] if own is None else [own]
            continue
        every = rules[f"test.{kind.id}.every-days"]
        if every.value is None:
            continue
        passed = [house.today(one.at) for one in tests if one.verdict == "pass"]
        lines.append(
            rules_sheet.line(
                kind,
                tests[-1] if tests else None,
                passed[-1] if passed else None,
                today,
                rules.whole(every.id),
                cast(Effect, rules.text(f"test.{kind.id}.failed")),
            )
        )
    signed = machine_rows.signed_by(clinic.store, machine, today)
    must_sign = bool(lines) and rules.flag("sheet.signed")  # a sheet with no test on it is none
    return DaySheet(machine, today, tuple(lines), signed, must_sign)


def why_not_run(
    clinic: Clinic, machine: str, process: Process, at: datetime, *, hollow: bool
) -> list[str]:
    """Every reason why this machine may not run a load on the day of *at*."""
    day_sheet = sheet(clinic, machine, process, at)
    return rules_sheet.why_not_run(
        day_sheet.lines, hollow=hollow, signed=bool(day_sheet.signed), must_sign=day_sheet.must_sign
    )


def record(
    act: Act,
    machine: str,
    test: str,
    *,
    passed: bool | None = None,
    given: Mapping[str, str] | None = None,
    cycle_no: str = "",
    note: str = "",
) -> Verdict:
    """Write down one test. What is measured is judged; the rest is passed or failed by its reader.

    A test that failed and by its rule holds the unused stock keeps it back in the same act.
    """
    process = _process(act, machine)
    need(act, "test", "record periodic tests")
    kind = _kind(process, test)
    try:
        number = cycle_number(cycle_no)
    except Mistyped as problem:
        raise Refused(str(problem)) from None
    if number and (other := load_rows.cycle_known(act.store, machine, number, "")):
        raise Refused(f"Cycle {number} of this machine belongs to load {show_tag(other)}.")
    try:
        values = rules_sheet.as_numbers(kind, given or {})
    except ValueError as problem:
        raise Refused(str(problem)) from None
    rules = act.house.rules(act.at)
    if values:
        verdict, reasons, used = JUDGED[kind.id](rules, values)
    elif passed is None:
        raise Refused(f"Say whether the {kind.name} passed.")
    else:
        verdict = "pass" if passed else "fail"
        says = f"Its reader says that the {kind.name} failed."
        reasons = () if passed else (Told(code="failed-by-reader", says=says),)
        used = []
    act.tell(
        facts.MachineTested,
        machine=machine,
        test=kind.id,
        verdict=verdict,
        readings=values,
        reasons=reasons,
        rules=rules_used([*(rules[name] for name in used), rules[f"test.{kind.id}.every-days"]]),
        cycle_no=number,
        note=note,
    )
    if verdict == "fail":
        _failed(act, machine, kind, rules.text(f"test.{kind.id}.failed"))
    return verdict


def sign(act: Act, machine: str, reason: str = "") -> None:
    """Somebody answers for the sheet of today; not before every test on it allows the machine."""
    need(act, "test", "sign the sheet of the day")
    day_sheet = sheet(act.clinic, machine, _process(act, machine), act.at)
    if day_sheet.signed:
        raise Refused(f"It is signed already, by {act.house.person_name(day_sheet.signed)}.")
    stops = rules_sheet.why_not_run(day_sheet.lines, hollow=False, signed=True, must_sign=False)
    if stops:
        raise Refused(" ".join(stops))
    who = competence.by_reason(act, "sign", reason)
    act.tell(facts.SheetSigned, machine=machine, day=day_sheet.day, lapses=who.lapses)


def has_hollow(clinic: Clinic, covers: Sequence[str]) -> bool:
    """Whether anything hollow is in a load, untagged contents of packs included."""
    kind = clinic.house.kind
    for standing in item_rows.standings(clinic.store, covers):
        if kind(standing.type).hollow or any(kind(loose.type).hollow for loose in standing.loose):
            return True
    return False


Judged = tuple[Verdict, tuple[Told, ...], list[str]]
"""What was measured, judged: the verdict, every reason, the ids of the rules that were used."""


def _conductivity(rules: Rules, values: Mapping[str, str]) -> Judged:
    limit = rules.decimal("conductivity.limit")
    if Decimal(values["us_cm"]) <= limit:
        return "pass", (), ["conductivity.limit"]
    says = f"The final rinse has {values['us_cm']} µS/cm; at most {limit} are allowed."
    return "fail", (Told(code="conductivity-over", says=says),), ["conductivity.limit"]


def _leak(rules: Rules, values: Mapping[str, str]) -> Judged:
    read = {name: Decimal(number) for name, number in values.items()}
    if read["timed_s"] <= 0:
        raise Refused("The time of the leak test must be above 0 s: read it again.")
    if read["settle_s"] < 0:
        raise Refused("The time of settling cannot be below 0 s: read it again.")
    reasons = why_leaking(
        read["start_kpa"], read["end_kpa"], read["timed_s"], read["settle_s"], leak_limits(rules)
    )
    return worst(reasons), told_of(reasons), list(LEAK)


JUDGED: dict[str, Callable[[Rules, Mapping[str, str]], Judged]] = {
    "leak-rate": _leak,
    "conductivity": _conductivity,
}
"""How a test with readings is judged, by its id; its reader says how any other went."""


def _failed(act: Act, machine: str, kind: Kind, effect: str) -> None:
    if kind.id == "spore":
        spores.failed(act, machine, act.at, effect)
        return
    label = act.label(act.standing(machine))
    alert(act, f"The {kind.name} of {label} failed.")
    if effect != "block-and-hold":
        return
    passed = [
        one.at
        for one in machine_rows.tests_of(act.store, machine)
        if one.test == kind.id and one.verdict == "pass"
    ]
    why = Told(code="machine-test-failed", says=f"the {kind.name} of {label} failed after it")
    since = passed[-1] if passed else None
    keep_back.hold(act, machine_rows.loads_since(act.store, machine, since), why)


def _process(act: Act, machine: str) -> Process:
    process = act.kind(act.standing(machine)).process
    if process is None:
        raise Refused(f"{show_tag(machine)} is no machine with tests of its own.")
    return process


def _kind(process: Process, test: str) -> Kind:
    for kind in rules_sheet.kinds_for(process):
        if kind.id == test:
            return kind
    raise Refused(f"“{test}” is no test of this machine.")
