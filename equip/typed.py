"""The one reader of what people type into a field: numbers, cycle numbers, days, moments, tags.

Forms, commands, files and the Bench read through it; each reader gives a value or raises
`Mistyped`, whose message says what was read and what to do. A caller adds which field it was.
Machines write otherwise: the cells of their logs are read in `equip/logs`. JSON is stricter and
never repeats what it was given, for that may be a patient's: `equip/cli/check/reading.py` shares
`exact`, `calendar_day` and `moment`, and keeps its own words.
"""

import re
from datetime import date, datetime
from decimal import Decimal, InvalidOperation

from equip.scan import UnreadableTag, read_tag

_WHOLE = re.compile(r"-?[0-9]{1,9}")
_DECIMAL = re.compile(r"-?(?:[0-9]{1,9}(?:\.([0-9]{0,9}))?|\.([0-9]{1,9}))")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_TIME = re.compile(r"([0-9]{1,2})(?:[:.]?([0-9]{2}))?")
_MOST_CYCLE_DIGITS = 8
_MOST_SHOWN = 40


class Mistyped(ValueError):
    """What was typed is no such value; the message says what was read and what to do.

    *says* is the same without what was read, for answers that must not repeat it.
    """

    def __init__(self, message: str, says: str = "") -> None:
        super().__init__(message)
        self.says = says or message


def _mistyped(text: str, says: str) -> Mistyped:
    clean = "".join(mark if mark.isprintable() else "·" for mark in text.strip())
    shown = clean if len(clean) <= _MOST_SHOWN else f"{clean[: _MOST_SHOWN - 1]}…"
    return Mistyped(f"“{shown}” {says}", says)


# --- numbers ----------------------------------------------------------------------------------


def is_digits(text: str, most: int, *, least: int = 1) -> bool:
    """Whether *text* is nothing but digits, from *least* to *most* of them."""
    return text.isascii() and text.isdigit() and least <= len(text) <= most


def whole(text: str, *, least: int = 0, most: int = 999_999) -> int:
    """A whole number in digits, from *least* to *most*."""
    plain = text.strip().replace("−", "-")
    if not _WHOLE.fullmatch(plain):
        raise _mistyped(text, "is no whole number: write it in digits, as 12.")
    if not least <= (number := int(plain)) <= most:
        raise _mistyped(text, f"is no whole number from {least} to {most}.")
    return number


def decimal(
    text: str,
    *,
    least: Decimal | int | None = None,
    most: Decimal | int | None = None,
    places: int = 6,
) -> Decimal:
    """A number exactly as it was typed, with a comma or a point."""
    plain = decimal_text(text, places=places)
    return _within(
        Decimal(plain),
        text,
        None if least is None else Decimal(least),
        None if most is None else Decimal(most),
    )


def decimal_text(text: str, *, places: int = 6) -> str:
    """The same as the text that a fact keeps: a point, a plain minus, every digit as typed."""
    plain = text.strip().replace(",", ".").replace("−", "-")
    found = _DECIMAL.fullmatch(plain)
    if found is None or len(found[1] or found[2] or "") > places:
        raise _mistyped(text, "is no number: write it in digits, as 12 or 12.5.")
    number = plain.removesuffix(".")
    return number.replace(".", "0.", 1) if number.lstrip("-").startswith(".") else number


def exact(text: str) -> Decimal | None:
    """A number as rule books and JSON write one, exponents too; None if it is not one."""
    if not text.isascii() or "_" in text:
        return None
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None


def _within(number: Decimal, text: str, least: Decimal | None, most: Decimal | None) -> Decimal:
    if least is not None and number < least:
        raise _mistyped(text, f"is too small: the least is {least}.")
    if most is not None and number > most:
        raise _mistyped(text, f"is too large: the most is {most}.")
    return number


def cycle_number(text: str) -> str:
    """A machine's own number of a cycle, without noughts in front; "" where it has none.

    0 is how a machine says that it has no number.
    """
    plain = text.strip()
    number = plain.lstrip("0")
    if number and not is_digits(number, _MOST_CYCLE_DIGITS):
        raise _mistyped(text, "is no cycle number: it has up to eight digits.")
    return number


# --- days and moments -------------------------------------------------------------------------


def day(text: str) -> date:
    """A day of the calendar."""
    found = calendar_day(text.strip())
    if found is None:
        raise _mistyped(text, "is no date; write it as 2026-03-31.")
    return found


def calendar_day(text: str) -> date | None:
    """A day as YYYY-MM-DD, None if it is not one."""
    if not _DAY.fullmatch(text):
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def moment(text: str) -> datetime:
    """A moment with its offset from UTC."""
    like = "write it as 2026-02-03T08:15:00+00:00."
    try:
        found = datetime.fromisoformat(text.strip())
    except ValueError:
        raise _mistyped(text, f"is no time: {like}") from None
    if found.tzinfo is None:
        raise _mistyped(text, f"has no offset from UTC: {like}")
    return found


def minute_of_day(text: str, *, last: int = 24 * 60 - 1) -> int:
    """A time of day as minutes since midnight, up to *last*: 08:30, 8.30."""
    found = _TIME.fullmatch(text.strip())
    minutes = int(found[1]) * 60 + int(found[2] or 0) if found else -1
    if found is None or int(found[2] or 0) > 59 or minutes > last:
        raise _mistyped(text, "is no time of day; write it as 08:30.")
    return minutes


# --- tags -------------------------------------------------------------------------------------


def tag(text: str) -> str:
    """A tag, however it was typed: in groups, in small letters, through another keyboard."""
    try:
        return read_tag(text).text
    except UnreadableTag as problem:
        raise Mistyped(str(problem), "is no tag of this clinic: type what is printed.") from None


def maybe_tag(text: str) -> str | None:
    """The same where a name or something else may stand instead; None if it is no tag."""
    try:
        return read_tag(text).text
    except UnreadableTag:
        return None
