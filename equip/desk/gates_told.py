"""What a decontamination was and what it lacks to count, in words."""

from dataclasses import dataclass
from typing import Literal

from equip.desk.clinic import Clinic
from equip.facts import moment
from equip.rules.exposure import Contact
from equip.rules.loading import Load
from equip.rules.proofs import missing_steps
from equip.rules.standing import fold
from equip.rules.wording import several
from equip.scan import show_tag
from equip.store import readings
from equip.store.about import told_about

Missing = Literal["verdict", "release", "steps"]


@dataclass(frozen=True, slots=True)
class Lack:
    """What nobody has told of a decontamination, and the sentence that says so."""

    missing: Missing
    says: str


def lack(clinic: Clinic, gate: Contact) -> Lack:
    """Why a gate proves nothing yet: its load is not judged or not let go, or a step is missing."""
    load = readings.load_of(clinic.store, gate.ref)
    if load is not None and load.verdict is None:
        return Lack("verdict", f"load {show_tag(gate.ref)} has no verdict")
    if load is not None and load.verdict == "undecided":
        return Lack("verdict", f"load {show_tag(gate.ref)} cannot be judged")
    if load is not None and load.decided is None and not load.past:
        return Lack("release", f"nobody let load {show_tag(gate.ref)} go, or rejected it")
    steps = several([f"“{step}”" for step in steps_missing(clinic, gate)]) or "ahead of it"
    where = name(gate)
    return Lack("steps", f"the step {steps} of {show_tag(gate.item)} before {where} is not told")


def says(clinic: Clinic, gate: Contact) -> str:
    """A gate as one line: what it was, and whether it stops anything."""
    if gate.effect == "clears":
        return f"Effective decontamination: {name(gate)}."
    if gate.effect == "unproven":
        return f"Not proven, for {lack(clinic, gate).says}."
    load = readings.load_of(clinic.store, gate.ref)
    return f"No effective decontamination: {name(gate)}{_why_not(load)}."


def name(gate: Contact) -> str:
    """The load, or that it was a step by hand."""
    return f"load {show_tag(gate.ref)}" if gate.ref.startswith("L") else "a step by hand"


def _why_not(load: Load | None) -> str:
    if load is None:
        return ""
    if load.verdict == "fail":
        return " failed"
    if load.state == "rejected":
        return " was rejected"
    if load.verdict == "pass" and load.state in ("released", "judged"):
        return ", which is in doubt, was held back or stops nothing by itself"
    return ""


def steps_missing(clinic: Clinic, gate: Contact) -> list[str]:
    """Required steps ahead of the gate that nobody recorded since the thing was last soiled."""
    at = moment(gate.at)
    told = [entry.fact for entry in told_about(clinic.store, gate.item) if entry.fact.at <= at]
    stands = fold(gate.item, told)
    return missing_steps(stands, clinic.house.kind(stands.type), at)
