"""The form of a layout: a field for each thing that a layout says, as text both ways."""

from collections.abc import Mapping
from decimal import Decimal

import msgspec

from equip import typed
from equip.logs.layout import BadLayout, Column, Layout
from equip.typed import Mistyped

_WORDS = (
    "encoding",
    "delimiter",
    "decimal",
    "time_as",
    "date_order",
    "zone",
    "temperature",
    "pressure_unit",
    "machine_key",
    "cycle_key",
    "until",
)
_COLUMNS = ("time", "date", "pressure")
_LONGEST = 500
_SAID = {
    "encoding": "the characters",
    "delimiter": "what parts the columns",
    "decimal": "the decimals",
    "time_as": "how the time is written",
    "date_order": "the order of the date",
    "temperature": "the unit of temperature",
    "pressure_unit": "the unit of pressure",
}


def filled(layout: Layout) -> dict[str, str]:
    """The form as it stands for *layout*."""
    form = {name: str(getattr(layout, name)) for name in (*_WORDS, "skip")}
    form |= {name: _shown(getattr(layout, name)) for name in _COLUMNS}
    form["probes"] = "\n".join(_shown(probe) for probe in layout.probes)
    form["header"] = "yes" if layout.header else "no"
    form["gauge"] = "yes" if layout.gauge else "no"
    form["barometer_kpa"] = _shown(layout.barometer_kpa)
    form["altitude_m"] = _shown(layout.altitude_m)
    return form


def described(form: Mapping[str, str]) -> Layout:
    """The layout that *form* describes; BadLayout with a sentence on the field that is wrong."""
    said: dict[str, object] = {name: form.get(name, "").strip() for name in _WORDS}
    if any(len(form.get(name, "")) > _LONGEST for name in (*_WORDS, *_COLUMNS, "probes")):
        raise BadLayout(f"A field has more than {_LONGEST} characters: no log needs that.")
    probes = form.get("probes", "").splitlines()
    said |= {name: _column(form.get(name, "")) for name in _COLUMNS}
    said["time"] = said["time"] or ""
    said["probes"] = [_column(line) for line in probes if line.strip()]
    said["header"] = form.get("header") != "no"
    said["gauge"] = form.get("gauge") == "yes"
    said["skip"] = _whole(form.get("skip", ""), "the lines to skip") or 0
    said["altitude_m"] = _whole(form.get("altitude_m", ""), "the altitude")
    said["barometer_kpa"] = _decimal(form.get("barometer_kpa", ""), "the barometer")
    for name, what in _SAID.items():
        if not said[name]:
            raise BadLayout(f"Nothing was chosen for {what}: choose one.")
    try:
        return msgspec.convert(said, Layout)
    except msgspec.ValidationError as problem:
        raise BadLayout(f"This is no layout of a log ({str(problem).rstrip('.')}).") from None


def _shown(value: object) -> str:
    return "" if value is None else str(value)


def _column(text: str) -> Column | None:
    """A column by its place where it is a number, else by its name; None if nothing is there."""
    text = text.strip()
    if typed.is_digits(text, 4):
        return int(text)
    return text or None


def _whole(text: str, what: str) -> int | None:
    try:
        return typed.whole(text, least=-999_999) if text.strip() else None
    except Mistyped:
        says = f"“{text.strip()[:20]}” was read for {what}: give a whole number."
        raise BadLayout(says) from None


def _decimal(text: str, what: str) -> Decimal | None:
    try:
        return typed.decimal(text) if text.strip() else None
    except Mistyped:
        says = f"“{text.strip()[:20]}” was read for {what}: give a number, as 101.3."
        raise BadLayout(says) from None
