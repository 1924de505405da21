"""What a decontamination was and what it lacks to count, in words."""

from dataclasses import dataclass
from typing import Literal

from equip import facts
from equip.desk.clinic import Clinic
from equip.facts import Hazard, Step, moment
from equip.rules.fitness.gates import missing_steps
from equip.rules.fitness.standing import fold
from equip.rules.fitness.stopping import USUAL, in_words
from equip.rules.lookback.sweep import Contact
from equip.rules.wording import several
from equip.scan import show_tag
from equip.store.ledger import ledger
from equip.store.ledger.about import told_about
from equip.store.readings import load_rows

Missing = Literal["verdict", "release", "steps"]


@dataclass(frozen=True, slots=True)
class Lack:
    """What nobody has told of a decontamination, and the sentence that says so."""

    missing: Missing
    says: str


def lack(clinic: Clinic, gate: Contact) -> Lack:
    """Why a gate proves nothing yet: its load is not judged or not let go, or a step is missing."""
    load = load_rows.load_of(clinic.store, gate.ref)
    if load is not None and load.verdict is None:
        return Lack("verdict", "it has no verdict")
    if load is not None and load.verdict == "undecided":
        return Lack("verdict", "it cannot be judged")
    if load is not None and load.decided is None and not load.past:
        return Lack("release", "nobody has released it")
    steps = several([f"“{step}”" for step in steps_missing(clinic, gate)]) or "ahead of it"
    return Lack("steps", f"the step {steps} before it is not told")


def says(clinic: Clinic, gate: Contact, hazard: Hazard = USUAL) -> str:
    """A gate as one line: what it was, and whether it stops *hazard* on this thing."""
    what, item = _did(clinic, gate), show_tag(gate.item)
    if gate.effect == "clears":
        return f"{what}: an effective decontamination of {item}"
    if gate.effect == "unproven":
        return f"{what}: {lack(clinic, gate).says}, so no proof that it cleared {item}"
    return f"{what} {_why_not(clinic, gate, hazard)}: it counts as nothing for {item}"


def _did(clinic: Clinic, gate: Contact) -> str:
    if gate.ref.startswith("L"):
        return f"Load {show_tag(gate.ref)}"
    told = _by_hand(clinic, gate)
    return f"{(told.step if told else 'a step').capitalize()} by hand"


def _by_hand(clinic: Clinic, gate: Contact) -> facts.Stepped | None:
    """The entry of a step by hand; None of a load."""
    if gate.ref.startswith("L"):
        return None
    site, _, position = gate.ref.rpartition("/")
    entry = ledger.entry(clinic.store, site, int(position))
    return entry.fact if entry and isinstance(entry.fact, facts.Stepped) else None


def name(gate: Contact) -> str:
    """The load, or that it was a step by hand."""
    return f"load {show_tag(gate.ref)}" if gate.ref.startswith("L") else "a step by hand"


def _why_not(clinic: Clinic, gate: Contact, hazard: Hazard) -> str:
    load = load_rows.load_of(clinic.store, gate.ref)
    if load is not None and load.verdict == "fail":
        return "failed"
    if load is not None and load.state == "rejected":
        return "was rejected"
    if load is not None and not load.past and gate.item not in load.released:
        return "was not released"
    told = _by_hand(clinic, gate)
    by_means = load.stops if load else told.stops or () if told else None
    if by_means is not None and hazard not in by_means:
        agent = f" with {told.agent}" if told and told.agent else ""
        without = " without a known agent" if told and not told.agent else ""
        return f"{agent}{without} does not stop {in_words([hazard])}".strip()
    stops = "" if hazard == USUAL else f" or stops no {hazard}"
    return f"was cut short, is in doubt{stops}" if load is None else f"is in doubt{stops}"


def steps_missing(clinic: Clinic, gate: Contact) -> list[Step]:
    """Required steps ahead of the gate that nobody recorded since the thing was last soiled."""
    at = moment(gate.at)
    told = [entry.fact for entry in told_about(clinic.store, gate.item) if entry.fact.at <= at]
    standing = fold(gate.item, told)
    return missing_steps(standing, clinic.house.kind(standing.type), at)
