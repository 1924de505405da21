"""Reasons, rules and figures as a fact keeps them."""

from collections.abc import Iterable
from decimal import Decimal

from equip.facts import RuleUsed, Told
from equip.rulebook import Rule
from equip.rules.verdict import Reason


def told_of(reasons: Iterable[Reason]) -> tuple[Told, ...]:
    """Reasons as a fact keeps them."""
    return tuple(
        Told(
            code=reason.code,
            says=reason.says,
            at_s=None if reason.at_s is None else Decimal(as_text(reason.at_s)),
        )
        for reason in reasons
    )


def rules_used(rules: Iterable[Rule]) -> tuple[RuleUsed, ...]:
    """Rules as a fact keeps them: as they stood when something was decided by them."""
    return tuple(
        RuleUsed(
            id=rule.id,
            value="no limit" if rule.value is None else str(rule.value),
            unit=rule.unit,
            basis=rule.basis,
            source=rule.source,
        )
        for rule in rules
    )


def as_text(value: float) -> str:
    """A figure as decimal text: a fact holds no binary fraction."""
    return format(Decimal(repr(round(value, 6))).normalize(), "f")
