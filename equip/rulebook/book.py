"""A rule book and the rules of one day: which edition of each rule is in force, and reading it."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING

from equip.rulebook import programmes
from equip.rulebook.rule import NO_LIMIT, BadOverride, Override, Rule, override

if TYPE_CHECKING:
    from equip.rules.cycles.steam.log import SteamProgramme
    from equip.rules.cycles.washer.log import ThermalProgramme


class MissingRule(KeyError):
    """A rule that the book does not have; the message is a sentence."""

    def __str__(self) -> str:
        return str(self.args[0])


class UnknownProgramme(MissingRule):
    """A programme that the book does not have; the message lists those it has."""


class WrongKind(TypeError):
    """A rule was read as something that it is not: a fault of ours, not of the clinic's."""


class Rules(Mapping[str, Rule]):
    """The rules in force on one day, by id. Reading one that is missing raises MissingRule."""

    def __init__(self, book: str, rules: Mapping[str, Rule]) -> None:
        self.book = book
        self._rules = dict(rules)

    def __getitem__(self, rule: str) -> Rule:
        try:
            return self._rules[rule]
        except KeyError:
            raise MissingRule(f"The rule book {self.book} has no rule “{rule}”.") from None

    def __iter__(self) -> Iterator[str]:
        return iter(self._rules)

    def __len__(self) -> int:
        return len(self._rules)

    def has(self, rule: str) -> bool:
        """Whether the book has the rule at all; it may still set no limit."""
        return rule in self._rules

    def number(self, rule: str) -> float:
        """A whole or decimal rule, in its own unit, for arithmetic that need not be exact."""
        value = self[rule].value
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            raise self._wrong(rule, "a number")
        return float(value)

    def decimal(self, rule: str) -> Decimal:
        """A whole or decimal rule, exactly."""
        value = self[rule].value
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            raise self._wrong(rule, "a number")
        return Decimal(value)

    def whole(self, rule: str) -> int:
        value = self[rule].value
        if isinstance(value, bool) or not isinstance(value, int):
            raise self._wrong(rule, "a whole number")
        return value

    def flag(self, rule: str) -> bool:
        value = self[rule].value
        if not isinstance(value, bool):
            raise self._wrong(rule, "true or false")
        return value

    def text(self, rule: str) -> str:
        value = self[rule].value
        if not isinstance(value, str):
            raise self._wrong(rule, "a text")
        return value

    def programmes(self) -> list[str]:
        """Every programme of the book, in its order: those of steam, then the thermal ones."""
        return [*self.steam_programmes(), *self.thermal_programmes()]

    def steam_programmes(self) -> list[str]:
        return programmes.steam_names(self)

    def thermal_programmes(self) -> list[str]:
        return programmes.thermal_names(self)

    def programme(
        self,
        name: str,
        *,
        band_width: Decimal | None = None,
        chamber_litres: float | Decimal | None = None,
    ) -> "SteamProgramme":
        """The steam programme *name*; *band_width* in kelvin replaces the book's.

        Raises UnknownProgramme, listing those there are.
        """
        self._check(name, self.steam_programmes(), "steam programme")
        rules = self.behind(name, band_width=band_width, chamber_litres=chamber_litres)
        return programmes.build(name, rules)

    def thermal_programme(self, name: str) -> "ThermalProgramme":
        """The thermal programme *name*. Raises UnknownProgramme, listing those there are."""
        self._check(name, self.thermal_programmes(), "thermal programme")
        return programmes.build_thermal(name, self.behind(name))

    def behind(
        self,
        name: str,
        *,
        band_width: Decimal | None = None,
        chamber_litres: float | Decimal | None = None,
    ) -> tuple[Rule, ...]:
        """The rules that a programme of either family, with the same arguments, is made of.

        Raises UnknownProgramme. A band and a chamber mean nothing to a thermal programme.
        """
        self._check(name, self.programmes(), "programme")
        if name in self.thermal_programmes():
            return programmes.behind_thermal(self, name)
        return programmes.behind(self, name, band_width, chamber_litres)

    def _check(self, name: str, known: list[str], what: str) -> None:
        if name not in known:
            raise UnknownProgramme(
                f"The rule book {self.book} has no {what} “{name}”; it has {', '.join(known)}."
            )

    def _wrong(self, rule: str, wanted: str) -> WrongKind:
        value = self[rule].value
        is_ = "sets no limit" if value is None else f"is {value}"
        return WrongKind(f"The rule {rule} of {self.book} {is_}, which is not {wanted}.")


@dataclass(frozen=True, eq=False)
class Book:
    """All editions of every rule, oldest first, and what the clinic decided in their place.

    *liftable* are the rules that a clinic may set to no limit: those without one in some book.
    """

    name: str
    editions: Mapping[str, tuple[Rule, ...]]
    liftable: frozenset[str] = frozenset()
    own: Mapping[str, tuple[Rule, ...]] = field(default_factory=dict)

    @cached_property
    def digest(self) -> str:
        """SHA-256 in hex over the name and every edition, the clinic's own included."""
        import hashlib  # brings in OpenSSL, and few who read rules ask for a digest

        editions = [*self.editions.values(), *self.own.values()]
        every = (rule for rules in editions for rule in rules)
        content = [self.name, sorted(_plain(rule) for rule in every)]
        text = json.dumps(content, ensure_ascii=False, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()

    def on(self, day: date) -> Rules:
        """Per rule the edition in force on *day*; before the first edition, the first.

        What the clinic decided holds from its date until the clinic decides again: a later
        edition of the book does not undo it.
        """
        return Rules(
            self.name,
            {
                name: _latest(self.own.get(name, ()), day) or _latest(rules, day) or rules[0]
                for name, rules in self.editions.items()
            },
        )

    def overridden(self, decisions: Iterable[Override]) -> "Book":
        """This book with the clinic's *decisions* added; of two of one day the later given counts.

        Raises BadOverride where there is no such rule, or its value cannot be one of that rule.
        """
        own = {name: list(rules) for name, rules in self.own.items()}
        for decided in decisions:
            if decided.rule not in self.editions:
                raise BadOverride(f"The rule book {self.name} has no rule “{decided.rule}”.")
            rule = override(
                self.editions[decided.rule][-1], decided, may_lift=decided.rule in self.liftable
            )
            own.setdefault(decided.rule, []).append(rule)
        # The sort is stable, so decisions of one day stay in the order they were given.
        ordered = {
            name: tuple(sorted(rules, key=lambda rule: rule.since)) for name, rules in own.items()
        }
        return Book(self.name, self.editions, self.liftable, ordered)


def _latest(editions: tuple[Rule, ...], day: date) -> Rule | None:
    return next((rule for rule in reversed(editions) if rule.since <= day), None)


def _plain(rule: Rule) -> list[str]:
    return [
        rule.id,
        rule.since.isoformat(),
        rule.kind,
        NO_LIMIT if rule.value is None else str(rule.value),
        rule.unit,
        rule.basis,
        rule.source,
        rule.note,
        *rule.choices,
    ]
