"""One dated rule, and the one a clinic puts in its place: their values and how text becomes one."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from equip.typed import exact

Value = int | Decimal | str | bool | None
Kind = Literal["whole", "decimal", "flag", "text"]
Basis = Literal["published", "second-hand", "maker", "common practice", "memory", "clinic"]

NO_LIMIT = "no limit"
"""What a clinic writes to lift a limit, where a rule may be without one."""

_FLAGS = {"true": True, "yes": True, "false": False, "no": False}


@dataclass(frozen=True, slots=True)
class Rule:
    """One edition of one rule. *value* is None where it sets no limit.

    *kind* is the kind of value it takes even then; *choices* are the only words that a text
    may be, if there are any; *least* is the least number that a clinic may set.
    """

    id: str
    value: Value
    unit: str
    source: str
    since: date
    basis: Basis
    note: str = ""
    kind: Kind = "text"
    choices: tuple[str, ...] = ()
    least: int | None = None


@dataclass(frozen=True, slots=True)
class Override:
    """What a clinic decided in place of the book, in force from *since* on, by whom and why."""

    rule: str
    value: str
    reason: str
    since: date
    by: str


class BadRule(ValueError):
    """A rule that cannot be read; the message names where it stands and what to do."""


class BadOverride(ValueError):
    """A clinic's own value that cannot be used; the message says why."""


def kind_of(value: Value) -> Kind:
    """The kind of a value that is not None."""
    if isinstance(value, bool):
        return "flag"
    if isinstance(value, int):
        return "whole"
    return "decimal" if isinstance(value, Decimal) else "text"


def override(rule: Rule, decided: Override, *, may_lift: bool) -> Rule:
    """The edition of *rule* that a clinic decided. Raises BadOverride.

    The value is of the kind that the rule takes. A number below nought is refused where the
    book's is not below nought itself, and a limit is lifted only where *may_lift*.
    """
    if not decided.reason.strip():
        raise BadOverride(f"{rule.id}: an own value needs a reason, and none was given.")
    return Rule(
        id=rule.id,
        value=_value(rule, decided.value.strip(), may_lift=may_lift),
        unit=rule.unit,
        source=decided.reason.strip(),
        since=decided.since,
        basis="clinic",
        note=f"Decided by {decided.by}.",
        kind=rule.kind,
        choices=rule.choices,
        least=rule.least,
    )


def _value(rule: Rule, text: str, *, may_lift: bool) -> Value:
    if text.lower() == NO_LIMIT and rule.kind in ("whole", "decimal"):
        if not may_lift:
            raise BadOverride(f"{rule.id} cannot be without a limit: give a number.")
        return None
    if rule.kind == "flag":
        if text.lower() not in _FLAGS:
            raise BadOverride(f"{rule.id}: “{text}” was read; give true or false.")
        return _FLAGS[text.lower()]
    return _word(rule, text) if rule.kind == "text" else _number(rule, text)


def _word(rule: Rule, text: str) -> str:
    if rule.choices and text not in rule.choices:
        raise BadOverride(f"{rule.id}: “{text}” was read; give one of {', '.join(rule.choices)}.")
    if not text:
        raise BadOverride(f"{rule.id}: nothing was read; give a text.")
    return text


def _number(rule: Rule, text: str) -> int | Decimal:
    number = exact(text)
    if number is None:
        raise BadOverride(f"{rule.id}: “{text}” is no number; give one as 3 or 3.5.")
    if number < 0 and not (isinstance(rule.value, int | Decimal) and rule.value < 0):
        raise BadOverride(f"{rule.id}: {text} is below nought, which makes no sense here.")
    if rule.least is not None and number < rule.least:
        raise BadOverride(f"{rule.id}: {text} was read; give {rule.least} or more.")
    if rule.kind == "decimal":
        return number
    if number != number.to_integral_value():
        raise BadOverride(f"{rule.id}: {text} was read; give a whole number.")
    return int(number)
