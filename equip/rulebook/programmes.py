"""Dated rules to the steam programmes that a cycle is judged against, and back to the rules."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal

from equip.rulebook.rule import Rule
from equip.rules.steam import SteamProgramme

_GENERAL = (
    "steam.theory-gap",
    "steam.spread",
    "steam.hole-s",
    "steam.hole-factor",
    "steam.f0-reference",
    "steam.f0-z",
)
_SMALL, _LARGE = "steam.equilibration-small", "steam.equilibration-large"


def names(rules: Mapping[str, Rule]) -> list[str]:
    """The programmes that *rules* know: whatever has a holding time."""
    return [rule.removesuffix(".hold") for rule in rules if rule.endswith(".hold")]


def behind(
    rules: Mapping[str, Rule],
    name: str,
    band_width: Decimal | None,
    chamber_litres: float | Decimal | None,
) -> tuple[Rule, ...]:
    """The rules that make up programme *name* for a chamber of that size."""
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


def build(name: str, rules: Iterable[Rule]) -> SteamProgramme:
    """The programme that those rules make up."""
    by_id = {rule.id: _exact(rule) for rule in rules}
    low = by_id[f"{name}.low"]
    settling = by_id[_SMALL] if _SMALL in by_id else by_id[_LARGE]
    return SteamProgramme(
        id=name,
        low_c=float(low),
        high_c=float(low + by_id[f"{name}.band-width"]),
        hold_s=float(by_id[f"{name}.hold"]),
        spread_k=float(by_id["steam.spread"]),
        theory_gap_k=float(by_id["steam.theory-gap"]),
        equilibration_s=float(settling),
        hole_s=float(by_id["steam.hole-s"]),
        hole_factor=float(by_id["steam.hole-factor"]),
        f0_reference_c=float(by_id["steam.f0-reference"]),
        f0_z_k=float(by_id["steam.f0-z"]),
    )


def _exact(rule: Rule) -> Decimal:
    assert isinstance(rule.value, int | Decimal)  # noqa: S101 — no steam rule may be lifted
    return Decimal(rule.value)
