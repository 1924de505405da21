"""A load until it runs: opened, what goes in and what is kept out, started; run again.

Its end is in `end`, its release and rejection in `release`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.act.as_told import told_of
from equip.desk.act.rights import need
from equip.desk.loads import soak_acts
from equip.desk.machines import baths, may_run, sheets
from equip.desk.people.competence import Doer
from equip.facts import Process, Programme, Told
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.suiting import (
    contents_in,
    goes_in_bare,
    loose_in,
    steps_open,
    why_not_in,
)
from equip.rules.fitness.why_not import waits_ahead
from equip.rules.loads.load import Load
from equip.rules.verdict import Reason
from equip.scan import show_tag
from equip.store.kept import counters
from equip.store.readings import load_rows


@dataclass(frozen=True, slots=True)
class PutIn:
    """What came of putting one item in."""

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
    known = ", ".join(programme.judged_by for programme in process.programmes)
    raise Refused(f"This machine has no programme “{judged_by}”; it has {known}.")


def open_load(act: Act, machine: Standing, judged_by: str = "") -> str:
    """A new load on a machine that is free; its first programme unless one is named."""
    process = process_of(act, machine)
    if (busy := load_rows.load_on(act.store, machine.item)) is not None:
        raise Refused(f"Load {show_tag(busy.load)} is on this machine and has not ended.")
    reasons = may_run.against_itself(act.clinic, machine, act.at)
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


def put_in(act: Act, load: Load, standing: Standing) -> PutIn:
    """An item goes in, or is refused with every reason. A warning lets it in."""
    _expect(load, "filling", "It has been started: open another load.")
    machine = act.standing(load.machine)
    process = process_of(act, machine)
    programme = programme_of(process, load.programme)
    wrapped = standing.made is not None and not goes_in_bare(standing, process)
    reasons = unsuited(act, standing.item, machine, programme, wrapped=wrapped)
    spoils = _spoiling(reasons)
    if spoils:
        act.tell(facts.LoadRefused, load=load.load, item=standing.item, reasons=told_of(spoils))
        return PutIn(load.load, False, told_of(spoils))
    act.tell(
        facts.LoadAdded,
        load=load.load,
        item=standing.item,
        wrapped=wrapped,
        covers=_inside(act, standing),
    )
    ahead = steps_open(standing, act.kind(standing), process)
    warnings = [Told(code="step-missing", says=f"Nobody recorded “{s}” before.") for s in ahead]
    return PutIn(load.load, True, (*told_of(reasons), *warnings, *_waiting(act, standing)))


def _waiting(act: Act, standing: Standing) -> list[Told]:
    """Earlier steps of an item, and of what a pack or a set holds, that do not count yet."""
    every = [(standing, act.kind(standing)), *act.members(standing)]
    says = [one for its, kind in every for one in waits_ahead(its, kind, act.at)]
    return [Told(code="step-unproven", says=one) for one in dict.fromkeys(says)]


def unsuited(
    act: Act, item: str, machine: Standing, programme: Programme, *, wrapped: bool
) -> list[Reason]:
    """Why an item, and what it holds, must not go through this programme of this machine.

    What holds for the pack or set as a whole is not said again for each item inside.
    """
    standing = act.standing(item)
    process = process_of(act, machine)
    reasons = why_not_in(standing, act.kind(standing), process, programme, wrapped=wrapped)
    inside = contents_in(act.members(standing), process, programme, wrapped=wrapped)
    for loose in standing.loose:
        inside += loose_in(act.house.kind(loose.type), process, programme, wrapped=wrapped)
    own = {reason.code for reason in reasons}
    return reasons + [reason for reason in inside if reason.code not in own]


def take_out(act: Act, load: Load, standing: Standing) -> None:
    _expect(load, "filling", "It has been started: nothing can be taken out any more.")
    put = next((put for put in load.inside if put.item == standing.item), None)
    if put is None:
        raise Refused(f"{act.label(standing)} is not in load {show_tag(load.load)}.")
    act.tell(facts.LoadTakenOut, load=load.load, item=standing.item, covers=put.covers)


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
    process_of(act, machine)
    hollow = sheets.has_hollow(act.clinic, load.covers)
    stops = may_run.why_not_run(act.clinic, load.machine, act.at, hollow=hollow, bath=False)
    if stops:
        says = " ".join(why.says for why in stops)
        raise Refused(f"{act.label(machine)} may not run: {says}")
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


def run_again(act: Act, before: Load) -> tuple[str, list[Told]]:
    """The same contents on the same machine in one go; the new load's tag and what stayed out."""
    if before.state in ("filling", "running"):
        raise Refused(f"Load {show_tag(before.load)} has not ended yet.")
    if before.state in ("ended", "judged"):
        need(act, "release", "reject a load, and it is rejected when it is run again")
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


def _inside(act: Act, standing: Standing) -> tuple[str, ...]:
    """Everything tagged that a thing holds: what holds for the pack holds for them."""
    return standing.members


def _expect(load: Load, state: str, otherwise: str) -> None:
    if load.state != state:
        raise Refused(f"Load {show_tag(load.load)}: {otherwise}")


def _spoiling(reasons: Sequence[Reason]) -> list[Reason]:
    return [reason for reason in reasons if reason.spoils != "pass"]
