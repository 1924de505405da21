"""Who is competent for which task on a day, and what may be done where somebody is not.

A day is judged by the assessments up to it: what is written down late is judged by the day it
happened. Nothing recorded is no fault unless the house says that it is (*record_needed*), so a
right that was given before competence was recorded keeps its meaning.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from equip.facts import Told
from equip.rules.days import add_months

CompetenceState = Literal[
    "unrecorded", "competent", "allowed", "lapsed", "trainee", "not-competent"
]

TASKS: dict[str, str] = {
    "use": "use on a patient",
    "clean": "clean, rinse, dry or wipe by hand",
    "disinfect": "disinfect by hand",
    "inspect": "inspect",
    "check": "check ahead of a session",
    "run": "start a load, or a soak",
    "sign": "sign the sheet of a machine",
    "release": "release loads",
    "measure": "calibrate, or test electrical safety",
}
OUTCOMES: dict[str, str] = {
    "competent": "competent",
    "trainee": "in training: under a supervisor",
    "not-competent": "not competent",
}
STEP_TASKS: dict[str, str] = {
    "wipe": "clean",
    "clean": "clean",
    "rinse": "clean",
    "dry": "clean",
    "disinfect": "disinfect",
    "inspect": "inspect",
}

# Who may set it aside, away from a release: only what lapsed or was never recorded is the
# person's own to answer for. A release always needs a named authority or a supervisor.
OWN_REASON = frozenset({"competence-lapsed", "competence-unrecorded"})


@dataclass(frozen=True, slots=True)
class Assessment:
    """What was found of one person and task, in the order it was told. "allowed" is leave given."""

    person: str
    task: str
    outcome: str
    since: date
    until: date | None = None
    assessor: str = ""
    outside: str = ""
    evidence: str = ""
    file: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class Held:
    """How one person stands for one task on a day, by which assessment."""

    state: CompetenceState
    found: Assessment | None = None
    leave: Assessment | None = None

    @property
    def until(self) -> date | None:
        return self.found.until if self.found else None


def held(told: Iterable[Assessment], person: str, task: str, day: date) -> Held:
    """How *person* stood for *task* on *day*; of one day's assessments the last told holds."""
    own = [one for one in told if (one.person, one.task) == (person, task) and one.since <= day]
    found = max(
        enumerate(one for one in own if one.outcome != "allowed"),
        key=lambda each: (each[1].since, each[0]),
        default=(0, None),
    )[1]
    state = _state(found, day)
    if state in ("lapsed", "unrecorded"):
        for one in reversed(own):
            if one.outcome == "allowed" and one.until is not None and day <= one.until:
                return Held("allowed", found, one)
    return Held(state, found)


def _state(found: Assessment | None, day: date) -> CompetenceState:
    if found is None:
        return "unrecorded"
    if found.outcome == "competent":
        return "competent" if found.until is None or day <= found.until else "lapsed"
    return "trainee" if found.outcome == "trainee" else "not-competent"


def why_not(held: Held, name: str, task: str, *, record_needed: bool) -> Told | None:
    """Why *name* should not do *task* by themselves, as it stands; None if they may.

    Leave given does not silence it: it is the way through, and is printed with it.
    """
    what = f"“{TASKS[task]}”"
    if held.state == "trainee":
        return Told(code="competence-trainee", says=f"{name} is in training for {what}.")
    if held.state == "not-competent" and held.found is not None:
        says = f"{name} was found not competent for {what} on {held.found.since}."
        return Told(code="competence-withdrawn", says=says)
    if held.found is not None and held.state in ("lapsed", "allowed"):
        says = f"{name}’s competence for {what} was valid until {held.until}."
        return Told(code="competence-lapsed", says=says)
    if held.found is None and record_needed:
        says = f"Nobody recorded that {name} is competent for {what}."
        return Told(code="competence-unrecorded", says=says)
    return None


def may_supervise(held: Held, *, record_needed: bool) -> bool:
    """Only who holds the competence on record supervises; unrecorded where that still counts."""
    return held.state == "competent" or (held.state == "unrecorded" and not record_needed)


def last_day(since: date, months: int) -> date:
    """The last day on which an assessment of *since* counts, if it is done anew every *months*.

    The day before it comes round; where that month is too short for it, the end of that month.
    """
    anew = add_months(since, months)
    return anew if anew.day < since.day else anew - timedelta(days=1)


def ending(told: Iterable[Assessment], on: date) -> list[tuple[str, str, Held]]:
    """Person, task and how it stands on a day, of each that has a last day; the soonest first."""
    own: dict[tuple[str, str], list[Assessment]] = {}
    for one in told:
        own.setdefault((one.person, one.task), []).append(one)
    found = [(person, task, held(each, person, task, on)) for (person, task), each in own.items()]
    ends = [
        (held.until, person, task, held) for person, task, held in found if held.until is not None
    ]
    return [(person, task, held) for _, person, task, held in sorted(ends, key=lambda one: one[:3])]


def lapsing(told: Iterable[Assessment], on: date, within_days: int) -> list[Assessment]:
    """Assessments in force that end within some days of *on*, or have ended; the soonest first."""
    edge = on + timedelta(days=within_days)
    return [
        held.found
        for _, _, held in ending(told, on)
        if held.found is not None and held.until is not None and held.until <= edge
    ]
