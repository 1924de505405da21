"""What is asked before a load is released, and what its records answer of that themselves."""

from dataclasses import dataclass
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.facts import Process, Told
from equip.rules.fitness.gates import gate_step, skipped_steps, steps_ahead
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import waits_ahead
from equip.rules.loads.load import Load
from equip.rules.loads.release_questions import WASHED, questions
from equip.scan import show_tag
from equip.store.readings import item_rows


@dataclass(frozen=True, slots=True)
class ReleaseQuestions:
    """*asks* are for a person to look at. *waits* say what ahead of it does not count, or not yet.

    *washed* is the question that the records answer with Yes; None where they say No, or where
    nothing is ahead of the load.
    """

    asks: tuple[Told, ...]
    washed: Told | None
    waits: tuple[Told, ...]

    @property
    def stated(self) -> tuple[Told, ...]:
        """Every question that a release now says Yes to."""
        return self.asks if self.washed is None else (*self.asks, self.washed)


def asked_before(clinic: Clinic, load: Load) -> ReleaseQuestions:
    """The questions of this load as it stands, for page, bench, ledger and record alike."""
    machine = item_rows.item_row(clinic.store, load.machine)
    process = clinic.house.kind(machine.type).process if machine is not None else None
    if process is None or load.state != "judged" or load.verdict != "pass":
        return ReleaseQuestions((), None, ())
    asks = questions(
        process.steps,
        wrapped=any(put.wrapped for put in load.inside),
        bare=any(not put.wrapped for put in load.inside),
    )
    inside = item_rows.standings(clinic.store, load.covers)
    rests = [one for one in inside if _rests_on_steps(clinic, one, process)]
    waits = [says for one in rests for says in _waits(clinic, one, load.ran or clinic.clock())]
    washed = WASHED if rests and not waits else None
    told = tuple(Told(code="step-unproven", says=says) for says in waits)
    return ReleaseQuestions(asks, washed, told)


def _rests_on_steps(clinic: Clinic, standing: Standing, process: Process) -> bool:
    """Whether this is the load that makes the item fit, with steps of its route ahead of it."""
    kind = clinic.house.kind(standing.type)
    gate = gate_step(kind)
    ahead = set(steps_ahead(kind)).difference(process.steps)
    return standing.contents_wait != "" or (
        gate is not None and gate.step in process.steps and bool(ahead)
    )


def _waits(clinic: Clinic, standing: Standing, at: datetime) -> list[str]:
    kind = clinic.house.kind(standing.type)
    says = waits_ahead(standing, kind, at)
    says += [f"Nobody recorded “{step}” before it." for step in skipped_steps(standing, kind, at)]
    if standing.contents_wait:
        says.append(standing.contents_wait)
    name = f"{kind.name} {show_tag(standing.item)}"
    return [f"{name}: {one}" for one in says]
