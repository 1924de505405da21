"""The limits of soaking agents, read off the rules in force."""

from collections.abc import Mapping
from decimal import Decimal

from equip.rulebook.book import Rules
from equip.rulebook.rule import Rule
from equip.rules.fitness.agents import Agent, Contact

_NAMED_BY = ".reuse-days"


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
    return Agent(contacts, rules.whole(f"{root}reuse-days"), limit("strip-percent"))
