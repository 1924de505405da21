"""What a record of a calibration starts from: points and limits by sort of instrument."""

import tomllib
from decimal import Decimal
from functools import cache
from pathlib import Path

import msgspec

from equip.rulebook.rule import BadRule, Basis

_FILE = Path(__file__).with_name("instruments.toml")


class StartPoint(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Where it is tried, and how far off it may be either way."""

    nominal: Decimal
    limit: Decimal


class Instrument(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A sort of instrument, with where its limits come from."""

    code: str
    name: str
    quantity: str
    unit: str
    source: str
    basis: Basis
    points: tuple[StartPoint, ...]
    note: str = ""


class _File(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    instrument: tuple[Instrument, ...]


@cache
def instruments() -> dict[str, Instrument]:
    """Every sort there is, by its code. BadRule where the file is not as it should be."""
    return parse(_FILE.read_text(encoding="utf-8"))


def parse(text: str) -> dict[str, Instrument]:
    """The sorts of instrument of one TOML text, by code."""
    try:
        read = msgspec.convert(tomllib.loads(text, parse_float=Decimal), _File)
    except (tomllib.TOMLDecodeError, msgspec.ValidationError) as fault:
        raise BadRule(f"instruments.toml: {fault}.") from fault
    found = {one.code: one for one in read.instrument}
    if len(found) < len(read.instrument):
        raise BadRule("instruments.toml: a code stands twice.")
    for one in read.instrument:
        if not one.points or min(point.limit for point in one.points) <= 0:
            raise BadRule(f"instruments.toml, {one.code}: each point needs a limit above nought.")
    return found
