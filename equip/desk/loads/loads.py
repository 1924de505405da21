"""A load from open to released: what goes in, its cycle, its judgement, who may let it go."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.act.as_told import told_of
from equip.desk.cycles import logs, reference_questions
from equip.desk.cycles.judging import judge_log, judge_values
from equip.desk.loads import soak_acts
from equip.desk.machines import baths, sheets
from equip.desk.people import competence
from equip.desk.people.competence import Doer
from equip.facts import Process, Programme, Told
from equip.photos import Photo
from equip.rulebook import Rules
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.suiting import (
    UNSUITED,
    contents_in,
    goes_in_bare,
    loose_in,
    steps_open,
    why_not_in,
)
from equip.rules.loads.load import Load
from equip.rules.loads.release import why_not_release
from equip.rules.verdict import Reason
from equip.scan import show_tag
from equip.store.kept import counters, files
from equip.store.readings import load_rows


@dataclass(frozen=True, slots=True)
class PutIn:
    """What came of putting one thing in."""

    load: str
    accepted: bool
    reasons: tuple[Told, ...]


def process_of(act: Act, machine: Standing) -> Process:
    """What a machine does to a load; Refused if it runs none."""
    process = act.kind(machine).process
    if process is None or not process.programmes:
        raise Refused(f"{act.label(machine)} runs no loads.")
    return process


def programme_of(process: Process, judged_by: str) -> Programme:
    """The machine's programme of that name; Refused with those it has."""
    for programme in process.programmes:
        if programme.judged_by == judged_by:
            return programme
    known = ", ".join(one.judged_by for one in process.programmes)
    raise Refused(f"This machine has no programme “{judged_by}”; it has {known}.")


def open_load(act: Act, machine: Standing, judged_by: str = "") -> str:
    """A new load on a machine that is free; its first programme unless one is named."""
    process = process_of(act, machine)
    if (busy := load_rows.load_on(act.store, machine.item)) is not None:
        raise Refused(f"Load {show_tag(busy.load)} is on this machine and has not ended.")
    reasons = [why for why in act.why_not_use(machine) if why.code != "never-processed"]
    if reasons:
        raise Refused(f"{act.label(machine)} may not run: {reasons[0].says}")
    judged_by = judged_by or baths.programme_by_filling(act.clinic, machine.item, process, act.at)
    programme = programme_of(process, judged_by) if judged_by else process.programmes[0]
    load = counters.take(act.store, "L")
    act.tell(facts.LoadOpened, load=load, machine=machine.item, programme=programme.judged_by)
    return load


def choose_programme(act: Act, load: Load, judged_by: str) -> Programme:
    """Another programme before the start; what is in already must suit it."""
    _expect(load, "filling", "Its programme can be changed only before it is started.")
    machine = act.standing(load.machine)
    programme = programme_of(process_of(act, machine), judged_by)
    for put in load.inside:
        spoils = _spoiling(unsuited(act, put.item, machine, programme, wrapped=put.wrapped))
        if spoils:
            raise Refused(f"{act.label(act.standing(put.item))}: {spoils[0].says}")
    act.tell(facts.LoadOpened, load=load.load, machine=load.machine, programme=programme.judged_by)
    return programme


def put_in(act: Act, load: Load, stands: Standing) -> PutIn:
    """One thing goes in, or is refused with every reason. A warning lets it in."""
    _expect(load, "filling", "It has been started: open another load.")
    machine = act.standing(load.machine)
    process = process_of(act, machine)
    programme = programme_of(process, load.programme)
    wrapped = stands.made is not None and not goes_in_bare(stands, process)
    reasons = unsuited(act, stands.item, machine, programme, wrapped=wrapped)
    spoils = _spoiling(reasons)
    if spoils:
        act.tell(facts.LoadRefused, load=load.load, item=stands.item, reasons=told_of(spoils))
        return PutIn(load.load, False, told_of(spoils))
    act.tell(
        facts.LoadAdded,
        load=load.load,
        item=stands.item,
        wrapped=wrapped,
        covers=_inside(act, stands),
    )
    ahead = steps_open(stands, act.kind(stands), process)
    warnings = [Told(code="step-missing", says=f"Nobody recorded “{s}” before.") for s in ahead]
    return PutIn(load.load, True, (*told_of(reasons), *warnings))


