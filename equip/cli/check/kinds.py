"""`check KIND`: JSON in, a rule asked, JSON out. No database, no Flask, no clock.

Input is checked strictly and refused with one sentence; what is not given is not judged. A family
of checks is imported when one of them is asked for, and a rule book is read only for those that
ask it.
"""

from collections.abc import Callable, Mapping
from datetime import date

from equip import rulebook
from equip.cli.check.answering import Answer, Checks
from equip.cli.check.reading import Unreadable, called
from equip.rulebook import Rules


def _heat() -> Checks:
    from equip.cli.check.heat import CHECKS

    return CHECKS


def _testing() -> Checks:
    from equip.cli.check.testing import CHECKS

    return CHECKS


def _keeping() -> Checks:
    from equip.cli.check.keeping import CHECKS

    return CHECKS


def _measuring() -> Checks:
    from equip.cli.check.measuring import CHECKS

    return CHECKS


KINDS: dict[str, Callable[[], Checks]] = {
    "tag": _heat,
    "steam": _heat,
    "f0": _heat,
    "a0": _heat,
    "leak": _testing,
    "indicator": _testing,
    "spore": _testing,
    "chart": _testing,
    "soak": _keeping,
    "dilution": _keeping,
    "pack": _keeping,
    "scope": _keeping,
    "wait": _keeping,
    "due": _keeping,
    "conformity": _measuring,
    "interval": _measuring,
    "electrical": _measuring,
    "convert": _measuring,
}
"""Every check there is, by the word it is asked with, and where its family is found."""


def asks_rules(kind: str) -> bool:
    """Whether check *kind* asks a rule book; Unreadable if there is no such check."""
    return kind in _family(kind).by_rules


def check(kind: str, given: object, rules: Rules | None = None) -> Answer:
    """The answer of check *kind* to the JSON object *given*, by *rules*.

    Without *rules*, by the newest of the default book. Raises Unreadable.
    """
    family = _family(kind)
    if not isinstance(given, Mapping):
        raise Unreadable(f"{called(given).capitalize()} was read; give one JSON object.")
    if (figure := family.figures.get(kind)) is not None:
        answer = figure(given)
    else:
        if rules is None:
            rules = rulebook.load(rulebook.DEFAULT).on(date.max)
        answer = family.by_rules[kind](given, rules)
    return {"reasons": [], "rules": [], **answer}


def _family(kind: str) -> Checks:
    if kind not in KINDS:
        raise Unreadable(f"There is no check “{kind}”; there are {', '.join(KINDS)}.")
    return KINDS[kind]()
