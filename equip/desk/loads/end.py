"""The end of a load: its evidence (a log, values read off the machine, a soak) judged at once."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.cycles import logs
from equip.desk.cycles.judging import judge_log, judge_values
from equip.desk.loads import soak_acts
from equip.desk.loads.loads import process_of
from equip.photos import Photo
from equip.rules.loads.load import Load
from equip.scan import show_tag
from equip.store.kept import files
from equip.store.readings import load_rows


@dataclass(frozen=True, slots=True)
class LogFile:
    """The machine's own log, read by *layout*, or as its machine writes it now."""

    data: bytes
    name: str = ""
    layout: str | None = None


@dataclass(frozen=True, slots=True)
class ReadOff:
    """Values read off a display or a strip. The photo of it is kept and judged by nobody."""

    values: Mapping[str, str]
    photo: Photo | None = None


@dataclass(frozen=True, slots=True)
class SoakChecks:
    """The bath as it was checked: *values* are its temperature and strip, *strip_lot* its strip's.

    *early* owns to it that the soak was ended before its time.
    """

    values: Mapping[str, str] = field(default_factory=dict)
    strip_lot: str = ""
    early: bool = False


Evidence = LogFile | ReadOff | SoakChecks


@dataclass(frozen=True, slots=True)
class Weighed:
    """What evidence came to: what the end of the load keeps of it, and a judgement if it bears one.

    *judgement* holds the fields of the judgement as it is told.
    """

    cycle_no: str = ""
    log: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    photo: str = ""
    judgement: Mapping[str, Any] | None = None


def end_load(act: Act, load: Load, evidence: Evidence | None = None, *, cycle_no: str = "") -> None:
    """The cycle is over: its number and its evidence, judged at once.

    A load that has ended without evidence may be ended again with it. A soak needs none from
    outside: its time was measured here.
    """
    if evidence is None and soak_acts.is_soak(load):
        evidence = SoakChecks()
    _expect_open(load, evidence)
    _expect_own_number(act, load, cycle_no)
    weighed = _weighed(act, load, evidence, cycle_no)
    if load.state in ("filling", "running"):
        _tell_ended(act, load, weighed)
    if weighed.judgement is not None:
        _tell_judged(act, load, weighed.judgement)


# --- what may be ended ------------------------------------------------------------------------


def _expect_open(load: Load, evidence: Evidence | None) -> None:
    """A judged load keeps its evidence; a log may follow where typed values decide nothing."""
    may_follow = isinstance(evidence, LogFile) and evidence.data and load.may_have_log
    if load.state not in ("filling", "running", "ended") and not may_follow:
        raise Refused("This load has its evidence already.")
    if not load.inside:
        raise Refused("Nothing is in this load: scan what went in first.")
    if evidence is not None and isinstance(evidence, SoakChecks) != soak_acts.is_soak(load):
        raise Refused(
            "A soak is judged by what was checked of its bath, any other load by a log or by "
            "values read off its machine."
        )


def _expect_own_number(act: Act, load: Load, cycle_no: str) -> None:
    if cycle_no and (other := load_rows.cycle_known(act.store, load.machine, cycle_no, load.load)):
        raise Refused(
            f"Cycle {cycle_no} of this machine belongs to load {show_tag(other)}: "
            "read the number on the machine again."
        )


# --- evidence to judgement --------------------------------------------------------------------


def _weighed(act: Act, load: Load, evidence: Evidence | None, cycle_no: str) -> Weighed:
    match evidence:
        case LogFile():
            return _weighed_log(act, load, evidence, cycle_no)
        case ReadOff():
            return _weighed_values(act, load, evidence, cycle_no)
        case SoakChecks():
            return _weighed_soak(act, load, evidence, cycle_no)
        case None:
            return Weighed(cycle_no)


def _weighed_log(act: Act, load: Load, log: LogFile, cycle_no: str) -> Weighed:
    handed = logs.hand_in(act, load, log.data, log.name, cycle_no, layout=log.layout)
    process = process_of(act, act.standing(load.machine))
    judgement = judge_log(act, load, process, handed.log.trace) | logs.evidence(handed)
    return Weighed(handed.cycle_no, log=handed.sha, judgement=judgement)


def _weighed_values(act: Act, load: Load, read: ReadOff, cycle_no: str) -> Weighed:
    if not read.values:
        if read.photo is not None:
            raise Refused("A photo alone cannot be judged: type what it shows as well.")
        return Weighed(cycle_no)
    photo = files.keep(act.store, read.photo.data, read.photo.name) if read.photo else ""
    process = process_of(act, act.standing(load.machine))
    judgement = judge_values(act, load, process, read.values, photo=bool(photo))
    judgement |= {"photo": photo, "readers": (act.by,)}
    return Weighed(cycle_no, typed=read.values, photo=photo, judgement=judgement)


def _weighed_soak(act: Act, load: Load, checks: SoakChecks, cycle_no: str) -> Weighed:
    soak_acts.expect_over(act, load, early=checks.early)
    typed, judgement = soak_acts.judged(act, load, checks.values, checks.strip_lot)
    return Weighed(cycle_no, typed=typed, judgement=judgement)


# --- told -------------------------------------------------------------------------------------


def _tell_ended(act: Act, load: Load, weighed: Weighed) -> None:
    act.tell(
        facts.LoadEnded,
        load=load.load,
        machine=load.machine,
        steps=process_of(act, act.standing(load.machine)).steps,
        cycle_no=weighed.cycle_no,
        log=weighed.log,
        typed=dict(weighed.typed),
        covers=load.covers,
        photo=weighed.photo,
    )


def _tell_judged(act: Act, load: Load, judgement: Mapping[str, Any]) -> None:
    act.tell(
        facts.LoadJudged,
        load=load.load,
        machine=load.machine,
        programme=load.programme,
        covers=load.covers,
        **judgement,
    )
