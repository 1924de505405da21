"""What is read off a machine without a log: which values by kind of machine, read strictly.

A value that the display or strip shows is read a second time where the rule book asks for two
readers; two readings agree if one is the other, rounded as that display rounds.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from equip.facts import Process
from equip.typed import Mistyped, decimal_text

Machine = Literal["steriliser", "washer", "bath", "other"]
Sort = Literal["number", "minutes", "choice", "text"]


@dataclass(frozen=True, slots=True)
class Field:
    """One value. *says* is what it is in a sentence; *choices* are words and what they mean.

    *again* is whether a second reader finds it on the same display or strip.
    """

    name: str
    says: str
    unit: str = ""
    sort: Sort = "number"
    choices: tuple[tuple[str, str], ...] = ()
    empty: str = ""
    hint: str = ""
    needed: bool = False
    again: bool = True


class BadValue(ValueError):
    """A typed value that makes no sense; the message says which and what to do."""


_YES_NO = (("yes", "yes"), ("no", "no"))
_COMPLETED = Field(
    "completed",
    "Did the machine finish without a fault?",
    sort="choice",
    choices=_YES_NO,
    empty="choose",
    needed=True,
)
_INDICATOR = Field(
    "indicator",
    "Indicator",
    sort="choice",
    choices=(("pass", "turned as it should"), ("fail", "did not turn")),
    empty="none in it",
    again=False,
)
_DETERGENT = Field(
    "detergent",
    "Was detergent dosed?",
    sort="choice",
    choices=(*_YES_NO, ("not-shown", "the machine does not say")),
    empty="choose",
    needed=True,
    again=False,
)
_LOT = Field("lot", "Detergent and its lot", sort="text", hint="from the container", again=False)

FIELDS: dict[Machine, tuple[Field, ...]] = {
    "steriliser": (
        _COMPLETED,
        Field("lowest_c", "Lowest temperature in the hold", "°C"),
        Field("highest_c", "Highest temperature in the hold", "°C"),
        Field("hold_min", "Holding time", "minutes", "minutes", hint="as 3.5 or 3:30"),
        _INDICATOR,
    ),
    "washer": (
        _COMPLETED,
        Field("a0_shown", "A0 as the machine shows it", "s", hint="empty if it shows none"),
        Field("disinfect_c", "Lowest temperature in the disinfection", "°C"),
        Field(
            "disinfect_min", "Time of the disinfection", "minutes", "minutes", hint="as 5 or 5:00"
        ),
        Field("flush_c", "Hottest in the first flush", "°C", hint="empty if not shown"),
        Field("wash_c", "Hottest in the wash", "°C", hint="empty if not shown"),
        _DETERGENT,
        _LOT,
        _INDICATOR,
    ),
    "bath": (
        _COMPLETED,
        Field("run_min", "Time it ran", "minutes", "minutes", hint="as 4 or 4:30"),
        Field("bath_c", "Temperature of the bath at the end", "°C"),
        Field(
            "detergent",
            "Was detergent put in?",
            sort="choice",
            choices=_YES_NO,
            empty="choose",
            needed=True,
            again=False,
        ),
        _LOT,
        Field(
            "degassed",
            "Was this filling degassed before its first load today?",
            sort="choice",
            choices=_YES_NO,
            empty="choose",
            needed=True,
            again=False,
        ),
    ),
    "other": (_COMPLETED,),
}
"""In the order of the form. A new field is added; one that was ever written down stays."""

_BY_NAME = {field.name: field for fields in FIELDS.values() for field in fields}
_PLACES = 9
_CLOCK = re.compile(r"([0-9]{1,4}):([0-5][0-9])")
_MOST_TEXT = 80
_MOST = 10_000
_TENTH = Fraction(1, 10)


def shown_name(name: str) -> str:
    """What a field is called in a sentence, also one that no form has any more."""
    return f"“{_BY_NAME[name].says}”" if name in _BY_NAME else name


def machine_of(process: Process) -> Machine:
    """What kind of machine shows such values: it is told by what a cycle of it does."""
    if process.heat == "steam":
        return "steriliser"
    if process.heat == "hot-water":
        return "washer"
    only_cleans = "clean" in process.steps and not proves(process)
    return "bath" if only_cleans else "other"


def proves(process: Process) -> bool:
    """Whether a good cycle of it disinfects or sterilises, so that more rests on it."""
    return not {"disinfect", "sterilise"}.isdisjoint(process.steps)


def accepted(given: Mapping[str, str], fields: Sequence[Field]) -> dict[str, str]:
    """The values of a form of *fields* that are not empty, as facts keep them. Raises BadValue."""
    known = {field.name for field in fields}
    kept = {name: text.strip() for name, text in given.items() if text.strip()}
    if strange := set(kept) - known:
        raise BadValue(f"“{_shown(min(strange))}” is not read off this machine.")
    kept = {name: _checked(_BY_NAME[name], text) for name, text in kept.items()}
    for field in fields:
        if field.needed and field.name not in kept:
            raise BadValue(f"{field.says} Choose an answer.")
    return kept


def value(given: Mapping[str, str], name: str) -> Fraction | None:
    """The number of a field, exactly, minutes as seconds; None if it was left empty."""
    field, text = _BY_NAME[name], given.get(name, "").strip()
    if not text:
        return None
    number, _ = _number(field, text)
    return number * 60 if field.sort == "minutes" else number


def differing(
    fields: Sequence[Field], first: Mapping[str, str], second: Mapping[str, str]
) -> list[Field]:
    """What a second reader read otherwise than the first, of what both could see."""
    return [
        field
        for field in fields
        if field.again and not _agree(field, first.get(field.name, ""), second.get(field.name, ""))
    ]


def _agree(field: Field, first: str, second: str) -> bool:
    """The same, or the finer one within half a step of what the coarser one shows."""
    if field.sort in ("choice", "text") or not first or not second:
        return first == second
    (one, step), (other, other_step) = _number(field, first), _number(field, second)
    if step == other_step:
        return one == other
    coarser = max(step, other_step)
    # “4” minutes is not how a display rounds 3:30: nobody leaves half a minute out.
    return abs(one - other) <= (min(coarser, _TENTH) if field.sort == "minutes" else coarser) / 2


def _checked(field: Field, text: str) -> str:
    """*text* as a fact keeps it. Raises BadValue."""
    if field.sort == "choice":
        words = [word for word, _ in field.choices]
        if text not in words:
            raise BadValue(f"{field.says}: “{_shown(text)}” is none of {', '.join(words)}.")
    elif field.sort == "text":
        if len(text) > _MOST_TEXT or not text.isprintable():
            raise BadValue(f"{field.says}: at most {_MOST_TEXT} letters on one line.")
    elif not _is_clock(field, text):
        return _sound(text, field.says, _like(field), _MOST)
    return text


def _number(field: Field, text: str) -> tuple[Fraction, Fraction]:
    """The number and the step in which it was read: 134.4 in tenths, 3:30 in seconds."""
    if _is_clock(field, text):
        minutes, seconds = text.split(":")
        return Fraction(int(minutes) * 60 + int(seconds), 60), Fraction(1, 60)
    sound = _sound(text, field.says, _like(field), _MOST)
    return Fraction(sound), Fraction(1, 10 ** len(sound.partition(".")[2]))


def _is_clock(field: Field, text: str) -> bool:
    return field.sort == "minutes" and _CLOCK.fullmatch(text) is not None


def _like(field: Field) -> str:
    return "3.5 or 3:30" if field.sort == "minutes" else "134.5"


def read_decimal(given: str, says: str, *, most: int = 1000) -> Decimal | None:
    """A number as it was typed, exactly; None if the field is empty."""
    text = given.strip().replace(",", ".")
    return Decimal(_sound(text, says, "21.5", most)) if text else None


def _sound(text: str, says: str, like: str, most: int) -> str:
    """The digits of a number from nought up that is below *most*. Raises BadValue.

    What is read off a display twice is compared, so a comma is not taken for a point here.
    """
    try:
        plain = "" if "," in text else decimal_text(text, places=_PLACES)
    except Mistyped:
        plain = ""
    if not plain or not 0 <= Decimal(plain) < most or plain.startswith("-"):
        raise BadValue(
            f"{says}: “{_shown(text)}” is no number that makes sense. Type it as {like}."
        )
    return plain


def _shown(text: str, most: int = 20) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"
