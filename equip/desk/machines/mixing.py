"""A solution mixed: volumes for a strength, or the strength of volumes."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from equip.desk.act.act import Refused
from equip.rules.fitness.agents import TooWeak, strength_ppm, volumes_ml

_MOST_ML = 1_000_000


@dataclass(frozen=True, slots=True)
class Mixed:
    """What goes together, in millilitres, and how strong it is, in parts per million."""

    stock_percent: Decimal
    stock_ml: Decimal
    water_ml: Decimal
    ppm: Decimal

    @property
    def total_ml(self) -> Decimal:
        return self.stock_ml + self.water_ml


def to_strength(stock_percent: Decimal, target_ppm: Decimal, total_ml: Decimal) -> Mixed:
    """How much of the stock and of water make so much of that strength; Refused with a sentence."""
    _expect_percent(stock_percent)
    _expect(target_ppm, "The strength", 1_000_000, "ppm", least_of_all=True)
    _expect(total_ml, "The whole", _MOST_ML, "ml", least_of_all=True)
    try:
        stock, _ = volumes_ml(stock_percent, target_ppm, total_ml)
    except TooWeak as problem:
        raise Refused(str(problem)) from None
    stock_ml = _tenths(stock)
    if not stock_ml:
        raise Refused("That is less than a tenth of a millilitre of stock: mix more of it.")
    return Mixed(stock_percent, stock_ml, total_ml - stock_ml, target_ppm)


def of_volumes(stock_percent: Decimal, stock_ml: Decimal, water_ml: Decimal) -> Mixed:
    """How strong so much stock in so much water is; Refused with a sentence."""
    _expect_percent(stock_percent)
    _expect(stock_ml, "The stock", _MOST_ML, "ml", least_of_all=True)
    _expect(water_ml, "The water", _MOST_ML, "ml")
    ppm = strength_ppm(stock_percent, stock_ml, water_ml)
    return Mixed(stock_percent, stock_ml, water_ml, _tenths(ppm))


def _expect_percent(percent: Decimal) -> None:
    _expect(percent, "The stock", 100, "per cent", least_of_all=True)


def _expect(value: Decimal, what: str, most: int, unit: str, *, least_of_all: bool = False) -> None:
    if value < 0 or value > most or (least_of_all and not value):
        above = "above 0 and " if least_of_all else ""
        raise Refused(f"{what}: {value} {unit} was read; give {above}up to {most:,}.")


def _tenths(exact: Fraction) -> Decimal:
    """To a tenth, as a cylinder is read: 500, 12.5."""
    tenths = Decimal(exact.numerator) / Decimal(exact.denominator)
    rounded = tenths.quantize(Decimal("0.1"), ROUND_HALF_UP)
    return rounded.quantize(Decimal(1)) if rounded == rounded.to_integral_value() else rounded
