"""A log by the family of its programme: judged, cut into stages, and asked about before release.

One door for every caller: which family a programme is of, steam or hot water, is known here alone.
"""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from equip.facts import RuleUsed
from equip.logs.plain import Trace
from equip.rulebook import programmes
from equip.rulebook.book import Rules
from equip.rules.cycles import measured_stages
from equip.rules.cycles.boundaries import AS_FOUND, Boundaries
from equip.rules.cycles.load_size import SizeRules
from equip.rules.cycles.measured_stages import Profile
from equip.rules.cycles.reference_cycle import Tolerances
from equip.rules.cycles.steam import judge as steam
from equip.rules.cycles.steam import log as steam_log
from equip.rules.cycles.steam.judge import SteamProgramme
from equip.rules.cycles.steam.log import MachineStages
from equip.rules.cycles.washer import judge as washer
from equip.rules.cycles.washer import log as washer_log
from equip.rules.cycles.washer.judge import ThermalProgramme
from equip.rules.cycles.washer.log import WasherStages
from equip.rules.cycles.washer.wet import recut
from equip.rules.verdict import Judgement
from equip.typed import exact


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
    numbers = ((rule.id, exact(rule.value)) for rule in used)
    values = {rule: number for rule, number in numbers if number is not None}
    make = programmes.thermal_from if f"{name}.target" in values else programmes.steam_from
    try:
        return make(name, values)
    except KeyError:
        return None


def profile(
    rules: Rules, programme: str, trace: Trace, corrected: Boundaries = AS_FOUND
) -> Profile:
    """The stages of *trace* by *programme* of *rules*; UnknownProgramme if there is none.

    A washer's drying begins where somebody *corrected* it to, as in its judgement.
    """
    if programme in rules.thermal_programmes():
        limits = rules.thermal_programme(programme)
        seen = recut(washer_log.look(trace, limits), corrected.drying_begins_s)
        a0_s = washer.a0_of(seen, seen.counted, limits)
        return measured_stages.of_water(seen, limits.stage_swing_k, a0_s)
    band = rules.programme(programme)
    assert band.levels is not None  # noqa: S101 — a book always has them
    return measured_stages.of_steam(steam_log.look(trace, band), band.levels)


# --- questions before release ---------------------------------------------------------------


def tolerances(rules: Rules) -> Tolerances:
    """How far a cycle may differ from the reference before somebody is asked; shares of one."""
    return Tolerances(
        time_s=rules.number("likeness.time-s"),
        time_share=rules.number("likeness.time-share") / 100,
        hold_s=rules.number("likeness.hold-s"),
        vacuum_kpa=rules.number("likeness.vacuum"),
        hold_k=rules.number("likeness.hold-temperature"),
        theory_gap_k=rules.number("likeness.theory-gap"),
        stage_k=rules.number("likeness.stage-temperature"),
        a0_share=rules.number("likeness.a0-share") / 100,
        curve_k=rules.number("likeness.curve"),
        curve_window_s=rules.number("likeness.curve-window"),
    )


def size_rules(rules: Rules) -> SizeRules:
    """When a load's size is asked about."""
    return SizeRules(
        fewest_cycles=rules.whole("load-size.fewest-cycles"),
        fewest_sizes=rules.whole("load-size.fewest-sizes"),
        scatter=rules.number("load-size.scatter"),
        least_s=rules.number("load-size.least-s"),
    )
