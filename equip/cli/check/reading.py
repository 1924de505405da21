"""Reading what a check is given, strictly.

A key that nobody knows is refused, for a misspelt one would not be judged and nobody would notice.
A value of the wrong sort is refused with one sentence that names its key and its sort, never its
content: that may be a patient's. A key that is missing and one that is null are alike. So it is
stricter on purpose than the reader of what people type, `equip/typed.py`, and shares its core.
"""

import math
import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from equip.logs.text import shown
from equip.typed import Mistyped, calendar_day, moment
from equip.typed import exact as exact_text

Given = Mapping[str, Any]

_STAMP = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?"
    r"(Z|[+-][0-9]{2}:[0-9]{2})"
)
# No reading of a clinic has digits beyond these places; exact arithmetic on more would be slow.
_HIGHEST_PLACE, _LOWEST_PLACE = 14, -30


class Unreadable(ValueError):
    """Input that cannot be judged at all; the message says what was read and what to do."""


# --- keys ---------------------------------------------------------------------------------


def only(given: Given, *names: str, so: str = "") -> None:
    """Refuse any key that is not among *names*; *so* says where, if not at the top."""
    unknown = [str(name) for name in given if name not in names]
    if unknown:
        where = f" in {so}" if so else ""
        raise Unreadable(
            f"“{shown(unknown[0], 40)}”{where} is not known here; the keys are {', '.join(names)}."
        )


# --- numbers ------------------------------------------------------------------------------


def number(given: Given, name: str) -> float:
    """A finite number, for arithmetic that need not be exact."""
    if name not in given:
        raise Unreadable(f"“{name}” is missing; give a number.")
    return _finite(given[name], f"“{name}”")


def numbers(given: Given, name: str) -> Sequence[float]:
    """A list of finite numbers."""
    return [_finite(value, called) for value, called in _listed(given, name, "numbers")]


def exact(
    given: Given,
    name: str,
    *,
    text: bool = False,
    least: int | None = None,
    most: int | None = None,
) -> Decimal | None:
    """A number exactly as it was written, None if not given; with *text* it may be a text."""
    value = given.get(name)
    if value is None:
        return None
    decimal = _exactly(value, f"“{name}”", text=text)
    if least is not None and decimal < least:
        raise Unreadable(f"“{name}” is below {least}; give {least} or more.")
    if most is not None and decimal > most:
        raise Unreadable(f"“{name}” is above {most}; give {most} or less.")
    return decimal


def exact_needed(
    given: Given,
    name: str,
    *,
    text: bool = False,
    least: int | None = None,
    above: int | None = None,
    most: int | None = None,
) -> Decimal:
    """The same where it must be given: *least* or more, *above* that, at *most* that."""
    decimal = exact(given, name, text=text, least=least, most=most)
    if decimal is None:
        raise Unreadable(f"“{name}” is missing; give a number.")
    if above is not None and decimal <= above:
        raise Unreadable(f"“{name}” is not above {above}; give a number that is.")
    return decimal


def exacts(given: Given, name: str) -> list[Decimal]:
    """A list of numbers exactly as they were written."""
    return [_exactly(value, called) for value, called in _listed(given, name, "numbers")]


def whole(given: Given, name: str, *, least: int) -> int | None:
    """A whole number from *least* up, None if not given; 12 and 12.0 are the same."""
    decimal = exact(given, name, least=least)
    if decimal is None:
        return None
    if decimal != decimal.to_integral_value():
        raise Unreadable(f"“{name}” is a number with a fraction; give a whole number.")
    return int(decimal)


