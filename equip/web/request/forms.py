"""Form text to typed values; what is wrong is one sentence that names the field."""

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from flask import request

from equip.desk.act.act import Refused
from equip.scan import read_tag

_NUMBER = re.compile(r"-?[0-9]{1,9}(\.[0-9]{1,6})?")


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
    if not value:
        return default
    if not value.isascii() or not value.isdigit() or len(value) > 6:
        raise Refused(f"“{label(name)}”: “{value}” is no whole number.")
    return int(value)


def decimal(name: str) -> Decimal | None:
    """A number in exact decimals, comma or point; None if it was left out."""
    value = text(name)
    if not value:
        return None
    plain = value.replace(",", ".").replace("−", "-")
    if not _NUMBER.fullmatch(plain):
        raise Refused(f"“{label(name)}”: “{value}” is no number.")
    return Decimal(plain)


def tag(name: str) -> str:
    """A tag, however it was typed: in groups, in small letters, through another keyboard."""
    return read_tag(needed(name)).text


def day(name: str, given: str = "") -> date:
    """The day in a field of a form, or in *given*, which came another way."""
    value = given or needed(name)
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise Refused(f"“{label(name)}”: “{value}” is no date; write it as 2026-03-31.") from None


def label(name: str) -> str:
    return name.replace("_", " ").capitalize()
