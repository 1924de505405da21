"""What evidence puts in doubt: proposed with one sentence, for a named person to confirm or narrow.

Nothing here holds anything in doubt. Windows open after the last thing known to be good and close
with the discovery, both as they happened: by the steps published for such events the last known
good is the latest result of the same kind that passed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from equip.facts import Verdict
from equip.rules.machines.leak_and_spores import Doubt
from equip.rules.wording import counted, several

Evidence = Literal[
    "load",
    "machine-test",
    "spores",
    "sensor",
    "lot",
    "person",
    "step",
    "patient",
    "damage",
    "out-of-tolerance",
    "water",
    "machine",
    "place",
]
Gate = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Ran:
    """A load that ran: when it ended, what it was judged, whether it was let go."""

    load: str
    ended: datetime
    verdict: Verdict | None = "pass"
    released: bool = True


@dataclass(frozen=True, slots=True)
class Did:
    """A decontamination of one item: by *ref*, a load or the entry of a step by hand."""

    item: str
    ref: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Proposal:
    """What is proposed to be in doubt, and the sentence that explains it.

    *held* are loads whose unused stock is kept back although they do not count as failed; *asks*
    is what is asked for besides.
    """

    evidence: Evidence
    says: str
    loads: tuple[str, ...] = ()
    gates: tuple[Gate, ...] = ()
    held: tuple[str, ...] = ()
    patient: str = ""
    since: datetime | None = None
    until: datetime | None = None
    asks: str = ""

    @property
    def is_empty(self) -> bool:
        """Whether nothing counts as failed and nobody is asked from."""
        return not (self.loads or self.gates or self.patient)


def of_load(load: str, name: str, verdict: Verdict | None, *, released: bool) -> Proposal:
    """A load that failed, that cannot be judged, or that somebody doubts: that load, whole."""
    what = {
        "fail": "failed",
        "undecided": "cannot be judged, which is treated as not passed",
        "pass": "passed by its log, and is doubted all the same",
        None: "has no verdict",
    }[verdict]
    let_go = " and was let go" if released and verdict != "pass" else ""
    return Proposal("load", f"Load {name} {what}{let_go}: all of it is in doubt.", loads=(load,))


def of_machine_test(
    test: str,
    name: str,
    effect: str,
    ran: Sequence[Ran],
    last_good: datetime | None,
    failed: datetime,
    *,
    defect: bool = False,
) -> Proposal:
    """A periodic test that failed. By its rule it stops the machine, holds its unused stock or asks
    for a repeat; it puts loads in doubt only once somebody found the machine at fault."""
    its = tuple(one.load for one in ran if _within(one.ended, last_good, failed))
    window = "since the same test last passed" if last_good else "so far, as it never passed here"
    if defect:
        says = (
            f"The {test} of {name} failed and the machine was found at fault: "
            f"{_loads(its)} {_are(its)} in doubt, all {window}."
        )
        return Proposal("machine-test", says, loads=its, since=last_good, until=failed)
    does, asks, held = _FAILED[effect]
    keeps = its if held else ()
    says = (
        f"The {test} of {name} failed: {does}. By itself it puts no load and no patient in doubt."
    )
    return Proposal("machine-test", says, held=keeps, since=last_good, until=failed, asks=asks)


_FAILED = {
    "repeat": ("it is repeated", "Repeat the test.", False),
    "block": (
        "the machine is stopped",
        "Repeat the test once the cause is found; if the machine was at fault, say so here.",
        False,
    ),
    "block-and-hold": (
        "the machine is stopped and its unused stock is kept back",
        "Repeat the test warm; if the machine was at fault, say so here.",
        True,
    ),
}


def of_spores(name: str, found: Doubt) -> Proposal:
    """Spore tests of a machine, by their own published rule."""
    loads = tuple(str(load) for load in found.in_doubt)
    why = " ".join(reason.says for reason in found.reasons if reason.code != "out-of-service")
    says = f"Spore tests of {name}: {_loads(loads)} {_are(loads)} in doubt. {why}".strip()
    return Proposal("spores", says, loads=loads)


def of_sensor(name: str, flips: Iterable[tuple[Ran, Verdict]]) -> Proposal:
    """A sensor out of tolerance: the loads that were let go and whose verdict is another now."""
    loads = tuple(
        ran.load
        for ran, would_be in flips
        if ran.released and ran.verdict == "pass" and would_be != "pass"
    )
    says = (
        f"A sensor of {name} read wrong: judged again, {_loads(loads)} that passed and "
        f"{'was' if len(loads) == 1 else 'were'} let go would not pass."
    )
    return Proposal("sensor", says, loads=loads)


def of_lot(name: str, loads: Sequence[str], gates: Sequence[Gate]) -> Proposal:
    """A lot that is recalled or spoilt: whatever it was used in."""
    says = f"{name} is in doubt: it was used in {_both(loads, gates)}."
    return Proposal("lot", says, loads=tuple(loads), gates=tuple(gates))


def of_person(
    name: str, loads: Sequence[str], gates: Sequence[Gate], since: datetime, until: datetime
) -> Proposal:
    """What somebody had a hand in, from the first moment to the last, both included."""
    says = f"{name} had a hand in {_both(loads, gates)} in that time."
    return Proposal("person", says, tuple(loads), tuple(gates), since=since, until=until)


def of_step(
    step: str, name: str, gates: Iterable[Did], since: datetime, until: datetime
) -> Proposal:
    """A step that was left out: every decontamination of the thing that rested on it."""
    its = [one for one in gates if since <= one.at <= until]
    says = f"The step “{step}” of {name} was left out: {_steps(its)} that needed it cannot count."
    return Proposal("step", says, gates=_pairs(its), since=since, until=until)


def of_patient(
    token: str, uses: int, since: datetime | None = None, until: datetime | None = None
) -> Proposal:
    """A source patient: whom what was used on that patient met before it was made fit again."""
    says = f"Patient {token} is asked from: {counted(uses, 'use')} of things on this patient."
    return Proposal("patient", says, patient=token, since=since, until=until)


def of_damage(
    name: str, gates: Iterable[Did], last_good: datetime | None, found: datetime
) -> Proposal:
    """An instrument found damaged: what was done to it since it last passed an inspection."""
    its = [one for one in gates if _within(one.at, last_good, found)]
    since = "since it last passed an inspection" if last_good else "so far, as it never passed one"
    says = f"{name} was found damaged: {_steps(its)} may not have cleaned it, all {since}."
    return Proposal("damage", says, gates=_pairs(its), since=last_good, until=found)


def of_tolerance(
    name: str, uses: int, patients: int, last_good: datetime | None, found: datetime
) -> Proposal:
    """A measuring thing out of tolerance: what it told of its patients. It carried nothing from one
    to another, so no load and no decontamination is in doubt."""
    since = "since it was last in tolerance" if last_good else "so far"
    says = (
        f"{name} was found out of tolerance: {counted(uses, 'use')} on "
        f"{counted(patients, 'patient')} {since}. What was decided by its readings is in doubt, "
        "and nobody was exposed by that."
    )
    asks = "Go through its uses in its logbook and say for whom it is measured again."
    return Proposal("out-of-tolerance", says, since=last_good, until=found, asks=asks)


def of_water(
    name: str,
    ran: Iterable[Ran],
    last_good: datetime | None,
    found: datetime,
    paths: Iterable[Did] = (),
) -> Proposal:
    """A bad water sample: what ran with that water since the last good one.

    *paths* are the disinfections of waterlines, which may not have done what they should.
    """
    loads = tuple(one.load for one in ran if _within(one.ended, last_good, found))
    its = [one for one in paths if _within(one.at, last_good, found)]
    since = "since the last good sample" if last_good else "so far, as no good sample is known"
    says = (
        f"The water of {name} was found bad: {_both(loads, its)} {_are([*loads, *its])} in doubt, "
        f"all {since}."
    )
    return Proposal("water", says, loads, _pairs(its), since=last_good, until=found)


def of_period(
    evidence: Literal["machine", "place"],
    name: str,
    ran: Iterable[Ran],
    since: datetime,
    until: datetime,
    gates: Iterable[Did] = (),
) -> Proposal:
    """A machine or a place in a period, both ends included; *gates* are those of what lay there."""
    loads = tuple(one.load for one in ran if since <= one.ended <= until)
    its = list(gates)
    says = f"{name} is in doubt in that time: {_both(loads, its)}."
    return Proposal(evidence, says, loads, _pairs(its), since=since, until=until)


def _within(at: datetime, after: datetime | None, until: datetime) -> bool:
    """After the last known good, which is not in doubt, up to the discovery, which is."""
    return (after is None or at > after) and at <= until


def _pairs(gates: Iterable[Did]) -> tuple[Gate, ...]:
    return tuple(dict.fromkeys((one.item, one.ref) for one in gates))


def _loads(loads: Sequence[str]) -> str:
    return counted(len(loads), "load")


def _steps(gates: Sequence[Did]) -> str:
    return counted(len(gates), "decontamination")


def _both(loads: Sequence[str], gates: Sequence[object]) -> str:
    parts = [_loads(loads)] if loads or not gates else []
    parts += [counted(len(gates), "step") + " by hand"] if gates else []
    return several(parts)


def _are(loads: Sequence[object]) -> str:
    return "is" if len(loads) == 1 else "are"
