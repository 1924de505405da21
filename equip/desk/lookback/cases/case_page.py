"""A look-back as its page shows it: stage by stage what is done, what is next, and the list."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from equip.desk.clinic import Clinic
from equip.desk.lookback.cases import case_acts, exposed_list
from equip.desk.lookback.cases.exposed_list import Changes
from equip.desk.lookback.exposure_answer import ExposureAnswer
from equip.desk.lookback.history import HistoryLine, entry_lines
from equip.facts import moment
from equip.rules.lookback import case_stages
from equip.rules.lookback.case_stages import STAGES, Case, Stage
from equip.rules.lookback.sweep import Contact, Exposure
from equip.store.ledger.about import told_about


@dataclass(frozen=True, slots=True)
class StageShown:
    """One stage: its title, the entries that belong to it, done or next."""

    stage: Stage
    title: str
    lines: tuple[HistoryLine, ...]
    is_done: bool
    is_next: bool


@dataclass(frozen=True, slots=True)
class SourceShown:
    """An earlier use that was carried; no patient where it came from outside."""

    patient: str | None
    at: datetime


@dataclass(frozen=True, slots=True)
class ExposureShown:
    """A use on somebody after somebody else was carried, as a row; *kind* is what *item* is."""

    patient: str
    item: str
    kind: str
    at: datetime
    entry: str
    certainty: str
    share: float
    sources: tuple[SourceShown, ...]
    path: tuple[str, ...]
    is_decided: bool
    since_listed: str = ""


@dataclass(frozen=True, slots=True)
class CaseShown:
    """All that the page of a look-back shows. *changes* is None where the list is not kept."""

    case: Case
    stages: tuple[StageShown, ...]
    listed: tuple[ExposureShown, ...]
    already_open: tuple[ExposureShown, ...]
    gaps: tuple[tuple[str, str, datetime, str], ...]
    answer: ExposureAnswer
    patients: int
    undecided: int
    open_undecided: int
    changes: Changes | None
    kept_back: tuple[str, ...]
    bagged: bool
    running: timedelta | None
    why_not_decide: str
    why_not_close: str


def shown(clinic: Clinic, name: str, now: datetime) -> CaseShown | None:
    """The look-back of that name; None if there is none."""
    case = case_acts.case_of(clinic, name)
    if case is None:
        return None
    found = exposed_list.answer(clinic, case)
    left = exposed_list.undecided(clinic, found.exposures)
    open_left = exposed_list.undecided(clinic, found.already_open)
    changes = exposed_list.since_listed(clinic, case.listed, found) if case.listed else Changes()
    kept = case_acts.kept_back(clinic, name)
    undone = {(exposure.item, exposure.use) for exposure in (*left, *open_left)}
    kinds = clinic.kind_names(exposure.item for exposure in (*found.exposures, *open_left))
    return CaseShown(
        case=case,
        stages=_stages(clinic, case),
        listed=tuple(_row(exposure, kinds, undone, changes) for exposure in found.exposures),
        already_open=tuple(
            _row(exposure, kinds, undone, None)
            for exposure in found.already_open
            if (exposure.item, exposure.use) in undone
        ),
        gaps=tuple(_gap(gap) for gap in found.gaps),
        answer=found,
        patients=exposed_list.patients_in(found.exposures),
        undecided=len(left),
        open_undecided=len(open_left),
        changes=changes,
        kept_back=tuple(dict.fromkeys(item for item, _ in kept)),
        bagged=any(one.how == "bag-it" for _, one in kept),
        running=None if case.clock or case.raised is None or case.closed else now - case.raised,
        why_not_decide=_why_not_decide(case, found, len(left)),
        why_not_close=case_stages.why_not_close(case, len(left), len(found.exposures)),
    )


def _why_not_decide(case: Case, found: ExposureAnswer, left: int) -> str:
    if problem := case_stages.why_not_decide(case, unfounded=False):
        return problem
    if case.listed is not None and exposed_list.digest(found) != case.listed.digest:
        return "The list has changed since it was taken: list it again, then decide."
    if case.decided and not left:
        return "All of the list is decided."
    return ""


def _stages(clinic: Clinic, case: Case) -> tuple[StageShown, ...]:
    entries = told_about(clinic.store, case.case)
    by_stage: dict[Stage, list[HistoryLine]] = {}
    for entry, line in zip(entries, entry_lines(clinic, entries), strict=True):
        stage = case_stages.stage_of(entry.fact)
        if stage is not None:
            by_stage.setdefault(stage, []).append(line)
    done, following = case_stages.done(case), case_stages.next_stage(case)
    return tuple(
        StageShown(stage, title, tuple(by_stage.get(stage, ())), done[stage], stage == following)
        for stage, title in STAGES.items()
    )


def _row(
    exposure: Exposure,
    kinds: dict[str, str],
    undone: set[exposed_list.Key],
    changes: Changes | None,
) -> ExposureShown:
    key = (exposure.item, exposure.use)
    surest = max(exposure.sources, key=lambda source: (source.certainty, -source.at))
    ordered = sorted(exposure.sources, key=lambda source: (source.at, source.use))
    otherwise = ""
    if changes is not None and key in changes.added:
        otherwise = "came since the list was taken"
    elif changes is not None and key in changes.other:
        otherwise = "is otherwise since the list was taken"
    return ExposureShown(
        patient=exposure.patient,
        item=exposure.item,
        kind=kinds.get(exposure.item, ""),
        at=moment(exposure.at),
        entry=exposure.entry,
        certainty=exposure.certainty.word.replace("-", " "),
        share=float(exposure.share),
        sources=tuple(SourceShown(source.patient, moment(source.at)) for source in ordered),
        path=surest.path.entries(),
        is_decided=key not in undone,
        since_listed=otherwise,
    )


def _gap(gap: Contact) -> tuple[str, str, datetime, str]:
    return gap.item, gap.patient, moment(gap.at), gap.entry
