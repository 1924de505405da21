"""Whether a reading conforms to its tolerance, by a decision rule that was agreed beforehand.

The four outcomes and the guard band are those of ILAC-G8: the acceptance limit lies *guard*
inside the tolerance. Simple acceptance has no guard: whoever makes the instrument and whoever
uses it share the risk, up to one half each for a reading on the limit. A reading that lies on a
limit is inside it, on the guarded one too. Worked in exact decimals.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from equip.rules.verdict import Reason, Verdict

Outcome = Literal["pass", "conditional-pass", "conditional-fail", "fail"]
DecisionRule = Literal["simple", "guard-u", "guard-0.83u"]

OUTCOMES: tuple[Outcome, ...] = ("pass", "conditional-pass", "conditional-fail", "fail")
"""The best first."""

IN_WORDS: dict[DecisionRule, str] = {
    "simple": "the tolerance itself; the risk is shared, up to one half for a reading on the limit",
    "guard-u": "the tolerance less the expanded uncertainty",
    "guard-0.83u": "the tolerance less 0.83 of the expanded uncertainty",
}
"""The decision rules as a page says them."""


CONFORMS: dict[Outcome, str] = {
    "pass": "in tolerance",
    "conditional-pass": "in tolerance, within the uncertainty of its limit",
    "conditional-fail": "out of tolerance, by no more than the uncertainty",
    "fail": "out of tolerance",
}
"""The outcomes as a page and the logbook say them."""


class BadTolerance(ValueError):
    """Limits that are none; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class Tolerance:
    """What a reading may be: from *lower* to *upper*, None where that side has no limit."""

    lower: Decimal | None
    upper: Decimal | None

    def __post_init__(self) -> None:
        if self.lower is not None and self.upper is not None and self.lower > self.upper:
            raise BadTolerance(
                f"The lower limit {self.lower} is above the upper limit {self.upper}: "
                "exchange or correct them."
            )

    @property
    def is_open(self) -> bool:
        return self.lower is None and self.upper is None

    def moved(self, inwards: Decimal) -> tuple[Decimal | None, Decimal | None]:
        """Both limits, so far inwards; outwards where that is below nought."""
        return (
            None if self.lower is None else self.lower + inwards,
            None if self.upper is None else self.upper - inwards,
        )

    def holds(self, reading: Decimal, inwards: Decimal = Decimal(0)) -> bool:
        lower, upper = self.moved(inwards)
        return (lower is None or reading >= lower) and (upper is None or reading <= upper)

    def share(self, reading: Decimal, nominal: Decimal) -> Decimal | None:
        """Error ÷ limit on the side of the error, its sign kept; 1 is the limit.

        None where that side has no limit, or the limit is the nominal value itself.
        """
        error = reading - nominal
        limit = self.upper if error >= 0 else self.lower
        if limit is None or limit == nominal:
            return None
        return error / abs(limit - nominal)


def outcome(reading: Decimal, tolerance: Tolerance, guard: Decimal) -> Outcome:
    """Which of the four it is. *guard* is the width of the guard band, nought for simple."""
    if tolerance.holds(reading, guard):
        return "pass"
    if tolerance.holds(reading):
        return "conditional-pass"
    return "conditional-fail" if tolerance.holds(reading, -guard) else "fail"


def gravest(outcomes: Iterable[Outcome]) -> Outcome | None:
    """The worst of several points; None if there are none."""
    return max(outcomes, key=OUTCOMES.index, default=None)


def why(
    found: Outcome, reading: Decimal, tolerance: Tolerance, guard: Decimal, rule: DecisionRule
) -> list[Reason]:
    """The outcome in words, and that no reading can pass where the guard leaves no room."""
    where = f"{reading} against {_limits(tolerance)}"
    inner = f"the guarded limits leave {guard} on each side"
    says = {
        "pass": f"It conforms: {where}; accepted is {IN_WORDS[rule]}.",
        "conditional-pass": f"It is in tolerance, {where}, but not by as much as the uncertainty "
        f"asks for: {inner}.",
        "conditional-fail": f"It is out of tolerance, {where}, by no more than the uncertainty "
        f"can account for: {inner}.",
        "fail": f"It does not conform: {where}.",
    }
    spoils: Verdict = "fail" if found in ("conditional-fail", "fail") else "pass"
    reasons = [Reason(f"conformity-{found}", says[found], spoils=spoils)]
    lower, upper = tolerance.moved(guard)
    if lower is not None and upper is not None and lower > upper:
        says_room = (
            "The uncertainty is wider than the tolerance leaves room for: no reading can pass "
            "outright. Have it calibrated with a smaller uncertainty, or agree another rule."
        )
        reasons.append(Reason("no-room", says_room, spoils="pass"))
    return reasons


def _limits(tolerance: Tolerance) -> str:
    if tolerance.lower is None:
        return f"at most {tolerance.upper}"
    if tolerance.upper is None:
        return f"at least {tolerance.lower}"
    return f"{tolerance.lower} to {tolerance.upper}"
