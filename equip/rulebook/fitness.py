"""What fitness for use goes by, by the rules in force: soaks, checks of a session, storage."""

from collections.abc import Mapping
from decimal import Decimal

from equip.facts import SessionCheck
from equip.rulebook.book import Rules
from equip.rulebook.rule import Rule
from equip.rules.fitness.agents import Agent, Contact
from equip.rules.fitness.session import KINDS, Band
from equip.rules.fitness.shelf import ShelfLimits

_NAMED_BY = ".reuse-days"
SHELF = {
    "wrapped_days": "shelf.wrapped-days",
    "unwrapped_clinical_days": "shelf.unwrapped-clinical-days",
    "unwrapped_clean_days": "shelf.unwrapped-clean-room-days",
    "flexible_hours": "shelf.scope-hours",
    "rigid_hours": "shelf.rigid-disinfected-hours",
    "packed_after_days": "shelf.wrapped-days-no-vacuum",
}
"""Each limit of storage and the rule it comes from."""


# --- soaking agents -------------------------------------------------------------------------


def agent_names(rules: Mapping[str, Rule]) -> list[str]:
    """The agents that *rules* know, in their order."""
    found = (rule.removeprefix("soak.") for rule in rules if rule.startswith("soak."))
    return [rule.removesuffix(_NAMED_BY) for rule in found if rule.endswith(_NAMED_BY)]


def behind_agent(rules: Mapping[str, Rule], name: str) -> tuple[Rule, ...]:
    """The rules that make up the agent *name*."""
    return tuple(rules[rule] for rule in rules if rule.startswith(f"soak.{name}."))


def agent(rules: Rules, name: str) -> Agent:
    """The limits of the agent *name*; MissingRule if the book has none of that name."""
    root = f"soak.{name}."

    def contact(prefix: str = "", *, automated_only: bool = False) -> Contact:
        return Contact(
            minutes=rules.decimal(f"{root}{prefix}minutes"),
            coldest_c=rules.decimal(f"{root}{prefix}celsius"),
            hottest_c=limit(f"{prefix}hottest-celsius"),
            automated_only=automated_only,
        )

    def limit(part: str) -> Decimal | None:
        return rules.decimal(root + part) if root + part in rules else None

    if f"{root}label-minutes" in rules:
        contacts = {basis: [contact(f"{basis}-")] for basis in ("label", "society")}
    else:
        contacts = {"": [contact()]}
        if f"{root}automated-minutes" in rules:
            contacts[""].append(contact("automated-", automated_only=True))
    loads = f"{root}reuse-loads"
    return Agent(
        contacts,
        rules.whole(f"{root}reuse-days"),
        limit("strip-percent"),
        rules.whole(loads) if loads in rules else None,
    )


# --- checks ahead of a session --------------------------------------------------------------


def check_hours(rules: Rules) -> dict[str, int]:
    """How many hours each check holds."""
    return {check: rules.whole(f"check.{check}.hours") for check in KINDS}


def checks_each_use(rules: Rules) -> frozenset[str]:
    """The checks that are made anew for each use."""
    edge = {"edge"} if rules.flag("check.edge.each-use") else set()
    return frozenset(edge | _asked_each(rules, "patient"))


def checks_not_asked(rules: Rules) -> frozenset[str]:
    """The checks of suction that the rules leave to the maker's instructions."""
    return frozenset(_asked_each(rules, "not asked"))


def _asked_each(rules: Rules, each: str) -> set[str]:
    return {check for check in KINDS if _each(rules, check) == each}


def _each(rules: Rules, check: str) -> str:
    rule = f"check.{check}.each"
    return rules.text(rule) if rules.has(rule) else ""


def check_band(rules: Rules, check: SessionCheck) -> Band | None:
    """What a reading is held against where its maker gives no limits; None if by nothing."""
    ends = [f"check.{check}.{end}" for end in ("low", "high")]
    if not all(rules.has(rule) for rule in ends):
        return None
    low, high = (None if rules[rule].value is None else rules.decimal(rule) for rule in ends)
    if low is None and high is None:
        return None
    return Band(low, high, rules[ends[0]].unit, "the rule book's limits")


def band_rules(check: SessionCheck) -> list[str]:
    """The rules of that band, as they are kept with a check."""
    return [f"check.{check}.low", f"check.{check}.high"]


# --- storage --------------------------------------------------------------------------------


def shelf_limits(rules: Rules) -> ShelfLimits:
    """The storage limits of *rules*; None where the book sets none."""
    return ShelfLimits(
        **{
            limit: None if rules[rule].value is None else rules.whole(rule)
            for limit, rule in SHELF.items()
        }
    )
