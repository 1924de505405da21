"""A look-back played step by step: proposed, opened, taken further."""

from equip.desk.act.act import acting
from equip.desk.lookback.cases import case_acts, case_evidence
from equip.desk.lookback.cases.case_evidence import EvidenceSeen
from equip.rules.lookback.doubt_scope import Proposal
from tests.support.playing import Play


def ask(play: Play, evidence: str, about: str, **more: object) -> Proposal:
    """What somebody's evidence puts in doubt."""
    asked = EvidenceSeen(case_evidence.evidence_named(evidence), about, **more)  # type: ignore[arg-type]
    return case_evidence.propose(play.clinic, asked, play.clock.now)


def opened(play: Play, proposal: Proposal, about: str, who: str = "nurse") -> str:
    """The look-back as it was proposed; its name."""
    with acting(play.clinic, by=play.people[who]) as act:
        return case_acts.open_case(
            act, proposal, about, "the curve looks odd", proposal.loads, proposal.gates
        )


def step(play: Play, what: object, *given: object, **more: object) -> object:
    """An act of the manager, a minute later."""
    play.clock.passes(minutes=1)
    with acting(play.clinic, by=play.people["manager"]) as act:
        return what(act, *given, **more)  # type: ignore[operator]
