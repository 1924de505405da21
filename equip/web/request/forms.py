"""The fields of a form, read by `equip/typed.py`; what is wrong is one sentence that names it."""

from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal
from typing import TypeVar

from flask import request

from equip import typed
from equip.desk.act.act import Refused
from equip.typed import Mistyped

_Value = TypeVar("_Value")


def text(name: str, most: int = 500) -> str:
    """A field's text, trimmed; "" if it was left out."""
    value = request.form.get(name, "").strip()
    if len(value) > most:
        raise Refused(f"“{label(name)}” has {len(value)} characters; {most} is the most.")
    return value


def needed(name: str) -> str:
    value = text(name)
    if not value:
        raise Refused(f"“{label(name)}” is empty: fill it in.")
    return value


def chosen(name: str, among: Sequence[str]) -> str:
    value = text(name)
    if value not in among:
        raise Refused(f"“{label(name)}”: choose one of {', '.join(among)}.")
    return value


def whole(name: str, default: int = 0) -> int:
    value = text(name)
    return read(name, value, typed.whole) if value else default


def maybe_whole(name: str) -> int | None:
    """A whole number; None if it was left out."""
    value = text(name)
    return read(name, value, typed.whole) if value else None


def decimal(name: str) -> Decimal | None:
    """A number in exact decimals, comma or point; None if it was left out."""
    value = text(name)
    return read(name, value, typed.decimal) if value else None


def cycle_number(name: str) -> str:
    """A machine's own number of a cycle; "" where it gave none."""
    return read(name, text(name), typed.cycle_number)


def tag(name: str) -> str:
    """A tag, however it was typed: in groups, in small letters, through another keyboard."""
    return read(name, needed(name), typed.tag)


def maybe_tag(name: str) -> str:
    """A tag; "" if it was left out."""
    value = text(name)
    return read(name, value, typed.tag) if value else ""


def day(name: str, given: str = "") -> date:
    """The day in a field of a form, or in *given*, which came another way."""
    return read(name, given or needed(name), typed.day)


def maybe_day(name: str) -> date | None:
    """A day; None if it was left out."""
    value = text(name)
    return read(name, value, typed.day) if value else None


def read(name: str, value: str, reader: Callable[[str], _Value]) -> _Value:
    """*value* by one of the readers of `typed`; what is wrong names the field."""
    try:
        return reader(value)
    except Mistyped as problem:
        raise Refused(f"“{label(name)}”: {problem}") from None


def label(name: str) -> str:
    return name.replace("_", " ").capitalize()
