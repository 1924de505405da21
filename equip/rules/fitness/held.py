"""Reasons to keep an item back: what may be done with it meanwhile, and what lifts each of them.

Each reason is lifted by itself, by the decision that it asks for. One for which nobody may clean
the item is confirmed besides: by whom it was found safe to handle.
"""

from collections.abc import Iterable
from typing import Literal

from equip.facts import How, ItemType
from equip.rules.fitness.standing import Kept

DO: dict[How, str] = {
    "bag-it": "bag it, do not clean it",
    "throw-away": "throw it away",
    "out-of-use": "do not use it",
    "clean-it-now": "clean it now",
}
"""What may be done with what is kept back, the strictest first: of several, that one counts."""

LIFTED_BY: dict[str, str] = {
    "in-look-back": "Its look-back keeps it back: decide it there, then let it out there.",
    "load-in-doubt": "Its look-back keeps it back: decide it there, then let it out there.",
    "spore-test-failed": "A spore test keeps it back: the page of the machine's spore tests lets"
    " it out once its repeats are negative.",
    "work": "Work keeps it back: it goes back to service when that work is signed off.",
}
"""Codes of reasons that a decision of their own lifts, with where it is made."""

KEPT_FOR_WORK: Literal["work"] = "work"
"""The code of the reason that work on a machine gives."""


def to_do(kept: Iterable[Kept], how: How | None = None) -> str:
    """What may be done with it, by the strictest of what keeps it back and *how*."""
    every = {one.how for one in kept} | ({how} if how else set())
    return next((words for each, words in DO.items() if each in every), DO["clean-it-now"])


def kept_how(kind: ItemType, how: How = "clean-it-now") -> How:
    """*how* an item of this type is kept back: what is used up is thrown away, never cleaned; a
    machine that touches nobody is not cleaned to be fit."""
    if how == "bag-it":
        return how
    if kind.reuse == "single-use":
        return "throw-away"
    if kind.sort == "machine" and kind.contact == "neither":
        return "out-of-use"
    return how


def why_not_lift(kept: Kept, reason: str, confirmed_by: str, *, decided: bool = False) -> str:
    """Why this reason is not lifted by hand, or not like this; "" if it is.

    *decided*: the decision that it asks for was made, and kept the item back all the same.
    """
    if kept.why.code in LIFTED_BY and not decided:
        return LIFTED_BY[kept.why.code]
    return why_not_free(kept, reason, confirmed_by)


def why_not_free(kept: Kept, reason: str, confirmed_by: str) -> str:
    """The same for whoever makes the decision that this reason asks for."""
    if not reason.strip():
        return "Give a reason: it is read years later."
    if kept.how == "bag-it" and not confirmed_by.strip():
        return (
            "It was bagged so that nobody cleans it: name who found that it may be handled, such as"
            " the lead for infection prevention."
        )
    return ""
