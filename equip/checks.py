"""`check KIND` and `judge LOG`: JSON in, a rule asked, JSON out. No database, no Flask, no clock.

Input is checked strictly and refused with one sentence; what is not given is not judged.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from equip import rulebook, scan
from equip.rulebook import Book, Rule, Rules, UnknownProgramme
from equip.rules import heat, steam
from equip.rules.verdict import Reason, worst
from equip.traces import UnreadableLog, read_file

Given = Mapping[str, Any]
Answer = dict[str, Any]
Check = Callable[[Given, Rules], Answer]


class Unreadable(ValueError):
    """Input that cannot be judged at all; the message says what was read and what to do."""


def check(kind: str, given: object, rules: Rules | None = None) -> Answer:
    """The answer of check *kind* to the JSON object *given*, by *rules*.

    Without *rules*, by the newest of the default book. Raises Unreadable.
    """
    if kind not in KINDS:
        raise Unreadable(f"There is no check “{kind}”; there are {', '.join(KINDS)}.")
    if not isinstance(given, Mapping):
        raise Unreadable(f"{_called(given).capitalize()} was read; give one JSON object.")
    if rules is None:
        rules = rulebook.load(rulebook.DEFAULT).on(date.max)
    return {"reasons": [], "rules": [], **KINDS[kind](given, rules)}


def judge_log(
    path: Path,
    programme: str,
    book: Book,
    on: date,
    uncertainty: str | float | Decimal | None = None,
    band_width: str | float | Decimal | None = None,
    chamber_litres: str | float | Decimal | None = None,
) -> Answer:
    """The judgement of the log at *path*, with the rules of *book* in force *on* that day.

    *uncertainty* and *band_width* in kelvin, *chamber_litres* in litres, as typed or as numbers.
    Raises Unreadable.
    """
    unsure = _quantity("The uncertainty", uncertainty, "K", may_be_nought=True)
    size = {
        "band_width": _quantity("The band width", band_width, "K"),
        "chamber_litres": _quantity("The chamber", chamber_litres, "L"),
    }
    rules = book.on(on)
    try:
        limits = rules.programme(programme, **size)
        trace = read_file(path)
    except (UnknownProgramme, UnreadableLog) as fault:
        raise Unreadable(str(fault)) from fault
    judged = steam.judge(trace, limits, uncertainty_k=float(unsure or 0))
    return {
        "verdict": judged.verdict,
        "reasons": [{**_reason(one), "at_s": one.at_s} for one in judged.reasons],
        "figures": judged.figures,
        "rules": [rule_used(rule) for rule in rules.behind(programme, **size)],
    }


def rule_used(rule: Rule) -> Answer:
    """A rule as it stands in an answer."""
    value = float(rule.value) if isinstance(rule.value, Decimal) else rule.value
    return {
        "id": rule.id,
        "value": value,
        "unit": rule.unit,
        "source": rule.source,
        "basis": rule.basis,
        "from": rule.since.isoformat(),
    }


# --- the kinds ----------------------------------------------------------------------------


def _tag(given: Given, rules: Rules) -> Answer:
    text = given.get("text")
    if not isinstance(text, str):
        raise Unreadable(f"“text” is {_called(text)}; give the scanned text.")
    try:
        tag = scan.read_tag(text)
    except scan.UnreadableTag as fault:
        raise Unreadable(str(fault)) from fault
    return {"tag": tag.text, "names": tag.names, "remapped": tag.remapped}


def _steam(given: Given, rules: Rules) -> Answer:
    if ("kpa" in given) == ("celsius" in given):
        raise Unreadable("Give either “kpa” (absolute) or “celsius”, one of the two.")
    try:
        if "kpa" in given:
            kpa = _number(given, "kpa")
            return {"celsius": heat.saturation_celsius(kpa), "kpa": kpa}
        celsius = _number(given, "celsius")
        return {"celsius": celsius, "kpa": heat.saturation_kpa(celsius)}
    except ValueError as fault:
        raise Unreadable(str(fault)) from fault


def _f0(given: Given, rules: Rules) -> Answer:
    seconds = _equivalent(
        given, reference=_number(given, "reference_celsius"), z=_number(given, "z_kelvin")
    )
    return {"f0_min": seconds / 60}


def _a0(given: Given, rules: Rules) -> Answer:
    used = ("a0.reference", "a0.z", "a0.floor")
    reference, z, floor = (rules.number(rule) for rule in used)
    a0_s = _equivalent(given, reference=reference, z=z, floor=floor)
    reasons = _a0_reasons(a0_s, given)
    return {
        "a0_s": a0_s,
        "verdict": worst(reasons),
        "reasons": [_reason(one) for one in reasons],
        "rules": [rule_used(rules[rule]) for rule in used],
    }


def _a0_reasons(a0_s: float, given: Given) -> list[Reason]:
    if given.get("target_s") is None:
        says = "No target was given (“target_s”), so nothing was judged."
        return [Reason("target-not-given", says, spoils="undecided")]
    target = _number(given, "target_s")
    if target <= 0:
        raise Unreadable(f"“target_s” is {target:g}; an A0 to reach is above nought.")
    # A sum of many steps is exact to some fifteen digits, not more.
    if a0_s >= target or math.isclose(a0_s, target, rel_tol=1e-9):
        return []
    says = f"It reached an A0 of {math.floor(a0_s * 10) / 10:g} s; it needs {target:g} s."
    return [Reason("a0-short", says)]


KINDS: dict[str, Check] = {"tag": _tag, "steam": _steam, "f0": _f0, "a0": _a0}
"""Every check there is, by the word it is asked with."""


# --- reading ------------------------------------------------------------------------------


def _equivalent(given: Given, *, reference: float, z: float, floor: float | None = None) -> float:
    seconds, celsius = _numbers(given, "seconds"), _numbers(given, "celsius")
    try:
        return heat.equivalent_time(seconds, celsius, reference=reference, z=z, floor=floor)
    except ValueError as fault:
        raise Unreadable(str(fault)) from fault


def _number(given: Given, name: str) -> float:
    if name not in given:
        raise Unreadable(f"“{name}” is missing; give a number.")
    return _finite(given[name], f"“{name}”")


def _numbers(given: Given, name: str) -> Sequence[float]:
    values = given.get(name)
    if not isinstance(values, list | tuple):
        called = "missing" if name not in given else _called(values)
        raise Unreadable(f"“{name}” is {called}; give a list of numbers.")
    return [_finite(value, f"“{name}[{index}]”") for index, value in enumerate(values)]


def _finite(value: object, called: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise Unreadable(f"{called} is {_called(value)}; give a number.")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise Unreadable(f"{called} is not a finite number; correct it or leave it out.")
    return number


def _quantity(
    called: str, value: str | float | Decimal | None, unit: str, *, may_be_nought: bool = False
) -> Decimal | None:
    """What somebody typed or a script gave as a number of *unit*, exactly."""
    if value is None:
        return None
    number = rulebook.as_decimal(str(value).strip())
    if number is None or not 0 <= number < 1_000_000 or (number == 0 and not may_be_nought):
        needed = "nought or more" if may_be_nought else "more than nought"
        raise Unreadable(f"{called} was read as “{value}”; give a number of {unit}, {needed}.")
    return number


def _called(value: object) -> str:
    """A JSON value by its sort, never by its content: that may be a patient's."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, str):
        return "a text"
    if isinstance(value, Mapping):
        return "an object"
    return "a list" if isinstance(value, list | tuple) else "a number"


def _reason(reason: Reason) -> Answer:
    return {"code": reason.code, "says": reason.says}
