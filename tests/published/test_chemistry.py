"""Soaks and dilutions against what the CDC, WHO and others print, through the rule books."""

from datetime import date
from typing import Any

import pytest

from equip import rulebook
from equip.cli.check.kinds import check
from equip.cli.check.reading import Unreadable

BOOKS = pytest.mark.parametrize("book", rulebook.BOOKS)
ON = date(2026, 1, 15)


def verdict(book: str, agent: str, minutes: float, celsius: float, **told: Any) -> str:
    given = {
        "agent": agent,
        "minutes": minutes,
        "celsius": celsius,
        "automated": False,
        "day_of_use": 1,
        "strip": "pass",
        **told,
    }
    answer: str = check("soak", given, rulebook.load(book).on(ON))["verdict"]
    return answer


# Source: CDC Guideline for Disinfection and Sterilization 2008, Table 4: OPA 0.55 %, 12 min at
# 20 °C, 5 min at 25 °C in an automated reprocessor only, reuse 14 days, strip 0.3 %.
@BOOKS
@pytest.mark.parametrize(
    ("minutes", "celsius", "told", "expected"),
    [
        (12, 20, {}, "pass"),
        (5, 25, {}, "fail"),
        (5, 25, {"automated": True}, "pass"),
        (12, 20, {"day_of_use": 14}, "pass"),
        (12, 20, {"day_of_use": 15}, "fail"),
        (12, 20, {"strip": "fail"}, "fail"),
        (5, 24.9, {"automated": True}, "fail"),
        (4.9, 25, {"automated": True}, "fail"),
    ],
)
def test_opa_as_cdc_table_4_has_it(
    book: str, minutes: float, celsius: float, told: dict[str, Any], expected: str
) -> None:
    assert verdict(book, "opa-0.55", minutes, celsius, **told) == expected


# Source: the same table: hydrogen peroxide 7.5 %, 30 min at 20 °C, 21 days, strip 6 %.
@BOOKS
@pytest.mark.parametrize(
    ("minutes", "celsius", "told", "expected"),
    [
        (30, 20, {}, "pass"),
        (29, 20, {}, "fail"),
        (30, 19, {}, "fail"),
        (30, 20, {"day_of_use": 21}, "pass"),
        (30, 20, {"day_of_use": 22}, "fail"),
        (30, 20, {"strip": "fail"}, "fail"),
    ],
)
def test_hydrogen_peroxide_as_cdc_table_4_has_it(
    book: str, minutes: float, celsius: float, told: dict[str, Any], expected: str
) -> None:
    assert verdict(book, "hydrogen-peroxide-7.5", minutes, celsius, **told) == expected


# Source: multisociety guideline (20 min at 20 °C) and label (45 min at 25 °C) as set side by
# side in W. A. Rutala's lectures; strip 1.5 % from CDC 2008, Table 4.
@BOOKS
@pytest.mark.parametrize(
    ("minutes", "celsius", "told", "expected"),
    [
        (20, 20, {"basis": "society"}, "pass"),
        (19, 20, {"basis": "society"}, "fail"),
        (20, 20, {"basis": "label"}, "fail"),
        (45, 25, {"basis": "label"}, "pass"),
        (20, 20, {"basis": "society", "strip": "fail"}, "fail"),
        (45, 25, {"basis": "label", "strip": "fail"}, "fail"),
    ],
)
def test_glutaraldehyde_by_the_basis_that_a_clinic_took(
    book: str, minutes: float, celsius: float, told: dict[str, Any], expected: str
) -> None:
    assert verdict(book, "glutaraldehyde-2.0", minutes, celsius, **told) == expected


# Source: CDC 2008, Table 4: peracetic acid 0.2 %, 12 min at 50 to 56 °C, single use.
@pytest.mark.parametrize(
    ("minutes", "celsius", "day", "expected"),
    [(12, 50, 1, "pass"), (12, 56, 1, "pass"), (12, 49, 1, "fail"), (12, 50, 2, "fail")],
)
def test_peracetic_acid_as_cdc_table_4_has_it(
    minutes: float, celsius: float, day: int, expected: str
) -> None:
    found = verdict(
        "united-states", "peracetic-acid-0.2", minutes, celsius, day_of_use=day, strip="none"
    )

    assert found == expected


# Source: CDC 2008, Table 4: peroxide 7.35 % with peracetic acid 0.23 %, 15 min at 20 °C, 14 days.
@pytest.mark.parametrize(
    ("minutes", "celsius", "day", "expected"),
    [(15, 20, 14, "pass"), (14, 20, 14, "fail"), (15, 19, 14, "fail"), (15, 20, 15, "fail")],
)
def test_the_mixture_of_peroxide_and_peracetic_acid_as_cdc_table_4_has_it(
    minutes: float, celsius: float, day: int, expected: str
) -> None:
    agent = "peroxide-7.35-peracetic-0.23"

    assert verdict("united-states", agent, minutes, celsius, day_of_use=day) == expected


@pytest.mark.parametrize(
    ("percent", "stock", "water", "ppm"),
    [
        # WHO 2014, infection prevention guidance, Table G.1 (NCBI NBK214356): 5 % and 2.5 % stock.
        (5, 1, 99, 500),
        (2.5, 2, 98, 500),
        # A public bleach dilution page: 1 part of 5 % and 49 parts are 1 000 ppm; so is 400 mL
        # made up to 20 L.
        (5, 1, 49, 1000),
        (5, 400, 19_600, 1000),
        # Fact sheet on sodium hypochlorite: 5.25 % as 1 in 10 is 5 250 ppm, which is 1 + 9.
        (5.25, 1, 9, 5250),
        # Closed form: "one part to ten parts" of the same is 4 772.7 ppm.
        (5.25, 1, 10, 52_500 / 11),
    ],
)
def test_dilutions_in_print_come_out(
    percent: float, stock: float, water: float, ppm: float
) -> None:
    given = {"stock_percent": percent, "stock_ml": stock, "water_ml": water}

    assert check("dilution", given)["ppm"] == ppm


# Source: CDC Guideline 2008, Table 1: 5.25 to 6.15 % bleach at 1 to 500 gives more than 100 ppm.
@pytest.mark.parametrize("percent", [5.25, 6.15])
def test_bleach_at_one_to_five_hundred_is_over_a_hundred_ppm(percent: float) -> None:
    given = {"stock_percent": percent, "stock_ml": 1, "water_ml": 500}

    assert check("dilution", given)["ppm"] > 100


# Source: WHO 2014, Table G.1, read the other way: a litre of 500 ppm from 5 % stock.
def test_the_volumes_for_a_litre_of_five_hundred_ppm() -> None:
    given = {"stock_percent": 5, "target_ppm": 500, "total_ml": 1000}

    answer = check("dilution", given)

    assert (answer["stock_ml"], answer["water_ml"]) == (10, 990)


# Source: the definition; 1 % is 10 000 ppm, so a 1 % stock reaches that and no more.
def test_a_blood_spill_needs_a_stock_of_one_per_cent_at_least() -> None:
    asked = {"target_ppm": 10_000, "total_ml": 100}

    assert check("dilution", {"stock_percent": 1, **asked})["water_ml"] == 0
    with pytest.raises(Unreadable, match=r"A stock of 0\.99 % holds 9900 ppm"):
        check("dilution", {"stock_percent": 0.99, **asked})
