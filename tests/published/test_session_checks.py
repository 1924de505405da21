"""Checks ahead of a session against published values; each names its source."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from equip import rulebook
from equip.facts import AskedCheck
from equip.rulebook.fitness import check_band
from equip.rules.fitness.session import band_of, outside
from equip.rules.upkeep.units import convert

TODAY = date(2026, 3, 4)


def said(book: str, celsius: str) -> list[str]:
    """What the limits of a book say of irrigation water of this temperature."""
    band = check_band(rulebook.load(book).on(TODAY), "water-temperature")
    assert band is not None
    return [one.code for one in outside("water-temperature", Decimal(celsius), "°C", band)]


# Source: Royal Marsden Manual, procedure 9.13: irrigate with water of about 37 °C. It gives no
# tolerance; the degree either way is common practice of this tool and not checked here.
@pytest.mark.parametrize("book", rulebook.BOOKS)
def test_water_as_the_handbook_has_it_is_good(book: str) -> None:
    assert said(book, "37") == []


# Source: Perrella de Barros & Caovilla 2012, caloric test: water of 30 and 44 °C and air of 24 and
# 50 °C are what provokes dizziness on purpose.
@pytest.mark.parametrize("book", rulebook.BOOKS)
@pytest.mark.parametrize(
    ("celsius", "code"),
    [("24", "check-low"), ("30", "check-low"), ("44", "check-high"), ("50", "check-high")],
)
def test_what_makes_people_dizzy_on_purpose_is_never_good(
    book: str, celsius: str, code: str
) -> None:
    assert said(book, celsius) == [code]


# Source: a reference of primary care on suction of the ear canal gives 10 cmH2O, as 0.98 kPa and
# 7.4 mmHg.
def test_a_vacuum_is_the_same_in_each_unit_of_its_gauge() -> None:
    pascals = convert(Decimal(10), "cmH2O", "kPa")

    assert round(float(pascals), 2) == 0.98
    assert round(float(convert(Decimal(10), "cmH2O", "mmHg")), 1) == 7.4


# Source: ISO 10079-1, classes of suction: low up to 20 kPa, medium 20 to 60, high from 60 below
# the air around. Memory.
@pytest.mark.parametrize(("kpa", "high"), [("59.9", False), ("60", True), ("80", True)])
def test_a_pump_of_the_high_class_is_told_from_others_on_any_gauge(kpa: str, high: bool) -> None:
    asked = AskedCheck(check="vacuum", low=Decimal(60), unit="kPa")
    band = band_of(asked, None)
    assert band is not None
    inches = convert(Fraction(kpa), "kPa", "inHg")
    gauge = Decimal(inches.numerator) / Decimal(inches.denominator)

    as_read = [
        outside("vacuum", Decimal(kpa), "kPa", band),
        outside("vacuum", gauge + Decimal("0.000001"), "inHg", band),
    ]

    assert [reasons == () for reasons in as_read] == [high, high]


# Source: no authoritative limit for suction in the ear canal was found, so no book sets one.
@pytest.mark.parametrize("book", rulebook.BOOKS)
def test_no_limit_of_suction_is_made_up(book: str) -> None:
    rules = rulebook.load(book).on(TODAY)

    assert check_band(rules, "vacuum") is None
    assert check_band(rules, "pressure") is None
