"""Each kind of fact as one line of the logbook. Tags and tokens stand in it as they are.

The sentences stand in the families beside this module: `bench`, `counts`, `loads`, `lookback`,
`upkeep`, `clinic`.
"""

from typing import Literal

from equip import facts
from equip.facts import Fact
from equip.rules.logbook import bench, clinic, counts, loads, lookback, upkeep
from equip.rules.logbook.names import Names

Margin = Literal["", "gate", "doubt", "no"]


def tell(fact: Fact, names: Names) -> str:
    """*fact* as a sentence for whoever reads the book."""
    return _TELLERS[type(fact)](fact, names)


def margin(fact: Fact) -> Margin:
    """The mark beside the line: an effective decontamination, a doubt, a no.

    A released load is one only if its machine disinfects or sterilises: whoever knows says so.
    """
    match fact:
        case facts.LoadReleased() | facts.LoadTakenOver(verdict="pass"):
            return "gate"
        case facts.LoadTakenOver():
            return "doubt"
        case facts.Stepped(step="disinfect", passed=True, unreleased=False):
            return "gate" if fact.stops else ""
        case facts.MachineTested(verdict="fail") | facts.Checked(passed=False):
            return "doubt"
        case facts.SporeTestRead(result="positive"):
            return "doubt"
        case facts.IndicatorRead():
            spoils = {"indicator-failed", "indicator-unclear"}
            return "" if spoils.isdisjoint(one.code for one in fact.reasons) else "doubt"
        case facts.LoadJudged():
            return "" if fact.verdict == "pass" else "doubt"
        case facts.Used():
            return "doubt" if fact.reasons else ""
        case facts.EvidenceConfirmed():
            return "doubt" if fact.differs else ""
        case facts.Asked():
            return "" if fact.allowed else "no"
        case facts.LoadRefused() | facts.StepRefused():
            return "no"
        case facts.LoadRejected() | facts.Quarantined() | facts.DoubtRaised() | facts.Hurt():
            return "doubt"
        case facts.IndicatorNotTurned() | facts.PieceMissing() | facts.PieceLost():
            return "doubt"
        case facts.ElectricallyTested():
            return "" if fact.verdict == "pass" else "doubt"
        case facts.Calibrated(found_is="fail" | "conditional-fail"):
            return "doubt"
        case facts.WorkSignedOff(decision="keep"):
            return "doubt"
        case facts.LogUnclaimed() | facts.DoubtScoped() | facts.DoubtContained():
            return "doubt"
        case _:
            return ""


_TELLERS = {
    **clinic.TELLERS,
    **bench.TELLERS,
    **counts.TELLERS,
    **loads.TELLERS,
    **lookback.TELLERS,
    **upkeep.TELLERS,
}
