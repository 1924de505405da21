"""What typed values can support when there is no log: less, and it says so.

A display or a printed strip read by people shows the highest and lowest value and a time. It
cannot show that the temperature never left its band, that the air was removed, or that
temperature and pressure agreed; a release that rests on it says this.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from equip.rules.verdict import Reason, Verdict, worst
from equip.rules.wording import span


@dataclass(frozen=True, slots=True)
class Typed:
    """Values read off a machine. None is what nobody typed."""

    lowest_c: float | None = None
    highest_c: float | None = None
    hold_s: float | None = None
    indicator: str = ""
    completed: bool | None = None


@dataclass(frozen=True, slots=True)
class TypedRules:
    """What the rule book lets typed values do. Band and time are None where none is judged."""

    low_c: float | None
    high_c: float | None
    hold_s: float | None
    supports_release: bool
    two_readers: bool


_NUMBER = re.compile(r"[0-9]{1,9}(?:\.[0-9]{0,9})?")


class BadValue(ValueError):
    """A typed value that makes no sense; the message says which and what to do."""


def read_typed(given: Mapping[str, str]) -> Typed:
    """The values of a form: text to numbers, an empty field is not measured."""

    def number(name: str, says: str) -> float | None:
        text = given.get(name, "").strip()
        if not text:
            return None
        value = float(text) if _NUMBER.fullmatch(text) else float("nan")
        if not 0 <= value < 10_000:
            raise BadValue(
                f"{says}: “{_shown(text)}” is no number that makes sense. Type it as 134.5."
            )
        return value

    indicator = given.get("indicator", "")
    if indicator not in ("", "pass", "fail"):
        raise BadValue(f"Indicator: “{_shown(indicator)}” is neither pass nor fail.")
    minutes = number("hold_min", "Holding time in minutes")
    completed = given.get("completed", "")
    if completed not in ("", "yes", "no"):
        raise BadValue(f"Completed: “{_shown(completed)}” is neither yes nor no.")
    return Typed(
        lowest_c=number("lowest_c", "Lowest temperature in the hold"),
        highest_c=number("highest_c", "Highest temperature in the hold"),
        hold_s=None if minutes is None else minutes * 60,
        indicator=indicator,
        completed={"yes": True, "no": False}.get(completed),
    )


def _shown(text: str, most: int = 20) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"


def judge_typed(
    typed: Typed, rules: TypedRules, *, second_reader: bool
) -> tuple[Verdict, list[Reason]]:
    """The verdict that typed values can support, with every reason and what they cannot show."""
    reasons = _said_by_machine(typed)
    if rules.low_c is not None:
        reasons += _band(typed, rules) + _time(typed, rules)
        reasons.append(
            Reason(
                "typed-shows-less",
                "Typed values cannot show that it stayed in its band throughout, that the air "
                "was removed, or that temperature and pressure agreed.",
                spoils="pass",
            )
        )
    if not rules.supports_release:
        says = "The rule book does not let typed values support a release: hand in the log."
        reasons.append(Reason("typed-not-accepted", says, spoils="undecided"))
    elif rules.two_readers and not second_reader:
        says = "Typed values need a second person who read the same display or strip."
        reasons.append(Reason("one-reader", says, spoils="undecided"))
    return worst(reasons), reasons


def _said_by_machine(typed: Typed) -> list[Reason]:
    reasons = []
    if typed.completed is False:
        reasons.append(Reason("not-completed", "The machine did not finish its cycle."))
    elif typed.completed is None:
        says = "Nobody said whether the machine finished without a fault."
        reasons.append(Reason("completion-unknown", says, spoils="undecided"))
    if typed.indicator == "fail":
        reasons.append(Reason("indicator-failed", "The indicator did not turn as it should."))
    return reasons


def _band(typed: Typed, rules: TypedRules) -> list[Reason]:
    if typed.lowest_c is None or typed.highest_c is None or rules.low_c is None:
        says = "The lowest and the highest temperature of the hold are missing."
        return [Reason("temperature-missing", says, spoils="undecided")]
    reasons = []
    if typed.lowest_c < rules.low_c:
        says = f"It fell to {typed.lowest_c:g} °C; it must not fall below {rules.low_c:g} °C."
        reasons.append(Reason("below-band", says))
    if rules.high_c is not None and typed.highest_c > rules.high_c:
        says = f"It rose to {typed.highest_c:g} °C; it must not rise above {rules.high_c:g} °C."
        reasons.append(Reason("above-band", says))
    if typed.highest_c < typed.lowest_c:
        says = "The highest temperature is below the lowest: read them again."
        reasons.append(Reason("temperatures-swapped", says, spoils="undecided"))
    return reasons


def _time(typed: Typed, rules: TypedRules) -> list[Reason]:
    if typed.hold_s is None or rules.hold_s is None:
        return [Reason("time-missing", "The holding time is missing.", spoils="undecided")]
    if typed.hold_s < rules.hold_s:
        says = f"It held for {span(typed.hold_s)}; it needs {span(rules.hold_s)}."
        return [Reason("hold-too-short", says)]
    return []
