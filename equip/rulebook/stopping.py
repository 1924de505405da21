"""What each means stops by the rules in force: heat by its programme, chemistry by its agent."""

from decimal import Decimal

from equip.facts import Hazard, Process
from equip.rulebook.book import Rules
from equip.rulebook.rule import Rule
from equip.rules.fitness.agents import agent_of
from equip.rules.fitness.stopping import GERMS, Germ, hazards_of

_OF_AN_AGENT = ".vegetative-bacteria"
_SPARED: dict[Germ, str] = {
    "other-viruses": "hazard.bacteria-viruses.needs-other-viruses",
    "mycobacteria": "hazard.bacteria-viruses.needs-mycobacteria",
}
_NO_HEAT = "without-heat"


def agents_known(rules: Rules) -> list[str]:
    """Every agent of which the rules say what it stops, on wipes or in a bath."""
    found = [rule.removesuffix(_OF_AN_AGENT) for rule in rules if rule.endswith(_OF_AN_AGENT)]
    names = [rule.removeprefix("stops.") for rule in found if rule.startswith("stops.")]
    heat = {_NO_HEAT, "steam", *rules.thermal_programmes()}
    return [name for name in names if name not in heat]


def stopped_by(
    rules: Rules, means: str, minutes: Decimal | None = None
) -> tuple[tuple[Hazard, ...], tuple[Rule, ...]]:
    """The hazards that *means* stops, and the rules that say so; nothing if they know no such.

    An agent that needs longer for spores stops them too if it had those *minutes*.
    """
    used = [rules[name] for germ in GERMS if (name := f"stops.{means}.{germ}") in rules]
    if not used:
        return (), ()
    germs: set[Germ] = {germ for germ in GERMS if rules.flag(f"stops.{means}.{germ}")}
    longer = f"stops.{means}.spores-minutes"
    if minutes is not None and longer in rules:
        used.append(rules[longer])
        if minutes >= rules.decimal(longer):
            germs.add("spores")
    spared = {germ for germ, rule in _SPARED.items() if not rules.flag(rule)}
    return hazards_of(germs, spared), (*used, *(rules[rule] for rule in _SPARED.values()))


def stopped_by_cycle(
    rules: Rules, process: Process, programme: str, soaked: Decimal | None = None
) -> tuple[Hazard, ...]:
    """The hazards that a cycle stops; *soaked* are the minutes in the bath, if it was one."""
    return stopped_by(rules, _means(process, programme), soaked)[0]


def _means(process: Process, programme: str) -> str:
    """A bath without a known agent has no means: it disinfects nothing."""
    if process.heat == "steam":
        return "steam"
    if process.heat == "hot-water":
        return programme
    return agent_of(programme) or (_NO_HEAT if "sterilise" in process.steps else "")
