"""What a duty goes by, what it stops and who may set that aside, as sentences."""

from collections.abc import Sequence

from equip import facts
from equip.facts import Counts, DutyTerms, Meter, Shift
from equip.rules.people.competence import TASKS
from equip.rules.wording import counted, several

COUNTED: dict[Counts, str] = {
    "uses": "use",
    "cycles": "cycle",
    "hours": "hour",
    "counter": "cycle",
}
"""What is counted, one of it."""
HOW_COUNTED: dict[Counts, str] = {
    "uses": "uses, as this book counts them",
    "cycles": "cycles, as this book counts them",
    "hours": "hours, by its own meter",
    "counter": "cycles, by its own counter",
}
METERS: dict[Meter, str] = {"hours": "hour meter", "counter": "cycle counter"}
SHIFTS: dict[Shift, str] = {
    "": "as the rule book says",
    "none": "stays",
    "before": "moves to the working day before",
    "after": "moves to the working day after",
}
KINDS = (
    "service",
    "calibration",
    "electrical safety test",
    "performance check",
    "periodic test",
    "pressure examination",
    "battery",
    "filter",
    "waterline disinfection",
)
"""Duties as they are offered; any other name will do."""

STOPS = "It may not be used until this is done."
STOPS_LOADS = "It may not be used, and starts no load, until this is done."
STOPS_NOTHING = "It may still be used."
LAPSED_STOPS = "Who it is about releases no load until it is assessed again."
LAPSED_ASKS = (
    "Who it is about is asked why, or has somebody competent stand by, until it is assessed again."
)
LAPSED_LEAVES = "What was done before it lapsed stands."
LOT_STOPS = "It may not be used from the day after."


def what_it_leaves(*, stops: bool) -> str:
    """What an overdue duty does not stop. It is nobody's fault of the thing itself."""
    if not stops:
        return "It stops nothing: this is a warning."
    return (
        "It is not put in quarantine for this: it may be cleaned, and what was done with it "
        "before stands."
    )


def who_may(*, stops: bool, runs_loads: bool, names: Sequence[str]) -> str:
    """Who may use it all the same."""
    if not stops:
        return ""
    if runs_loads:
        return "Nobody may start a load on it all the same."
    if not names:
        return "Nobody has the right to set this aside."
    return f"For a use, with a reason: {several(list(names))}."


def competence_to(task: str) -> str:
    """A competence as it stands among the duties."""
    return f"competence to {TASKS[task]}"


def who_gives_leave(names: Sequence[str]) -> str:
    """Who lets somebody release for some days though their competence has lapsed."""
    if not names:
        return "Nobody else has the right to give leave."
    return f"Leave for some days, with a reason: {several(list(names))}."


def every(
    months: int, days: int, terms: DutyTerms | None = None, *, first: str = "", sure: bool = True
) -> str:
    """How often, in words: "every 12 months from 2026-01-31 or every 500 uses"."""
    parts = []
    if months or days:
        number, unit = (months, "month") if months else (days, "day")
        said = f"every {unit}" if number == 1 else f"every {number} {unit}s"
        parts.append(f"{said} from {first}" if first else said)
    if terms is not None and terms.every_count:
        parts.append(f"every {counted(terms.every_count, COUNTED[terms.counts])}{_by(terms)}")
    if terms is not None and terms.certificate:
        until = f" ({terms.not_after})" if terms.not_after else ""
        parts.append(f"by the end of its certificate{until}")
    if not parts:
        return f"once, on {first}" if first else "once"
    return ", or ".join(parts) + (", whichever comes first" if len(parts) > 1 and sure else "")


def _by(terms: DutyTerms) -> str:
    return {"hours": " by its meter", "counter": " by its own counter"}.get(terms.counts, "")


def told_terms(fact: facts.DutySet | facts.TypeDutySet) -> str:
    """All that a duty goes by, as the logbook tells it."""
    terms = fact.terms
    says = every(fact.every_months, fact.every_days, terms, first=str(fact.anchor))
    if terms is not None:
        if terms.already:
            says += f"; {terms.already} counted already"
        if terms.tolerance_days:
            says += f"; it may run over by {counted(terms.tolerance_days, 'day')}"
        if terms.shift:
            says += f"; a due day on a closed day {SHIFTS[terms.shift]}"
        if terms.after_move_days is not None:
            says += f"; due {counted(terms.after_move_days, 'day')} after a move or repair"
        if terms.cost is not None:
            says += f"; costs {terms.cost}"
        if terms.source:
            says += f" ({terms.source})"
    return says + ("; overdue, it may not be used" if fact.grounds else "")


def told_reading(fact: facts.MeterRead) -> str:
    """A meter's reading as the logbook tells it."""
    says = f"{METERS[fact.meter]} read, {fact.reading}"
    match fact.how:
        case "replaced":
            old = f"; the old one showed {fact.ended} last" if fact.ended is not None else ""
            new = f"; the new one began at {fact.began}" if fact.began else ""
            says += f", the meter was replaced{old}{new}"
        case "rolled-over":
            says += f", it went past {fact.ended} and began again at nought"
        case "corrects":
            says += ", in place of the reading before it"
        case _:
            pass
    return says + (f" ({fact.note})" if fact.note else "")
