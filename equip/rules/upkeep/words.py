"""What a duty goes by, what it stops and who may set that aside, as sentences."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from equip import facts
from equip.facts import Counts, DutyTerms, Meter, Shift
from equip.rules.people.competence import TASKS
from equip.rules.upkeep.due import BroughtBy
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
    """What an overdue duty does not stop. It is nobody's fault of the item itself."""
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


# --- what it goes by ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TermWords:
    """A term of a duty in words; each is "" where the term is not used.

    *name* is what it is called where it is refused. *every* says how often, as one of the ways
    that a duty may be brought round, counted from a first day; *clause* says what else holds.
    """

    name: str
    every: Callable[[DutyTerms, str], str] = lambda terms, first: ""
    clause: Callable[[DutyTerms], str] = lambda terms: ""


def each(number: int, unit: str, first: str) -> str:
    """An interval of the calendar: "every 12 months from 2026-01-31", "" where there is none."""
    if not number:
        return ""
    said = f"every {unit}" if number == 1 else f"every {number} {unit}s"
    return f"{said} from {first}" if first else said


def _every_count(terms: DutyTerms, first: str) -> str:
    if not terms.every_count:
        return ""
    by = {"hours": " by its meter", "counter": " by its own counter"}.get(terms.counts, "")
    return f"every {counted(terms.every_count, COUNTED[terms.counts])}{by}"


def _certificate(terms: DutyTerms, first: str) -> str:
    until = f" ({terms.not_after})" if terms.not_after else ""
    return f"by the end of its certificate{until}" if terms.certificate else ""


def _after_a_move(terms: DutyTerms) -> str:
    if terms.after_move_days is None:
        return ""
    within = (
        f"within {counted(terms.after_move_days, 'day')}" if terms.after_move_days else "at once"
    )
    return f"after a move or repair it is due {within}"


TERMS: dict[str, TermWords] = {
    "every_count": TermWords("the count it falls due at", every=_every_count),
    "counts": TermWords("what is counted", every=_every_count),
    "certificate": TermWords("whether its certificate governs", every=_certificate),
    "not_after": TermWords("the end of its certificate", every=_certificate),
    "already": TermWords(
        "what was counted already",
        clause=lambda terms: f"{terms.already} counted already" if terms.already else "",
    ),
    "tolerance_days": TermWords(
        "the days it may run over",
        clause=lambda terms: (
            f"it may run over by {counted(terms.tolerance_days, 'day')}"
            if terms.tolerance_days
            else ""
        ),
    ),
    "shift": TermWords(
        "where a due day on a closed day goes",
        clause=lambda terms: (
            f"a due day on a closed day {SHIFTS[terms.shift]}" if terms.shift else ""
        ),
    ),
    "after_move_days": TermWords("the days after a move", clause=_after_a_move),
    "cost": TermWords(
        "the cost",
        clause=lambda terms: "" if terms.cost is None else f"it costs {terms.cost}",
    ),
    "source": TermWords(
        "where the interval comes from",
        clause=lambda terms: f"source: {terms.source}" if terms.source else "",
    ),
}
"""Every field of `DutyTerms`, in the order in which they are said."""


def every(months: int, days: int, terms: DutyTerms | None = None, first: str = "") -> str:
    """How often, in words: "every 12 months from 2026-01-31, or every 500 uses, whichever …"."""
    said = [each(months, "month", first), each(days, "day", first)]
    if terms is not None:
        said += [words.every(terms, first) for words in TERMS.values()]
    ways = [way for way in dict.fromkeys(said) if way]
    if not ways:
        return f"once, on {first}" if first else "once"
    return ", or ".join(ways) + (", whichever comes first" if len(ways) > 1 else "")


def clauses(terms: DutyTerms) -> list[str]:
    """What else holds than how often, each a clause without its capital and full stop."""
    return [said for words in TERMS.values() if (said := words.clause(terms))]


def told_terms(fact: facts.DutyTold) -> str:
    """All that a duty goes by, as the logbook tells it."""
    often = every(fact.every_months, fact.every_days, fact.terms, str(fact.anchor))
    parts = [often, *(clauses(fact.terms) if fact.terms is not None else [])]
    return "; ".join(parts) + ("; overdue, it may not be used" if fact.grounds else "")


def sentence(clause: str) -> str:
    """A clause that stands alone."""
    return f"{clause[:1].upper()}{clause[1:]}."


# --- what brings it -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class BroughtWords:
    """What brings a duty other than its own day: a *code* for programs, a sentence with the count
    in it, a clause for a plan."""

    code: str = ""
    why: str = ""
    ahead: str = ""


BROUGHT: dict[BroughtBy, BroughtWords] = {
    "day": BroughtWords(),
    "certificate": BroughtWords(
        "certificate-governs", "The date on the certificate governs.", "the certificate ends"
    ),
    "count": BroughtWords(
        "count-reached", "The count was reached: {count}.", "the count was reached"
    ),
    "move": BroughtWords(
        "moved",
        "It was moved, or came back from outside.",
        "it was moved, or came back from outside",
    ),
}


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
