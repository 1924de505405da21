"""A look-back folded from its facts: what was done stage by stage, and what is next.

The stages are those that published guidance has in common, in plain words. Only a few wait for
another; a look-back that was found unfounded needs nothing but to be closed.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from equip import facts
from equip.facts import Fact, Hazard, Risk

Stage = Literal[
    "establish",
    "contain",
    "scope",
    "list",
    "risk",
    "decide",
    "tell",
    "follow-up",
    "close",
    "learn",
]
STAGES: dict[Stage, str] = {
    "establish": "Establish what happened",
    "contain": "Contain: keep back what is in doubt",
    "scope": "Set the scope: what is in doubt",
    "list": "List who may have been exposed",
    "risk": "Judge the risk",
    "decide": "Decide",
    "tell": "Tell those concerned",
    "follow-up": "Follow up",
    "close": "Close",
    "learn": "Learn from it",
}


@dataclass(frozen=True, slots=True)
class Case:
    """One look-back as it stands. *listed* is the newest list, *first_list* when one first was.

    *grown* says that more is in doubt than when its items were last kept back.
    """

    case: str
    raised: datetime | None = None
    who: str = ""
    why: str = ""
    evidence: str = ""
    about: str = ""
    says: str = ""
    loads: tuple[str, ...] = ()
    gates: tuple[tuple[str, str], ...] = ()
    left_out: tuple[str, ...] = ()
    held: tuple[str, ...] = ()
    patient: str = ""
    since: datetime | None = None
    until: datetime | None = None
    hazard: Hazard = "bacteria-viruses"
    contained: tuple[str, ...] | None = None
    grown: bool = False
    listed: facts.DoubtListed | None = None
    first_list: datetime | None = None
    stale: bool = False
    risk: Risk | None = None
    decided: bool = False
    unfounded: bool = False
    noted: frozenset[str] = frozenset()
    closed: datetime | None = None

    @property
    def clock(self) -> timedelta | None:
        """From the opening to the first list; None while there is none."""
        if self.raised is None or self.first_list is None:
            return None
        return self.first_list - self.raised


def fold(case: str, told: Iterable[Fact]) -> Case:
    """The look-back as its facts, oldest first, add up to."""
    stands = Case(case)
    for fact in told:
        if getattr(fact, "case", None) == case:
            stands = after(stands, fact)
    return stands


def after(stands: Case, fact: Fact) -> Case:
    match fact:
        case facts.DoubtRaised():
            return replace(
                stands, raised=fact.at, who=fact.by, why=fact.why, loads=fact.loads, evidence="load"
            )
        case facts.DoubtScoped():
            return replace(
                stands,
                grown=stands.grown or _grows(stands, fact),
                evidence=fact.evidence,
                about=fact.about,
                says=fact.says,
                loads=fact.loads,
                gates=tuple((item, ref) for item, _, ref in map(_parted, fact.gates)),
                left_out=fact.left_out,
                held=fact.held,
                patient=fact.patient,
                since=fact.since,
                until=fact.until,
                hazard=fact.hazard,
                stale=stands.listed is not None,
            )
        case facts.DoubtContained():
            kept = (*(stands.contained or ()), *fact.items)
            return replace(stands, contained=kept, grown=False)
        case facts.DoubtListed():
            first = stands.first_list or fact.at
            return replace(stands, listed=fact, first_list=first, stale=False)
        case facts.RiskJudged():
            return replace(stands, risk=fact.category)
        case facts.DoubtDecided():
            return replace(stands, decided=True, unfounded=fact.unfounded)
        case facts.DoubtStep():
            return replace(stands, noted=stands.noted | {fact.step})
        case facts.DoubtClosed():
            return replace(stands, closed=fact.at)
        case _:
            return stands


def _grows(stands: Case, scoped: facts.DoubtScoped) -> bool:
    """Whether *scoped* holds anything in doubt that the case did not hold before."""
    gates = {(item, ref) for item, _, ref in map(_parted, scoped.gates)}
    before = {*stands.loads, *stands.held}
    period = (scoped.patient, scoped.since, scoped.until)
    return bool(
        {*scoped.loads, *scoped.held} - before
        or gates - set(stands.gates)
        or (scoped.patient and period != (stands.patient, stands.since, stands.until))
        or (scoped.patient and scoped.hazard != stands.hazard)
    )


def _parted(gate: str) -> tuple[str, str, str]:
    return gate.partition(" ")


def done(stands: Case) -> dict[Stage, bool]:
    """Which stages are done."""
    found: dict[Stage, bool] = {
        "establish": stands.raised is not None,
        "contain": stands.contained is not None and not stands.grown,
        "scope": bool(stands.says or stands.loads),
        "list": stands.listed is not None and not stands.stale,
        "risk": stands.risk is not None,
        "decide": stands.decided,
        "tell": "tell" in stands.noted,
        "follow-up": "follow-up" in stands.noted,
        "close": stands.closed is not None,
        "learn": "learn" in stands.noted,
    }
    return found


def next_stage(stands: Case) -> Stage | None:
    """The first stage that waits, None when nothing does."""
    its = done(stands)
    wanted = ("decide", "close", "learn") if stands.unfounded else STAGES
    return next((stage for stage in STAGES if stage in wanted and not its[stage]), None)


def stage_of(fact: Fact) -> Stage | None:
    """The stage that a fact belongs to."""
    match fact:
        case facts.DoubtRaised():
            return "establish"
        case facts.DoubtStep():
            return fact.step
        case facts.UsesDecided() | facts.DoubtDecided():
            return "decide"
        case _:
            return _STAGE_OF.get(type(fact))


_STAGE_OF: dict[type[Fact], Stage] = {
    facts.DoubtScoped: "scope",
    facts.DoubtContained: "contain",
    facts.DoubtListed: "list",
    facts.RiskJudged: "risk",
    facts.DoubtClosed: "close",
}


def why_not_decide(stands: Case, *, unfounded: bool) -> str:
    """Why this look-back cannot be decided now; "" if it can."""
    if stands.closed is not None:
        return "It is closed: open another look-back for what came to light since."
    if stands.unfounded:
        return "It was found unfounded; what was decided stays in the book."
    if unfounded:
        return ""
    if stands.listed is None or stands.stale:
        return "List first who may have been exposed: what is decided is decided about a list."
    return ""


def why_not_close(stands: Case, undecided: int, exposed: int) -> str:
    """Why this look-back cannot be closed; "" if it can."""
    if stands.closed is not None:
        return "It is closed already."
    if not stands.decided:
        return "Decide it first; then it can be closed."
    if stands.unfounded:
        return ""
    if undecided:
        uses = "1 use of its list is" if undecided == 1 else f"{undecided} uses of its list are"
        return f"{uses} not decided: decide them first."
    if exposed and "tell" not in stands.noted:
        return "Write down who was told, or that nobody was and why; then it can be closed."
    return ""
