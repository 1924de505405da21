"""Dated rules to the programmes that a cycle is judged against, and back to the rules.

Two families: steam by band and holding time, hot water by its A0. The rules a programme has tell
which it is of. The families themselves are imported where one is built: most who read rules judge
no cycle.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from equip.rulebook.rule import Rule

if TYPE_CHECKING:
    from equip.rules.cycles.steam.log import SteamProgramme
    from equip.rules.cycles.washer.log import ThermalProgramme

_LEVELS = {
    "swing_kpa": "stages.pulse-swing",
    "vented_kpa": "stages.vented",
    "drying_kpa": "stages.drying-below",
    "heating_from_c": "stages.heating-from",
}
"""By what the stages of a steam cycle are told apart, and the rule of each."""
_GENERAL = (
    "steam.theory-gap",
    "steam.theory-gap-remark",
    "steam.spread",
    "steam.hole-s",
    "steam.hole-factor",
    "steam.f0-reference",
    "steam.f0-z",
    "steam.spore-d",
    *_LEVELS.values(),
)
_THERMAL = (
    "a0.floor",
    "a0.reference",
    "a0.z",
    "thermal.stage-from",
    "thermal.stage-fall",
    "thermal.stage-swing",
    "thermal.fresh-water",
    "thermal.hottest-water",
    "thermal.hole-s",
    "thermal.hole-factor",
    "thermal.hiding-hole-s",
)
_SMALL, _LARGE = "steam.equilibration-small", "steam.equilibration-large"


def steam_names(rules: Mapping[str, Rule]) -> list[str]:
    """The steam programmes that *rules* know: whatever has a holding time in a band."""
    named = [rule.removesuffix(".hold") for rule in rules if rule.endswith(".hold")]
    return [name for name in named if f"{name}.band-width" in rules]


def thermal_names(rules: Mapping[str, Rule]) -> list[str]:
    """The thermal programmes that *rules* know: whatever has an A0 to reach."""
    named = [rule.removesuffix(".target") for rule in rules if rule.endswith(".target")]
    return [name for name in named if name.startswith("thermal-")]


def behind_thermal(rules: Mapping[str, Rule], name: str) -> tuple[Rule, ...]:
    """The rules that make up the thermal programme *name*."""
    return (rules[f"{name}.target"], *(rules[general] for general in _THERMAL))


def build_thermal(name: str, rules: Iterable[Rule]) -> "ThermalProgramme":
    """The thermal programme that those rules make up."""
    return thermal_from(name, {rule.id: _exact(rule) for rule in rules})


def thermal_from(name: str, values: Mapping[str, Decimal]) -> "ThermalProgramme":
    """The same from the bare values by rule id; KeyError if one is missing."""
    from equip.rules.cycles.washer.log import ThermalProgramme

    by_id = {rule: float(value) for rule, value in values.items()}
    return ThermalProgramme(
        id=name,
        target_s=by_id[f"{name}.target"],
        floor_c=by_id["a0.floor"],
        reference_c=by_id["a0.reference"],
        z_k=by_id["a0.z"],
        stage_from_c=by_id["thermal.stage-from"],
        stage_fall_k=by_id["thermal.stage-fall"],
        stage_swing_k=by_id["thermal.stage-swing"],
        fresh_water_c=by_id["thermal.fresh-water"],
        hottest_water_c=by_id["thermal.hottest-water"],
        hole_s=by_id["thermal.hole-s"],
        hole_factor=by_id["thermal.hole-factor"],
        hiding_hole_s=by_id["thermal.hiding-hole-s"],
    )


def behind(
    rules: Mapping[str, Rule],
    name: str,
    band_width: Decimal | None,
    chamber_litres: float | Decimal | None,
) -> tuple[Rule, ...]:
    """The rules that make up the steam programme *name* for a chamber of that size."""
    width = rules[f"{name}.band-width"]
    if band_width is not None:
        source = f"Given with the question, in place of {width.value} K ({width.source})."
        width = replace(width, value=band_width, source=source, basis="clinic", note="")
    litres = _exact(rules["steam.chamber-litres"]) if chamber_litres is None else chamber_litres
    is_large = litres > _exact(rules["steam.large-chamber-litres"])
    settling = rules[_LARGE if is_large else _SMALL]
    return (
        rules[f"{name}.low"],
        width,
        rules[f"{name}.hold"],
        *(rules[general] for general in _GENERAL),
        settling,
    )


def build(name: str, rules: Iterable[Rule]) -> "SteamProgramme":
    """The steam programme that those rules make up."""
    return steam_from(name, {rule.id: _exact(rule) for rule in rules})


def steam_from(name: str, by_id: Mapping[str, Decimal]) -> "SteamProgramme":
    """The same from the bare values by rule id; KeyError if one is missing."""
    from equip.rules.cycles.steam.log import StageLevels, SteamProgramme

    low = by_id[f"{name}.low"]
    settling = by_id[_SMALL] if _SMALL in by_id else by_id[_LARGE]
    return SteamProgramme(
        id=name,
        low_c=float(low),
        high_c=float(low + by_id[f"{name}.band-width"]),
        hold_s=float(by_id[f"{name}.hold"]),
        spread_k=float(by_id["steam.spread"]),
        theory_gap_k=float(by_id["steam.theory-gap"]),
        theory_remark_k=float(by_id["steam.theory-gap-remark"]),
        equilibration_s=float(settling),
        hole_s=float(by_id["steam.hole-s"]),
        hole_factor=float(by_id["steam.hole-factor"]),
        f0_reference_c=float(by_id["steam.f0-reference"]),
        f0_z_k=float(by_id["steam.f0-z"]),
        spore_d_min=float(by_id["steam.spore-d"]),
        levels=StageLevels(**{level: float(by_id[rule]) for level, rule in _LEVELS.items()}),
    )


def _exact(rule: Rule) -> Decimal:
    assert isinstance(rule.value, int | Decimal)  # noqa: S101 — none of them may be lifted
    return Decimal(rule.value)