def unsuited(
    act: Act, item: str, machine: Standing, programme: Programme, *, wrapped: bool
) -> list[Reason]:
    """Why a thing, and what it holds, must not go through this programme of this machine.

    What holds for the pack or set as a whole is not said again for each thing inside.
    """
    stands = act.standing(item)
    process = process_of(act, machine)
    reasons = why_not_in(stands, act.kind(stands), process, programme, wrapped=wrapped)
    inside = contents_in(act.members(stands), process, programme, wrapped=wrapped)
    for loose in stands.loose:
        inside += loose_in(act.house.kind(loose.type), process, programme, wrapped=wrapped)
    own = {reason.code for reason in reasons}
    return reasons + [reason for reason in inside if reason.code not in own]


def take_out(act: Act, load: Load, stands: Standing) -> None:
    _expect(load, "filling", "It has been started: nothing can be taken out any more.")
    put = next((put for put in load.inside if put.item == stands.item), None)
    if put is None:
        raise Refused(f"{act.label(stands)} is not in load {show_tag(load.load)}.")
    act.tell(facts.LoadTakenOut, load=load.load, item=stands.item, covers=put.covers)


def start(
    act: Act,
    load: Load,
    typed: Mapping[str, str] | None = None,
    strip_lot: str = "",
    *,
    who: Doer | None = None,
) -> None:
    """The machine runs, started by *who*.

    *typed* is what was read of a soak bath before, *strip_lot* its strip's.
    """
    _expect(load, "filling", "It has been started already.")
    if not load.inside:
        raise Refused("Nothing is in this load: scan what goes in first.")
    machine = act.standing(load.machine)
    process = process_of(act, machine)
    hollow = sheets.has_hollow(act, act.house, load.covers)
    stops = sheets.why_not_run(act.clinic, load.machine, process, act.at, hollow=hollow)
    if stops:
        raise Refused(f"{act.label(machine)} may not run: {' '.join(stops)}")
    soaks = soak_acts.is_soak(load)
    values = soak_acts.before_start(act, load, typed or {}, strip_lot) if soaks else {}
    act.tell(
        facts.LoadStarted,
        load=load.load,
        machine=load.machine,
        programme=load.programme,
        covers=load.covers,
        typed=values,
        lapses=who.lapses if who else (),
        supervisor=who.supervisor if who else "",
    )


def end(
    act: Act,
    load: Load,
    *,
    cycle_no: str = "",
    log: bytes | None = None,
    log_name: str = "",
    layout: str | None = None,
    typed: Mapping[str, str] | None = None,
    photo: Photo | None = None,
    strip_lot: str = "",
    early: bool = False,
) -> None:
    """The cycle is over: its number, its log or what was read off the machine, judged at once.

    A load that has ended without evidence may be ended again with it; the evidence of a load
    that was judged stays, but that a log may follow where typed values decided nothing. A log is
    read by *layout*, or as its machine writes it now. A photo goes with typed values only: it is
    judged by nobody. *early* owns to it that a soak was ended before its time.
    """
    if load.state not in ("filling", "running", "ended") and not (log and load.may_have_log):
        raise Refused("This load has its evidence already.")
    if not load.inside:
        raise Refused("Nothing is in this load: scan what went in first.")
    if cycle_no and (other := load_rows.cycle_known(act.store, load.machine, cycle_no, load.load)):
        raise Refused(
            f"Cycle {cycle_no} of this machine belongs to load {show_tag(other)}: "
            "read the number on the machine again."
        )
    if photo is not None and not typed:
        raise Refused("A photo alone cannot be judged: type what it shows as well.")
    picture = files.keep(act.store, photo.data, photo.name) if photo is not None else ""
    handed = None
    if log is not None:
        handed = logs.hand_in(act, load, log, log_name, cycle_no, layout=layout)
        cycle_no = handed.cycle_no
    process = process_of(act, act.standing(load.machine))
    judged: dict[str, Any] | None = None
    if soak_acts.is_soak(load):
        soak_acts.expect_over(act, load, early=early)
        typed, judged = soak_acts.judged(act, load, typed or {}, strip_lot)
    elif handed is not None:
        judged = judge_log(act, load, process, handed.log.trace) | logs.evidence(handed)
    elif typed:
        judged = judge_values(act, load, process, typed, photo=photo is not None)
        judged |= {"photo": picture, "readers": (act.by,)}
    if load.state in ("filling", "running"):
        act.tell(
            facts.LoadEnded,
            load=load.load,
            machine=load.machine,
            steps=process.steps,
            cycle_no=cycle_no,
            log=handed.sha if handed else "",
            typed=dict(typed or {}),
            covers=load.covers,
            photo=picture,
        )
    if judged is None:
        return
    act.tell(
        facts.LoadJudged,
        load=load.load,
        machine=load.machine,
        programme=load.programme,
        covers=load.covers,
        **judged,
    )


