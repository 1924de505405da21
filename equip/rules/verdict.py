"""Reasons and verdicts: what every judgement in this house is made of."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Verdict = Literal["pass", "fail", "undecided"]
Figures = dict[str, float | int | None]

GRAVITY: tuple[Verdict, ...] = ("fail", "undecided", "pass")
"""The gravest first."""


@dataclass(frozen=True, slots=True)
class Reason:
    """A code for programs, a sentence for people, and the second it happened if it has one.

    *spoils* is the worst verdict that may stand beside it: "fail", "undecided", or "pass" for
    a remark.
    """

    code: str
    says: str
    at_s: float | None = None
    spoils: Verdict = "fail"


def worst(reasons: Iterable[Reason]) -> Verdict:
    """The verdict that *reasons* leave: a fail outweighs a doubt, a doubt outweighs a pass."""
    spoilt = {reason.spoils for reason in reasons}
    if "fail" in spoilt:
        return "fail"
    return "undecided" if "undecided" in spoilt else "pass"


@dataclass(frozen=True, slots=True)
class Judgement:
    """A cycle's verdict, why, and what was measured; a figure that has no meaning is None."""

    verdict: Verdict
    reasons: tuple[Reason, ...]
    figures: Figures


def judgement(reasons: Iterable[Reason], figures: Figures) -> Judgement:
    """What *reasons* come to, the gravest first; those alike stay in the order given."""
    ordered = tuple(sorted(reasons, key=lambda reason: GRAVITY.index(reason.spoils)))
    return Judgement(worst(ordered), ordered, figures)
