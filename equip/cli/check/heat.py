"""Checks of tags, saturated steam and lethality: `tag`, `steam`, `f0`, `a0`."""

import math

from equip import scan
from equip.cli.check.answering import Answer, Checks, judged
from equip.cli.check.reading import Given, Unreadable, called, number, numbers, only
from equip.rulebook import Rules
from equip.rules.cycles import heat
from equip.rules.verdict import Reason


def tag(given: Given) -> Answer:
    """Any scanned text to the tag in it and what it names."""
    only(given, "text")
    text = given.get("text")
    if not isinstance(text, str):
        so = "missing" if text is None else called(text)
        raise Unreadable(f"“text” is {so}; give the scanned text.")
    try:
        read = scan.read_tag(text)
    except scan.UnreadableTag as fault:
        raise Unreadable(str(fault)) from fault
    return {"tag": read.text, "names": read.names, "remapped": read.remapped}


def steam(given: Given) -> Answer:
    """Saturation, from pressure in absolute kPa or from temperature in °C."""
    only(given, "kpa", "celsius")
    pressure, temperature = given.get("kpa") is not None, given.get("celsius") is not None
    if pressure == temperature:
        raise Unreadable("Give either “kpa” (absolute) or “celsius”, one of the two.")
    try:
        if pressure:
            kpa = number(given, "kpa")
            return {"celsius": heat.saturation_celsius(kpa), "kpa": kpa}
        celsius = number(given, "celsius")
        return {"celsius": celsius, "kpa": heat.saturation_kpa(celsius)}
    except ValueError as fault:
        raise Unreadable(str(fault)) from fault


def f0(given: Given) -> Answer:
    """Minutes at the reference that kill as the whole trace does."""
    only(given, "seconds", "celsius", "reference_celsius", "z_kelvin")
    seconds = _equivalent(
        given, reference=number(given, "reference_celsius"), z=number(given, "z_kelvin")
    )
    return {"f0_min": seconds / 60}


def a0(given: Given, rules: Rules) -> Answer:
    """Seconds at 80 °C that disinfect as the trace does, against a target if there is one."""
    only(given, "seconds", "celsius", "target_s")
    used = ("a0.reference", "a0.z", "a0.floor")
    reference, z, floor = (rules.number(rule) for rule in used)
    a0_s = _equivalent(given, reference=reference, z=z, floor=floor)
    return judged(_a0_reasons(a0_s, given), [rules[rule] for rule in used], a0_s=a0_s)


def _a0_reasons(a0_s: float, given: Given) -> list[Reason]:
    if given.get("target_s") is None:
        says = "No target was given (“target_s”), so nothing was judged."
        return [Reason("target-not-given", says, spoils="undecided")]
    target = number(given, "target_s")
    if target <= 0:
        raise Unreadable(f"“target_s” is {target:g}; an A0 to reach is above nought.")
    # A sum of many steps is exact to some fifteen digits, not more.
    if a0_s >= target or math.isclose(a0_s, target, rel_tol=1e-9):
        return []
    says = f"It reached an A0 of {math.floor(a0_s * 10) / 10:g} s; it needs {target:g} s."
    return [Reason("a0-short", says)]


def _equivalent(given: Given, *, reference: float, z: float, floor: float | None = None) -> float:
    seconds, celsius = numbers(given, "seconds"), numbers(given, "celsius")
    try:
        return heat.equivalent_time(seconds, celsius, reference=reference, z=z, floor=floor)
    except ValueError as fault:
        raise Unreadable(str(fault)) from fault


CHECKS = Checks(figures={"tag": tag, "steam": steam, "f0": f0}, by_rules={"a0": a0})