def release_rules(rules: Rules) -> dict[str, bool]:
    """What the rule book says about who may release a load."""
    return {
        "two_people": rules.flag("release.two-people"),
        "corrected_two": rules.flag("release.corrected-two-people"),
    }


def release(
    act: Act,
    load: Load,
    by: str,
    held: Sequence[str] = (),
    note: str = "",
    *,
    answer: str = "",
    seen: Sequence[str] | None = None,
) -> list[str]:
    """All of a passed load, or all but the packs named, may be used. What is held back, listed.

    What does not suit the programme is held back whatever the verdict: a log is not a load. What
    its cycle raises beside the verdict is answered first: *seen* are the codes of the questions
    that whoever gave the *answer* had before them.
    """
    reasons = why_not_release(
        load,
        by,
        act.house.rights(by),
        **release_rules(act.house.rules(act.at)),
    )
    lapses, against = competence.for_release(act, by)
    reasons += against
    if reasons:
        raise Refused(" ".join(reason.says for reason in reasons))
    strange = [item for item in held if item not in {put.item for put in load.inside}]
    if strange:
        raise Refused(f"{show_tag(strange[0])} is not in this load.")
    machine = act.standing(load.machine)
    process = process_of(act, machine)
    programme = programme_of(process, load.programme)
    hollow = sheets.has_hollow(act, act.house, load.covers)
    ran = load.started or load.ended or act.at
    stops = sheets.why_not_run(act.clinic, load.machine, process, ran, hollow=hollow)
    if stops:
        raise Refused(f"On the day it ran, {act.label(machine)} was not to run: {' '.join(stops)}")
    kept = set(held)
    for put in load.inside:
        found = unsuited(act, put.item, machine, programme, wrapped=put.wrapped)
        if any(reason.code in UNSUITED for reason in found):
            kept.add(put.item)
    goes = [one for put in load.inside if put.item not in kept for one in (put.item, *put.covers)]
    stays = [one for put in load.inside if put.item in kept for one in (put.item, *put.covers)]
    if not goes:
        raise Refused("Nothing of this load may be released: reject it instead.")
    asked = reference_questions.answered(act, load, answer.strip(), seen)
    act.tell(
        facts.LoadReleased,
        load=load.load,
        released=tuple(goes),
        held=tuple(stays),
        note=note,
        asked=asked,
        answer=answer.strip() if asked else "",
        lapses=lapses,
    )
    return sorted(kept)


def reject(act: Act, load: Load, by: str, reason: str) -> None:
    if "release" not in act.house.rights(by):
        raise Refused("You have no right to decide about loads.")
    if load.state not in ("ended", "judged", "running"):
        raise Refused("Only a load that has run and is not decided can be rejected.")
    if not reason.strip():
        raise Refused("Give a reason: it is read years later.")
    act.tell(facts.LoadRejected, load=load.load, reason=reason.strip(), covers=load.covers)


def run_again(act: Act, before: Load) -> tuple[str, list[Told]]:
    """The same contents on the same machine in one go; the new load's tag and what stayed out."""
    if before.state in ("filling", "running"):
        raise Refused(f"Load {show_tag(before.load)} has not ended yet.")
    if before.state in ("ended", "judged"):
        act.tell(
            facts.LoadRejected,
            load=before.load,
            reason="run again with the same contents",
            covers=before.covers,
        )
    machine = act.standing(before.machine)
    load = open_load(act, machine, before.programme)
    programme = programme_of(process_of(act, machine), before.programme)
    out: list[Told] = []
    for put in before.inside:
        found = unsuited(act, put.item, machine, programme, wrapped=put.wrapped)
        spoils = [r for r in _spoiling(found) if r.code != "in-a-load"]
        if spoils:
            says = f"{act.label(act.standing(put.item))} stays out: {spoils[0].says}"
            out.append(Told(code=spoils[0].code, says=says))
            continue
        act.tell(facts.LoadAdded, load=load, item=put.item, wrapped=put.wrapped, covers=put.covers)
    return load, out


def _inside(act: Act, stands: Standing) -> tuple[str, ...]:
    """Everything tagged that a thing holds: what holds for the pack holds for them."""
    return stands.members


def _expect(load: Load, state: str, otherwise: str) -> None:
    if load.state != state:
        raise Refused(f"Load {show_tag(load.load)}: {otherwise}")


def _spoiling(reasons: Sequence[Reason]) -> list[Reason]:
    return [reason for reason in reasons if reason.spoils != "pass"]
