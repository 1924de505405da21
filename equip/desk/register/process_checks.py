"""What a machine does to a load, checked before a type with it is defined: faults in sentences."""

from collections.abc import Iterator
from decimal import Decimal

from equip.desk.act.act import Act, Refused
from equip.desk.register.machine_limits import FAMILIES, NAMES, limits_of
from equip.facts import ItemType, Limits, Process
from equip.rules.cycles.heat import ATMOSPHERE_KPA
from equip.scan import show_tag
from equip.store.readings import load_rows

_OF = {
    "steam": "a machine that steams",
    "hot-water": "a machine with hot water",
    "none": "a machine without heat",
}
# What no machine of this sort does: a slip of a key or of a unit, such as mbar for kPa.
_RANGES = {
    "pulses": (1, 20),
    "vacuum_kpa": (Decimal("0.1"), ATMOSPHERE_KPA[0]),
    "steam_kpa": (1, 350),
    "drying_kpa": (Decimal("0.1"), ATMOSPHERE_KPA[1]),
    "drying_s": (1, 7200),
    "wash_low_c": (20, 95),
    "wash_high_c": (20, 95),
    "flush_high_c": (5, 60),
    "run_s": (1, 14_400),
    "bath_high_c": (10, 95),
}


def check(act: Act, kind: ItemType) -> None:
    """Refused with every fault of the type's process; a type without one runs no loads."""
    if kind.process is None:
        return
    faults = [*_faults(act, kind.process), *limit_faults(kind.process)]
    if not faults:
        faults = list(_still_needed(act, kind))
    if faults:
        raise Refused(" ".join(faults))


def _faults(act: Act, process: Process) -> Iterator[str]:
    if not process.steps:
        yield "Say which steps of the route a good cycle stands for."
    if not process.programmes:
        yield "A machine that runs loads needs a programme."
    if process.vacuum and process.heat != "steam":
        yield "Only a machine that steams has a vacuum."
    if process.minutes > 1440 or process.holds > 500:
        yield (
            f"A load of {process.holds} things in {process.minutes} min was read; up to 500 things "
            "and 1440 min are possible."
        )
    names = [one.judged_by for one in process.programmes]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield f"Two programmes are judged by “{name}”; the book could not tell them apart."
    rules = act.house.rules(act.at)
    known = {"steam": rules.steam_programmes(), "hot-water": rules.thermal_programmes()}
    for name in names if process.heat in known else ():
        if name not in known[process.heat]:
            yield (
                f"“{name}” is no programme by which {_OF[process.heat]} is judged; there are "
                f"{', '.join(known[process.heat])}."
            )


def limit_faults(process: Process) -> Iterator[str]:
    """What is wrong with the machine's own limits, a sentence for each."""
    limits = limits_of(process)
    every = [(name, family) for family, names in FAMILIES.items() for name in names]
    for name, family in every:
        value = getattr(limits, name)
        if value is None or value is False:
            continue
        says, unit = NAMES[name]
        if family != process.heat:
            yield f"“{says}” is a limit of {_OF[family]}; this one is {_OF[process.heat]}."
        elif name in _RANGES:
            least, most = _RANGES[name]
            if not least <= value <= most:
                of = f" {unit}" if unit else ""
                yield f"“{says}”: {value}{of} was read; between {least:g} and {most:g} is possible."
    if process.heat == "steam":
        yield from _steam_faults(process, limits)
    low, high = limits.wash_low_c, limits.wash_high_c
    if low is not None and high is not None and low >= high:
        yield (
            f"The wash would be at {low} °C or more and {high} °C or less: the first must be the "
            "lower."
        )


def _steam_faults(process: Process, limits: Limits) -> Iterator[str]:
    every = (limits.pulses, limits.vacuum_kpa, limits.steam_kpa, limits.drying_kpa, limits.drying_s)
    if not process.vacuum and any(one is not None for one in every):
        yield "A machine without vacuum has no pulses and no vacuum drying to set limits for."
    if (limits.pulses is None) != (limits.vacuum_kpa is None):
        yield "Pulses need both their number and the pressure that each must fall to."
    if limits.steam_kpa is not None:
        if limits.pulses is None or limits.vacuum_kpa is None:
            yield "How far a pulse rises means nothing without their number and depth."
        elif limits.steam_kpa <= limits.vacuum_kpa:
            yield (
                f"A pulse would fall to {limits.vacuum_kpa} kPa and rise to {limits.steam_kpa} "
                "kPa: the second must be the higher."
            )
    if limits.drying_s is not None and limits.drying_kpa is None:
        yield "How long it dries means nothing without the pressure that it dries at."


def _still_needed(act: Act, kind: ItemType) -> Iterator[str]:
    """Programmes that a load which is not decided yet was opened with stay."""
    assert kind.process is not None  # noqa: S101 — asked before
    offered = {one.judged_by for one in kind.process.programmes}
    for load in load_rows.open_loads(act.store):
        if act.standing(load.machine).type == kind.code and load.programme not in offered:
            yield (
                f"Load {show_tag(load.load)} is not decided and runs by {load.programme}: decide "
                "it first, then take the programme away."
            )
