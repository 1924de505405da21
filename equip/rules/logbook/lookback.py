"""What happened in a look-back, each as one line."""

from equip import facts
from equip.rules.logbook.names import Names, Tellers
from equip.rules.wording import counted, several

RISKS = {
    "A": "category A, a gross error or a practice proven to carry a high risk",
    "B": "category B, a lower chance that blood or body fluid was passed on",
    "none": "no risk seen",
}
"""As in the published steps for such an event (Patel and others 2008, step 4)."""


def _proof_given(fact: facts.ProofGiven, names: Names) -> str:
    about = [fact.case, *fact.loads, f"patient {fact.patient}" if fact.patient else ""]
    of = several([one for one in about if one])
    masked = f"patients named: {fact.reason}" if fact.unmasked else "patients as tokens"
    return (
        f"Proof file given, asked {fact.question}"
        + (f" ({of})" if of else "")
        + f"; {masked}; its digest begins {fact.digest[:12]}."
    )


def _raised(fact: facts.DoubtRaised, names: Names) -> str:
    on = f" on {several(list(fact.loads))}" if fact.loads else ""
    return f"Look-back {fact.case} opened{on}: {fact.why}"


def _scoped(fact: facts.DoubtScoped, names: Names) -> str:
    parts = [f"load {load}" for load in fact.loads]
    parts += [f"what was done to {item}" for item in dict.fromkeys(fact.items)]
    parts += [f"whom patient {fact.patient} may have exposed"] if fact.patient else []
    on = f" on account of {fact.about}" if fact.about else ""
    left = f" Left out: {len(fact.left_out)} of what was proposed." if fact.left_out else ""
    return (
        f"In doubt by look-back {fact.case}{on}: {several(parts) or 'no load and no step'}. "
        f"{fact.says}{left} Reason given: {fact.reason}"
    )


def _listed(fact: facts.DoubtListed, names: Names) -> str:
    return (
        f"Look-back {fact.case} listed: {counted(fact.uses, 'use')}, "
        f"{counted(fact.patients, 'patient')}, {counted(fact.gaps, 'gap')}; "
        f"digest {fact.digest[:12]}…"
    )


def _uses_decided(fact: facts.UsesDecided, names: Names) -> str:
    patients = counted(len(set(fact.patients)), "patient")
    return (
        f"By look-back {fact.case} decided about {counted(len(fact.uses), 'use')} on {patients}: "
        f"{fact.decision}. {fact.reason}"
    )


def _doubt_step(fact: facts.DoubtStep, names: Names) -> str:
    word = {
        "establish": "established",
        "tell": "told",
        "follow-up": "followed up",
        "learn": "learnt",
    }[fact.step]
    about = f" (patient {several(list(fact.patients))})" if fact.patients else ""
    return f"Look-back {fact.case}, {word}{about}: {fact.says}"


def _drill(fact: facts.DrillRun, names: Names) -> str:
    share = "" if fact.traceable is None else f", {fact.traceable * 100:.1f} % traceable"
    chosen = "at random" if fact.at_random else "by hand"
    return (
        f"Drill on load {fact.load}, chosen {chosen}: {counted(fact.uses, 'use')} on "
        f"{counted(fact.patients, 'patient')} listed in {fact.seconds} s{share}."
    )


def _rehearsal(fact: facts.RehearsalRun, names: Names) -> str:
    weakest = f" Weakest link: {fact.links[0].says}" if fact.links else ""
    share = "" if fact.traceable is None else f", {fact.traceable * 100:.1f} % traceable"
    return (
        f"Rehearsal of {fact.day} on load {fact.load}: {counted(fact.uses, 'use')} on "
        f"{counted(fact.patients, 'patient')} listed in {fact.seconds} s, "
        f"{counted(fact.unproven, 'use')} unproven{share}.{weakest}"
    )


TELLERS: Tellers = {
    facts.DoubtRaised: _raised,
    facts.DoubtDecided: lambda f, n: (
        f"Look-back {f.case} decided"
        + (", unfounded" if f.unfounded else "")
        + f": {f.decision}. {f.reason}"
    ),
    facts.DoubtScoped: _scoped,
    facts.DoubtContained: lambda f, n: (
        f"For look-back {f.case} kept back: {several(list(f.items)) or 'nothing'}."
    ),
    facts.DoubtListed: _listed,
    facts.RiskJudged: lambda f, n: f"Risk of look-back {f.case}: {RISKS[f.category]}. {f.reason}",
    facts.UsesDecided: _uses_decided,
    facts.DoubtStep: _doubt_step,
    facts.DoubtClosed: lambda f, n: f"Look-back {f.case} closed: {f.reason}",
    facts.DrillRun: _drill,
    facts.RehearsalRun: _rehearsal,
    facts.ProofGiven: _proof_given,
}
