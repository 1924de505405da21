"""The start-of-day sheet of one machine: which tests are asked for, and how each stands.

How often a test is asked for and what a failed one means are dated rules; a test without an
interval is not asked for. Days are calendar days of the site.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Literal

from equip.facts import Process, Verdict
from equip.rules.fitness.agents import agent_of
from equip.typed import Mistyped, decimal_text, is_digits

Effect = Literal["block", "block-and-hold", "repeat"]
State = Literal["passed", "failed", "missing"]


@dataclass(frozen=True, slots=True)
class Kind:
    """One sort of test: what it is called and what is read for it. *readings* name numbers."""

    id: str
    name: str
    readings: tuple[str, ...] = ()
    for_hollow: bool = False


LEAK = ("start_kpa", "end_kpa", "settle_s", "timed_s")
_STEAM = (
    Kind("door-seal", "door seal and chamber"),
    Kind("automatic-control", "automatic control test"),
)
_VACUUM = (
    Kind("leak-rate", "leak rate test", LEAK),
    Kind("steam-penetration", "steam penetration test"),
    Kind("hollow-load", "hollow-load challenge", for_hollow=True),
)
_SPORE = (Kind("spore", "spore test"),)
_WASHER = (
    Kind("spray-arms", "spray arms and strainers"),
    Kind("washer-control", "automatic control test"),
    Kind("residual-protein", "residual protein test"),
    Kind("conductivity", "conductivity of the final rinse", ("us_cm",)),
)
_BATH = (
    Kind("fluid", "change of the fluid"),
    Kind("bath-protein", "residual protein test"),
    Kind("foil", "foil test"),
)
_SOAK = (Kind("strip", "test strip of the solution"),)


@dataclass(frozen=True, slots=True)
class Done:
    """The newest result of one test of a machine."""

    test: str
    at: datetime
    verdict: Verdict
    by: str
    path: str


@dataclass(frozen=True, slots=True)
class Line:
    """One test on the sheet of a day. *more* is said beside a failed one."""

    kind: Kind
    state: State
    last: Done | None
    due: date
    effect: Effect
    more: str = ""

    @property
    def stops(self) -> bool:
        """Whether the machine may not run for it. A test that is only to be repeated stops none."""
        return self.state == "missing" or (self.state == "failed" and self.effect != "repeat")

    @property
    def says(self) -> str:
        """Why the machine may not run, in a sentence."""
        if self.state == "failed":
            return f"The {self.kind.name} failed. {self.more}".rstrip()
        return f"The {self.kind.name} has not been done; it is due since {self.due}."


def kinds_for(process: Process) -> tuple[Kind, ...]:
    """The tests that a machine of this process can be asked for, in the order of the sheet."""
    if process.heat == "steam":
        return (*_STEAM, *(_VACUUM if process.vacuum else ()), *_SPORE)
    if process.heat == "hot-water":
        return _WASHER
    if soaks(process):
        return _SOAK
    return _SPORE if "sterilise" in process.steps else _BATH


def soaks(process: Process) -> bool:
    """Whether a machine disinfects by soaking: its programmes are judged by an agent."""
    return any(agent_of(programme.judged_by) for programme in process.programmes)


def line(
    kind: Kind, last: Done | None, passed: date | None, today: date, every_days: int, effect: Effect
) -> Line:
    """How *kind* stands on *today*: *last* is its newest result, *passed* the day it last passed.

    Every day means on the day itself; every seven days, on one of the last seven.
    """
    due = today if passed is None else passed + timedelta(days=every_days)
    if last is not None and last.verdict == "fail":
        return Line(kind, "failed", last, today, effect)
    return Line(kind, "missing" if today >= due else "passed", last, due, effect)


def why_not_run(lines: Sequence[Line], *, hollow: bool, signed: bool, must_sign: bool) -> list[str]:
    """Every reason why a load may not be started today; empty means it may.

    A hollow-load challenge is asked for only where something hollow is in the load.
    """
    reasons = [one.says for one in lines if one.stops and (hollow or not one.kind.for_hollow)]
    if must_sign and not signed and not reasons:
        reasons.append("Its sheet of the day is not signed.")
    return reasons


def unrecorded(numbers: Iterable[str]) -> list[tuple[int, int]]:
    """Runs of cycle numbers that the machine gave and the book does not know, newest first.

    Machines count every cycle: a number between two known ones that is missing is a cycle
    that nobody recorded. What came before the first known number is not asked for.
    """
    known = sorted({int(text) for text in numbers if is_digits(text, 8)})
    return [(a + 1, b - 1) for a, b in pairwise(known) if b - a > 1][::-1]


def ahead_of(numbers: Iterable[str], cycle_no: str) -> tuple[int, int] | None:
    """The first and last of the unrecorded cycles right ahead of *cycle_no*, None if none is."""
    if not is_digits(cycle_no, 8):
        return None
    return next((run for run in unrecorded(numbers) if run[1] == int(cycle_no) - 1), None)


def as_numbers(kind: Kind, given: Mapping[str, str]) -> dict[str, str]:
    """The readings of a form, each as a fact keeps it; ValueError names the one that is none."""
    found = {}
    for name in kind.readings:
        try:
            found[name] = decimal_text(given.get(name, ""))
        except Mistyped as problem:
            raise ValueError(f"{name}: {problem}") from None
    return found
