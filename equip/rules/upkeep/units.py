"""Units of calibration certificates, converted exactly: pressure, temperature, length.

Factors are those that define the units, so that nothing is lost on the way: an inch is 25.4 mm,
a pound 0.45359237 kg, standard gravity 9.80665 m/s². Millimetres of mercury and centimetres of
water are the conventional ones (13 595.1 and 1000 kg/m³). Pressure is converted as it was read,
gauge or absolute: a vacuum gauge reads below nought.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

_MM_PER_INCH = Fraction("25.4")
_GRAVITY = Fraction("9.80665")
_POUND_KG = Fraction("0.45359237")
_PSI = _POUND_KG * _GRAVITY / (_MM_PER_INCH / 1000) ** 2
_MMHG = Fraction("13595.1") * _GRAVITY / 1000
_CMH2O = Fraction(1000) * _GRAVITY / 100
_SIXTEENTHS = 16


@dataclass(frozen=True, slots=True)
class Unit:
    """What it measures, and how a number of it becomes one of the base: (n + offset) × factor."""

    measures: str
    factor: Fraction
    offset: Fraction = Fraction(0)


UNITS: dict[str, Unit] = {
    "kPa": Unit("pressure", Fraction(1000)),
    "Pa": Unit("pressure", Fraction(1)),
    "bar": Unit("pressure", Fraction(100_000)),
    "mbar": Unit("pressure", Fraction(100)),
    "psi": Unit("pressure", _PSI),
    "mmHg": Unit("pressure", _MMHG),
    "inHg": Unit("pressure", _MMHG * _MM_PER_INCH),
    "cmH2O": Unit("pressure", _CMH2O),
    "°C": Unit("temperature", Fraction(1), Fraction("273.15")),
    "°F": Unit("temperature", Fraction(5, 9), Fraction("459.67")),
    "mm": Unit("length", Fraction(1)),
    "in": Unit("length", _MM_PER_INCH),
}
"""Every unit there is: those of pressure to pascals, of temperature to kelvin, of length to mm."""


class CannotConvert(ValueError):
    """Units that do not go together, or a value that cannot be; the message is a sentence."""


def convert(value: Decimal | Fraction, source: str, target: str) -> Fraction:
    """*value* of the unit *source* in the unit *target*, exactly. Raises CannotConvert."""
    one, other = _unit(source), _unit(target)
    if one.measures != other.measures:
        raise CannotConvert(
            f"{source} is a unit of {one.measures} and {target} one of {other.measures}: "
            f"give two of {one.measures}, such as {', '.join(units_of(one.measures))}."
        )
    base = (Fraction(value) + one.offset) * one.factor
    if one.measures == "temperature" and base < 0:
        lowest = -float(one.offset)
        raise CannotConvert(
            f"{float(value):g} {source} is below absolute zero, {lowest:g} {source}: "
            "correct the value or its unit."
        )
    return base / other.factor - other.offset


def units_of(measures: str) -> list[str]:
    """The units that measure the same."""
    return [name for name, unit in UNITS.items() if unit.measures == measures]


def sixteenths(inches: Fraction) -> str:
    """The nearest sixteenth of an inch as a rule is read: "13/16", "1 8/16", "2".

    Not shortened to halves or quarters, so that every reading is told in the same parts. Halfway
    between two it is the larger of them.
    """
    count = int(abs(inches) * _SIXTEENTHS + Fraction(1, 2))
    whole, rest = divmod(count, _SIXTEENTHS)
    sign = "-" if inches < 0 and count else ""
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole} {rest}/{_SIXTEENTHS}" if whole else f"{sign}{rest}/{_SIXTEENTHS}"


def _unit(name: str) -> Unit:
    if name not in UNITS:
        raise CannotConvert(f"There is no unit “{name[:20]}” here; give one of {', '.join(UNITS)}.")
    return UNITS[name]
