"""Who may do which act, by whom that was found, until when; and acting when it had lapsed."""

from datetime import date
from typing import ClassVar, Literal

from equip.facts.base import Fact, RuleUsed, Told

Task = Literal["use", "clean", "disinfect", "inspect", "check", "run", "sign", "release", "measure"]
Outcome = Literal["competent", "trainee", "not-competent"]


class CompetenceAssessed(Fact, frozen=True, kw_only=True, tag="competence-assessed"):
    """A person was assessed for a task on the day *since*; the latest assessment holds.

    *assessor* is a badge of the house, or *outside* names somebody who is not of it. *until* is
    the last day on which it counts; *rules* is where that day came from if nobody gave another.
    *file* is the SHA-256 of a certificate.
    """

    names: ClassVar[tuple[str, ...]] = ("person", "assessor")
    person: str
    task: Task
    outcome: Outcome
    since: date
    until: date | None = None
    assessor: str = ""
    outside: str = ""
    evidence: str = ""
    file: str = ""
    rules: tuple[RuleUsed, ...] = ()


class LapseAllowed(Fact, frozen=True, kw_only=True, tag="lapse-allowed"):
    """A named authority lets somebody go on for some days whose competence has lapsed."""

    names: ClassVar[tuple[str, ...]] = ("person",)
    person: str
    task: Task
    since: date
    until: date
    reason: str


class LapseExplained(Fact, frozen=True, kw_only=True, tag="lapse-explained"):
    """Somebody goes on at a bench although their competence has lapsed, and says why."""

    names: ClassVar[tuple[str, ...]] = ("person",)
    person: str
    task: Task
    reasons: tuple[Told, ...]
    reason: str
