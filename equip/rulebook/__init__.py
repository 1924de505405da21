"""Rules as dated data: every limit with its value, unit, source, date and basis.

Read `rule` (one edition), `reading` (the TOML files), `book` (which edition is in force), then what
each wing of the rules takes from them: `programmes` and `cycles`, `typed`, `fitness`, `measuring`.
"""

from equip.rulebook.book import Book, MissingRule, Rules, UnknownProgramme, WrongKind
from equip.rulebook.reading import BOOKS, DEFAULT, SHARED, UnknownBook, known_book, load
from equip.rulebook.rule import NO_LIMIT, BadOverride, BadRule, Override, Rule

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
    "known_book",
    "load",
]
