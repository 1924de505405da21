"""Why a load may not be released: by its state, its verdict, who asks, what was read beside it.

What stands against it beyond the load itself (a lapsed competence, its machine on the day it ran)
the desk adds in `desk/loads/release`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from equip.facts import Told
from equip.rules.loads.load import Load
from equip.rules.wording import several
from equip.scan import show_tag

ONE_READER = "one-reader-alone"
"""The code of the remark that one person read it, by the rule for whoever works alone."""


@dataclass(frozen=True, slots=True)
class Alone:
    """One person may release by the rule: somebody else looks within *look_days*.

    *overdue* are the loads at which nobody looked in time.
    """

    look_days: int
    overdue: Sequence[str] = ()


def why_not_release(
    load: Load,
    by: str,
    rights: Iterable[str],
    *,
    two_people: bool,
    corrected_two: bool = True,
    alone: Alone | None = None,
) -> list[Told]:
    """Every reason why *by* may not release this load now; empty means it may be released.

    With *corrected_two*, who made it pass by correcting its stages may not release it as well.
    *alone* is what the rule book asks of whoever works alone; None where it lets nobody.
    """
    reasons = []
    if "release" not in rights:
        reasons.append(Told(code="no-right", says="You have no right to release loads."))
    if load.state != "judged":
        says = {
            "filling": "It has not been run yet.",
            "running": "It is still running.",
            "ended": "It has not been judged: hand in its log, or its typed values.",
            "released": "It has been released already.",
            "rejected": "It has been rejected: run its contents again.",
        }[load.state]
        reasons.append(Told(code=f"load-{load.state}", says=says))
    elif load.wants_reader:
        says = "A second person must read the same display or strip first, by themselves."
        reasons.append(Told(code="one-reader", says=says))
    elif load.verdict != "pass":
        word = "failed" if load.verdict == "fail" else "cannot be judged"
        says = f"It {word}; nobody can release it. Reject it and run its contents again."
        reasons.append(Told(code=f"load-{load.verdict}", says=says))
    if two_people and by in load.loaders and (alone is None or not has_evidence(load)):
        says = "Whoever loaded it may not release it here: a second person is needed."
        if alone is not None:
            says += " Alone, add a photo of its strip or display first."
        reasons.append(Told(code="same-person", says=says))
    if alone is not None and alone.overdue and is_alone(load, by, two_people=two_people):
        loads = several([show_tag(one) for one in alone.overdue])
        says = (
            f"Nobody else has looked at load {loads}, released by one person more than "
            f"{alone.look_days} days ago: somebody else looks at that first."
        )
        reasons.append(Told(code="look-overdue", says=says))
    if corrected_two and by in load.correctors and load.as_found != "pass":
        says = (
            "It passes only since its stages were corrected by hand: somebody other than who "
            "corrected them must look at it and release it."
        )
        if load.state == "judged" and load.verdict == "pass":
            reasons.append(Told(code="same-person-corrected", says=says))
    return reasons + _of_what_was_read(load)


def is_alone(load: Load, by: str, *, two_people: bool) -> bool:
    """Whether its release by *by* rests on one person, where otherwise two are asked for."""
    one_reader = any(reason.code == ONE_READER for reason in load.reasons)
    return one_reader or (two_people and by in load.loaders)


def has_evidence(load: Load) -> bool:
    """Whether somebody else can look at what it showed, later."""
    return bool(load.photo or load.log)


def _of_what_was_read(load: Load) -> list[Told]:
    """What indicators and spore tests hold against a release; they change no verdict."""
    if load.state != "judged":
        return []
    read = frozenset[str]().union(*(reading.codes for reading in load.indicators))
    reasons = []
    if "indicator-failed" in read:
        says = "An indicator that suits it did not turn: reject it and run its contents again."
        reasons.append(Told(code="indicator-failed", says=says))
    if "indicator-unclear" in read:
        says = "An indicator was unclear: it counts as not passed until somebody reads it again."
        reasons.append(Told(code="indicator-unclear", says=says))
    if any(test.result == "positive" for test in load.spores):
        says = "Spores grew in its own test: reject it and run its contents again."
        reasons.append(Told(code="spores-grew", says=says))
    return reasons
