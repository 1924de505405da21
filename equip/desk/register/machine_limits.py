"""A machine's own limits out of its type: as the judges take them, as a judgement keeps them."""

from collections.abc import Iterable, Mapping
from decimal import Decimal

from equip.facts import Limits, Process, RuleUsed
from equip.rulebook import Rule
from equip.rules.cycles.steam.log import MachineStages
from equip.rules.cycles.washer.log import WasherStages

_SOURCE = "the machine's type, as set in Setup"
_STEADY = ("thermal.steady-k", "thermal.steady-s")

NAMES = {
    "pulses": ("Pulses of the air removal", ""),
    "vacuum_kpa": ("Each pulse falls to", "kPa"),
    "steam_kpa": ("Each pulse rises to", "kPa"),
    "drying_kpa": ("Drying falls to", "kPa"),
    "drying_s": ("Drying stays there for", "s"),
    "wash_low_c": ("Wash at", "°C"),
    "wash_high_c": ("Wash not above", "°C"),
    "flush_high_c": ("Flush not above", "°C"),
    "dosing": ("Takes detergent", ""),
    "run_s": ("Runs for", "s"),
    "bath_high_c": ("Bath not above", "°C"),
}
"""Each limit as people say it, and its unit."""

FAMILIES = {
    "steam": ("pulses", "vacuum_kpa", "steam_kpa", "drying_kpa", "drying_s"),
    "hot-water": ("flush_high_c", "wash_low_c", "wash_high_c", "dosing"),
    "none": ("run_s", "bath_high_c"),
}
"""Which limits a machine can have, by its heat."""

READ_OFF = ("flush_high_c", "wash_low_c", "wash_high_c", "run_s", "bath_high_c")
"""Those that values read off a machine are held against; the others need its log."""


def limits_of(process: Process) -> Limits:
    """The machine's own limits; none is known where its type sets none."""
    return process.limits or Limits()


def stages_of(process: Process, rules: Mapping[str, Rule]) -> MachineStages | WasherStages | None:
    """The limits that a log of this machine is judged by beside its programme.

    A steriliser without vacuum has no pulses and no vacuum drying of which to ask.
    """
    limits = limits_of(process)
    if process.heat == "steam" and process.vacuum:
        return MachineStages(
            pulses=limits.pulses,
            vacuum_kpa=_float(limits.vacuum_kpa),
            steam_kpa=_float(limits.steam_kpa),
            drying_kpa=_float(limits.drying_kpa),
            drying_s=_float(limits.drying_s),
        )
    if process.heat == "hot-water":
        return washer_stages(limits, rules)
    return None


def washer_stages(limits: Limits, rules: Mapping[str, Rule]) -> WasherStages:
    """How the flush and the wash are found in a washer's log, and their limits if known."""
    steady_k, steady_s = (float(str(rules[name].value)) for name in _STEADY)
    return WasherStages(
        wash_low_c=_float(limits.wash_low_c),
        wash_high_c=_float(limits.wash_high_c),
        flush_high_c=_float(limits.flush_high_c),
        dosing=limits.dosing,
        steady_k=steady_k,
        steady_s=steady_s,
    )


def behind(process: Process, rules: Mapping[str, Rule]) -> list[Rule]:
    """The rules by which the flush and the wash are found, where one of them is judged."""
    limits = limits_of(process)
    asked = (limits.wash_low_c, limits.wash_high_c, limits.flush_high_c)
    is_judged = process.heat == "hot-water" and any(limit is not None for limit in asked)
    return [rules[name] for name in _STEADY] if is_judged else []


def limits_used(process: Process, names: Iterable[str] = tuple(NAMES)) -> tuple[RuleUsed, ...]:
    """The machine's own limits as a judgement lists them; *names* are those it can be held to."""
    return tuple(
        RuleUsed(
            id=f"machine.{name.replace('_', '-')}",
            value=value,
            unit=unit,
            basis="maker",
            source=_SOURCE,
        )
        for name, (_, unit) in NAMES.items()
        if name in set(names) and (value := spelled(getattr(limits_of(process), name)))
    )


def spelled(value: Decimal | int | bool | None) -> str:
    """A limit as text; "" where it is not known."""
    if value is None or value is False:
        return ""
    return "yes" if value is True else str(value)


def _float(value: Decimal | int | None) -> float | None:
    return None if value is None else float(value)
