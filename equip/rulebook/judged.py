"""A log judged by whatever family its programme belongs to: one door for every caller."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from equip.facts import RuleUsed
from equip.logs.plain import Trace
from equip.rulebook import programmes
from equip.rulebook.book import Rules
from equip.rulebook.rule import as_decimal
from equip.rules.cycles.boundaries import AS_FOUND, Boundaries
from equip.rules.cycles.steam import judge as steam
from equip.rules.cycles.steam.judge import SteamProgramme
from equip.rules.cycles.steam.log import MachineStages
from equip.rules.cycles.washer import judge as washer
from equip.rules.cycles.washer.judge import ThermalProgramme
from equip.rules.cycles.washer.log import WasherStages
from equip.rules.verdict import Judgement


def judge(
    rules: Rules,
    programme: str,
    trace: Trace,
    *,
    uncertainty_k: float | None = None,
    band_width: Decimal | None = None,
    chamber_litres: float | Decimal | None = None,
    stages: MachineStages | WasherStages | None = None,
    corrected: Boundaries = AS_FOUND,
) -> Judgement:
    """The judgement of *trace* by *programme* of *rules*; UnknownProgramme if there is none.

    A band (kelvin) and a chamber (litres) mean nothing to hot water and change nothing there.
    *stages* are the machine's own limits; those of another family are left aside. *corrected*
    are boundaries of its stages that somebody corrected by hand.
    """
    if programme in rules.thermal_programmes():
        limits = rules.thermal_programme(programme)
        if isinstance(stages, WasherStages):
            limits = replace(limits, stages=stages)
        return washer.judge(trace, limits, uncertainty_k=uncertainty_k, corrected=corrected)
    band = rules.programme(programme, band_width=band_width, chamber_litres=chamber_litres)
    if isinstance(stages, MachineStages):
        band = replace(band, stages=stages)
    return steam.judge(trace, band, uncertainty_k=uncertainty_k, corrected=corrected)


def judge_version(rules: Rules, programme: str) -> str:
    """The version of the judge that `judge` asks."""
    return washer.VERSION if programme in rules.thermal_programmes() else steam.VERSION


def programme_of(name: str, used: Iterable[RuleUsed]) -> SteamProgramme | ThermalProgramme | None:
    """The programme as it stood when a cycle was judged by the *used* rules; None if they lack it.

    A judgement keeps its rules, so this does not ask what the book says today.
    """
    numbers = ((rule.id, as_decimal(rule.value)) for rule in used)
    values = {rule: number for rule, number in numbers if number is not None}
    make = programmes.thermal_from if f"{name}.target" in values else programmes.steam_from
    try:
        return make(name, values)
    except KeyError:
        return None
