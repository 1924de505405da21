"""Rules as dated data: every limit with its value, unit, source, date and basis."""

from equip.rulebook.book import Book, MissingRule, Rules, UnknownProgramme, WrongKind
from equip.rulebook.judged import judge, judge_version, programme_of
from equip.rulebook.reading import BOOKS, DEFAULT, SHARED, UnknownBook, load
from equip.rulebook.rule import NO_LIMIT, BadOverride, BadRule, Override, Rule, as_decimal

__all__ = [
    "BOOKS",
    "DEFAULT",
    "NO_LIMIT",
    "SHARED",
    "BadOverride",
    "BadRule",
    "Book",
    "MissingRule",
    "Override",
    "Rule",
    "Rules",
    "UnknownBook",
    "UnknownProgramme",
    "WrongKind",
    "as_decimal",
    "judge",
    "judge_version",
    "load",
    "programme_of",
]
