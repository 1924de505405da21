"""The TOML files of dated rules to books, every mistake in them named by file and rule.

A rule is a `[[rule]]` with `id`, `value`, `unit`, `source`, `from` (a date) and `basis`, and
perhaps `note`, `choices` and `least`, the least number that a clinic may set. A rule that sets no
limit has `no-limit = "whole"` or `"decimal"` in place of `value`, for the kind of number that a
clinic may set. Several editions of one id differ in `from`. What all books share stands in the
SHARED files; a book that states one of their ids takes the place of all its editions there.
"""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any, get_args

from equip.rulebook.book import Book
from equip.rulebook.rule import BadRule, Basis, Kind, Rule, Value, kind_of
from equip.typed import exact

SHARED = (
    "common",
    "clinic",
    "periodic",
    "thermal",
    "indicators",
    "evidence",
    "likeness",
    "measuring",
    "upkeep",
    "session",
    "stops",
    "counts",
    "waterline",
)
BOOKS = ("england", "australia", "united-states")
DEFAULT = "england"

Editions = dict[str, tuple[Rule, ...]]

_HERE = Path(__file__).parent
_NEEDED = frozenset({"id", "unit", "source", "from", "basis"})
_KNOWN = _NEEDED | {"value", "no-limit", "note", "choices", "least"}
_BASES = frozenset(get_args(Basis)) - {"clinic"}


class UnknownBook(ValueError):
    """A rule book that does not exist; the message lists those that do."""


def known_book(name: str) -> str:
    """*name*, if a starter book is called so, without reading it. Raises UnknownBook."""
    if name not in BOOKS:
        raise UnknownBook(f"There is no rule book “{name}”; there are {', '.join(BOOKS)}.")
    return name


@cache
def load(name: str) -> Book:
    """The starter book *name*. Raises UnknownBook."""
    return Book(known_book(name), _merged(name), _liftable())


def parse(text: str, file: str) -> Editions:
    """The rules of one TOML file by id, editions oldest first. Raises BadRule."""
    import tomllib

    try:
        content = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as fault:
        raise BadRule(f"{file}: not TOML ({fault}).") from fault
    tables = content.pop("rule", [])
    if content or not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
        raise BadRule(f"{file}: only [[rule]] tables belong here.")
    found: dict[str, list[Rule]] = {}
    for number, table in enumerate(tables, start=1):
        rule = _rule(table, f"{file}, rule {table.get('id', number)}")
        found.setdefault(rule.id, []).append(rule)
    return {name: _ordered(rules, f"{file}, rule {name}") for name, rules in found.items()}


@cache
def _file(name: str) -> Editions:
    file = f"{name}.toml"
    return parse((_HERE / file).read_text(encoding="utf-8"), file)


def _merged(name: str) -> Editions:
    return merge({shared: _file(shared) for shared in SHARED}, _file(name))


def merge(shared: Mapping[str, Editions], own: Editions) -> Editions:
    """The rules of a book: its own in place of the *shared*, which may not share an id."""
    merged: Editions = {}
    for file, rules in shared.items():
        if twice := set(merged) & set(rules):
            raise BadRule(f"{file}.toml, rule {min(twice)}: stands in another shared file too.")
        merged |= rules
    return merged | own


@cache
def _liftable() -> frozenset[str]:
    """The rules that some book leaves without a limit."""
    return frozenset(
        name
        for book in BOOKS
        for name, rules in _merged(book).items()
        if any(rule.value is None for rule in rules)
    )


def _ordered(rules: list[Rule], where: str) -> tuple[Rule, ...]:
    rules.sort(key=lambda rule: rule.since)
    if len({rule.since for rule in rules}) < len(rules):
        raise BadRule(f"{where}: two editions have the same date under from.")
    if len({rule.kind for rule in rules}) > 1:
        raise BadRule(f"{where}: its editions hold different kinds of value.")
    return tuple(rules)


def _rule(table: dict[str, Any], where: str) -> Rule:
    if unknown := set(table) - _KNOWN:
        raise BadRule(f"{where}: “{min(unknown)}” is not known here.")
    if missing := _NEEDED - set(table):
        raise BadRule(f"{where}: “{min(missing)}” is missing.")
    for name in ("id", "source", "basis"):
        if not isinstance(table[name], str) or not table[name].strip():
            raise BadRule(f"{where}: “{name}” must be a text that is not empty.")
    if table["basis"] not in _BASES:
        raise BadRule(
            f"{where}: basis “{table['basis']}” is not one of {', '.join(sorted(_BASES))}."
        )
    if not isinstance(table["from"], date) or isinstance(table["from"], datetime):
        raise BadRule(f"{where}: “from” must be a date.")
    value, kind = _value(table, where)
    return Rule(
        id=table["id"],
        value=value,
        unit=_text(table, "unit", where),
        source=table["source"],
        since=table["from"],
        basis=table["basis"],
        note=_text(table, "note", where),
        kind=kind,
        choices=_choices(table, value, where),
        least=_least(table, value, where),
    )


def _value(table: dict[str, Any], where: str) -> tuple[Value, Kind]:
    if ("value" in table) == ("no-limit" in table):
        raise BadRule(f"{where}: give either “value” or “no-limit”.")
    if "no-limit" in table:
        if table["no-limit"] not in ("whole", "decimal"):
            raise BadRule(f"{where}: “no-limit” must be whole or decimal.")
        return None, table["no-limit"]
    value = table["value"]
    if isinstance(value, str) and (number := exact(value)) is not None:
        value = number
    if not isinstance(value, int | Decimal | str) or value == "":
        raise BadRule(f"{where}: “value” must be a number, a text, true or false.")
    if isinstance(value, Decimal) and not value.is_finite():
        raise BadRule(f"{where}: “value” must be a finite number.")
    return value, kind_of(value)


def _choices(table: dict[str, Any], value: Value, where: str) -> tuple[str, ...]:
    choices = table.get("choices", [])
    if not isinstance(choices, list) or not all(isinstance(one, str) for one in choices):
        raise BadRule(f"{where}: “choices” must be a list of texts.")
    if choices and value not in choices:
        raise BadRule(f"{where}: “value” is not among its choices.")
    return tuple(choices)


def _least(table: dict[str, Any], value: Value, where: str) -> int | None:
    least = table.get("least")
    if least is None:
        return None
    if isinstance(least, bool) or not isinstance(least, int):
        raise BadRule(f"{where}: “least” must be a whole number.")
    if isinstance(value, bool | str | None) or value < least:
        raise BadRule(f"{where}: “value” must be a number, {least} or more.")
    return least


def _text(table: dict[str, Any], name: str, where: str) -> str:
    value = table.get(name, "")
    if not isinstance(value, str):
        raise BadRule(f"{where}: “{name}” must be a text.")
    return value
