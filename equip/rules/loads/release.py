"""Why a load may not be released: by its state, its verdict, who asks, what was read beside it.

What stands against it beyond the load itself (a lapsed competence, its machine on the day it ran)
the desk adds in `desk/loads/release`.
"""

from collections.abc import Iterable

from equip.facts import Told
from equip.rules.loads.load import Load


def why_not_release(
    load: Load, by: str, rights: Iterable[str], *, two_people: bool, corrected_two: bool = True
) -> list[Told]:
    """Every reason why *by* may not release this load now; empty means it may be released.

    With *corrected_two*, who made it pass by correcting its stages may not release it as well.
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
    if two_people and by in load.loaders:
        says = "Whoever loaded it may not release it here: a second person is needed."
        reasons.append(Told(code="same-person", says=says))
    if corrected_two and by in load.correctors and load.as_found != "pass":
        says = (
            "It passes only since its stages were corrected by hand: somebody other than who "
            "corrected them must look at it and release it."
        )
        if load.state == "judged" and load.verdict == "pass":
            reasons.append(Told(code="same-person-corrected", says=says))
    return reasons + _of_what_was_read(load)


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
