"""What a check answers: figures, a verdict where one is due, reasons, and the rules behind it."""

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from equip.cli.check.reading import Given
from equip.rulebook import Rule, Rules
from equip.rules.verdict import Reason, worst

Answer = dict[str, Any]
Figure = Callable[[Given], Answer]
Check = Callable[[Given, Rules], Answer]


class Checks(NamedTuple):
    """A family of checks by name: those that only work something out, and those that ask a rule."""

    figures: Mapping[str, Figure]
    by_rules: Mapping[str, Check]


def judged(reasons: Iterable[Reason], rules: Iterable[Rule], **figures: object) -> Answer:
    """An answer with a verdict: the worst that *reasons* leave."""
    found = list(reasons)
    return {**figures, "verdict": worst(found), **because(found, rules)}


def because(reasons: Iterable[Reason], rules: Iterable[Rule]) -> Answer:
    """What an answer rests on."""
    return {
        "reasons": [as_json(one) for one in reasons],
        "rules": [rule_used(rule) for rule in rules],
    }


def as_json(reason: Reason) -> Answer:
    return {"code": reason.code, "says": reason.says}


def rule_used(rule: Rule) -> Answer:
    """A rule as it stands in an answer."""
    value = float(rule.value) if isinstance(rule.value, Decimal) else rule.value
    return {
        "id": rule.id,
        "value": value,
        "unit": rule.unit,
        "source": rule.source,
        "basis": rule.basis,
        "from": rule.since.isoformat(),
    }