def _finite(value: object, called_so: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise Unreadable(f"{called_so} is {called(value)}; give a number.")
    try:
        found = float(value)
    except OverflowError:
        found = math.inf
    if not math.isfinite(found):
        raise Unreadable(f"{called_so} is not a finite number; correct it or leave it out.")
    return found


def _exactly(value: object, called_so: str, *, text: bool = False) -> Decimal:
    if text and isinstance(value, str):
        found = exact_text(value)
        if found is None:
            raise Unreadable(f"{called_so} is a text that is no number; write it as 0.13.")
    else:
        _finite(value, called_so)
        # The shortest text of a binary number is what was typed.
        found = Decimal(str(value))
    lowest = found.as_tuple().exponent
    if found == 0:
        return Decimal(0)
    if found.adjusted() > _HIGHEST_PLACE or not isinstance(lowest, int) or lowest < _LOWEST_PLACE:
        raise Unreadable(f"{called_so} has more digits than any reading; round it or correct it.")
    return found


# --- words, yes and no, lists -------------------------------------------------------------


def word(given: Given, name: str, choices: Sequence[str]) -> str | None:
    """One of *choices*, None if not given."""
    value = given.get(name)
    return None if value is None else one_of(value, f"“{name}”", choices)


def word_needed(given: Given, name: str, choices: Sequence[str]) -> str:
    found = word(given, name, choices)
    if found is None:
        raise Unreadable(f"“{name}” is missing; give one of {', '.join(choices)}.")
    return found


def one_of(value: object, called_so: str, choices: Sequence[str]) -> str:
    if not isinstance(value, str):
        raise Unreadable(f"{called_so} is {called(value)}; give one of {', '.join(choices)}.")
    if value not in choices:
        raise Unreadable(f"{called_so} is not known here; give one of {', '.join(choices)}.")
    return value


def flag(given: Given, name: str) -> bool | None:
    """True or false, None if not given."""
    value = given.get(name)
    if value is None or isinstance(value, bool):
        return value
    raise Unreadable(f"“{name}” is {called(value)}; give true or false.")


def flag_needed(given: Given, name: str) -> bool:
    found = flag(given, name)
    if found is None:
        raise Unreadable(f"“{name}” is missing; give true or false.")
    return found


def listed(given: Given, name: str, of: str) -> list[tuple[object, str]]:
    """Each entry of a list with what to call it; a list that is not given is empty."""
    return [] if given.get(name) is None else _listed(given, name, of)


def _listed(given: Given, name: str, of: str) -> list[tuple[object, str]]:
    values = given.get(name)
    if not isinstance(values, list | tuple):
        so = "missing" if name not in given else called(values)
        raise Unreadable(f"“{name}” is {so}; give a list of {of}.")
    return [(value, f"“{name}[{index}]”") for index, value in enumerate(values)]


# --- days and moments ---------------------------------------------------------------------


def stamp(given: Given, name: str) -> datetime:
    """A moment with its offset from UTC, needed."""
    moment = _moment(given.get(name))
    if moment is None:
        so = "missing" if given.get(name) is None else f"{called(given[name])} that is no moment"
        raise Unreadable(f"“{name}” is {so}; give a stamp like 2026-01-15T10:04:00+00:00.")
    return moment


def day_or_stamp(given: Given, name: str) -> date | datetime | None:
    """A day, or a moment with its offset; None if not given. See `day_of`."""
    value = given.get(name)
    if value is None:
        return None
    found = _moment(value) or _calendar_day(value)
    if found is None:
        raise Unreadable(
            f"“{name}” is {called(value)} that is no day; give it as YYYY-MM-DD, "
            "or a stamp with its offset."
        )
    return found


def day_of(found: date | datetime) -> date:
    """The day as written: that of a stamp is the day at its own offset."""
    return found.date() if isinstance(found, datetime) else found


def _moment(value: object) -> datetime | None:
    if not isinstance(value, str) or not _STAMP.fullmatch(value):
        return None
    try:
        return moment(value)
    except Mistyped:
        return None


def _calendar_day(value: object) -> date | None:
    return calendar_day(value) if isinstance(value, str) else None


# --- saying what was read -----------------------------------------------------------------


def called(value: object) -> str:
    """A JSON value by its sort."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, str):
        return "a text"
    if isinstance(value, Mapping):
        return "an object"
    return "a list" if isinstance(value, list | tuple) else "a number"
