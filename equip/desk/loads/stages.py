"""The stages of a load's cycle: shown as its log has them, corrected by hand with a reason.

A correction says where a stage began or ended, never what was measured: the log stays as it was
handed in, and whatever it contradicts is refused. It is judged again in the same act.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.desk.cycles import logs
from equip.desk.cycles.judging import judge_log
from equip.desk.loads.loads import process_of
from equip.desk.register import machine_limits
from equip.facts import Process, Told
from equip.logs.plain import Trace, UnreadableLog
from equip.rulebook import MissingRule, Rules
from equip.rules.cycles.boundaries import (
    AIR_REMOVAL_ENDS,
    BOUNDARIES,
    DRYING_BEGINS,
    BadBoundary,
    Boundaries,
    StagePart,
    as_boundaries,
    read_boundaries,
)
from equip.rules.cycles.steam import log as steam_log
from equip.rules.cycles.steam import parts as steam_parts
from equip.rules.cycles.washer import log as washer_log
from equip.rules.cycles.washer import parts as washer_parts
from equip.rules.cycles.washer import wet as washer_wet
from equip.rules.loads.fold import after
from equip.rules.loads.load import Load
from equip.rules.wording import exact_span, several
from equip.store.kept import files

_TOO_EARLY_OR_LATE = {
    "filling": "It has not been run yet.",
    "running": "It is still running.",
    "ended": "It has not been judged: hand in its log first.",
    "released": "It has been released: open a look-back if its judgement is in doubt.",
    "rejected": "It has been rejected: its contents go again.",
}


@dataclass(frozen=True, slots=True)
class StagesShown:
    """The stages of one load's log. *may* are the boundaries that can be corrected in it."""

    parts: tuple[StagePart, ...]
    found: Boundaries
    may: tuple[str, ...]


NOTHING = StagesShown((), Boundaries(), ())


def shown(clinic: Clinic, load: Load, process: Process | None) -> StagesShown:
    """The stages of the load's log; nothing where there is no log of a cycle by heat."""
    data = files.fetch(clinic.store, load.log) if load.log else None
    if data is None or process is None or load.verdict is None:
        return NOTHING
    try:
        trace = logs.read(data, load.layout).trace
        return _look(clinic.house.rules(load.ended or clinic.clock()), load, process, trace)
    except (UnreadableLog, MissingRule):
        return NOTHING


def _look(rules: Rules, load: Load, process: Process, trace: Trace) -> StagesShown:
    own = as_boundaries(load.boundaries)
    if load.programme in rules.thermal_programmes():
        programme = rules.thermal_programme(load.programme)
        seen = washer_log.look(trace, programme)
        found = washer_wet.boundaries(seen)
        limits = machine_limits.washer_stages(machine_limits.limits_of(process), rules)
        parts = washer_parts.parts(seen, programme, limits, own.over(found))
        return StagesShown(tuple(parts), found, (DRYING_BEGINS,))
    if load.programme not in rules.steam_programmes():
        return NOTHING
    band = rules.programme(load.programme)
    cycle = steam_log.look(trace, band)
    found = steam_parts.boundaries(cycle, band.low_c, rules.number("steam.pulse-turn"))
    may = (AIR_REMOVAL_ENDS, DRYING_BEGINS) if cycle.held and trace.kpa is not None else ()
    return StagesShown(tuple(steam_parts.parts(cycle, own.over(found))), found, may)


def correct(act: Act, load: Load, typed: Mapping[str, str], reason: str) -> None:
    """Boundaries that somebody with the right corrects, and the judgement that follows.

    What is left empty stands as it was found; all of it empty takes a correction back.
    """
    if "release" not in act.house.rights(act.by):
        raise Refused("You have no right to decide about loads, so none to correct their stages.")
    if load.state != "judged":
        raise Refused(_TOO_EARLY_OR_LATE[load.state])
    if not reason.strip():
        raise Refused(
            "Say why the stages are corrected, and by what record: it is read years later."
        )
    try:
        boundaries = read_boundaries(typed)
    except BadBoundary as problem:
        raise Refused(str(problem)) from None
    if boundaries == load.boundaries:
        raise Refused("These stages stand so already: nothing was corrected.")
    data = files.fetch(act.store, load.log) if load.log else None
    if data is None:
        raise Refused("This load has no log, so no stages to correct: what was typed stays.")
    process = process_of(act, act.standing(load.machine))
    trace = _trace(load, data)
    _expect_possible(act.house.rules(load.ended or act.at), load, trace, boundaries)
    told = act.tell(
        facts.StagesCorrected, load=load.load, boundaries=boundaries, reason=reason.strip()
    )
    judged = judge_log(act, after(load, told), process, trace)
    remark = Told(code="stages-corrected", says=says(act, told))
    act.tell(
        facts.LoadJudged,
        load=load.load,
        machine=load.machine,
        programme=load.programme,
        log=load.log,
        layout=load.layout,
        cycle_no=load.cycle_no,
        log_started=load.log_started,
        covers=load.covers,
        **{**judged, "reasons": (*judged["reasons"], remark)},
    )


def _trace(load: Load, data: bytes) -> Trace:
    try:
        return logs.read(data, load.layout).trace
    except UnreadableLog as problem:
        raise Refused(str(problem)) from None


def _expect_possible(rules: Rules, load: Load, trace: Trace, wanted: Mapping[str, str]) -> None:
    """Refused with whatever the log itself contradicts."""
    try:
        if load.programme in rules.thermal_programmes():
            programme = rules.thermal_programme(load.programme)
            seen = washer_log.look(trace, programme)
            against = washer_wet.why_not(seen, as_boundaries(wanted), programme)
        else:
            band = rules.programme(load.programme)
            cycle = steam_log.look(trace, band)
            against = steam_parts.why_not(cycle, as_boundaries(wanted), band.low_c)
    except MissingRule as problem:
        raise Refused(str(problem)) from None
    if against:
        raise Refused(" ".join(against))


def says(act: Act, told: facts.StagesCorrected) -> str:
    """The remark that every judgement by corrected stages carries."""
    where = [
        f"the {BOUNDARIES[name]} at {exact_span(float(seconds))}"
        for name, seconds in told.boundaries.items()
    ]
    who = act.house.person_name(told.by)
    if not where:
        return f"Stages as they were found again, by {who}: {told.reason}"
    return f"Stages corrected by {who}: {told.reason} ({several(where)})"
