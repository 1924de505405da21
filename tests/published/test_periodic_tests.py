"""Leak and spore tests against worked cases in print."""

from datetime import date
from typing import Any

import pytest

from equip import rulebook
from equip.cli.check.kinds import check

SIGNS = {"-": "negative", "+": "positive", "i": "invalid", ".": None}


def leak(start: object, end: object) -> dict[str, Any]:
    given = {"start_kpa": start, "end_kpa": end, "settle_s": 300, "timed_s": 600}
    return check("leak", given)


@pytest.mark.parametrize(
    ("start", "end", "rate", "verdict"),
    [
        # Thermal-validation firm's page on EN 285: 13 mbar in 10 min are just allowed.
        ("5.0", "6.3", 0.13, "pass"),
        (5.0, 6.3, 0.13, "pass"),
        # The limit of EN 285 on a rise of 14 mbar.
        (5.0, 6.4, 0.14, "fail"),
        # A pharmaceutical microbiology page of January 2017: −0.750 to −0.745 bar, 0.5 mbar/min.
        (-75.0, -74.5, 0.05, "pass"),
        # Closed form: in binary fractions this one comes out above 0.13 and would fail.
        ("2.05", "3.35", 0.13, "pass"),
        (2.05, 3.35, 0.13, "pass"),
    ],
)
def test_leak_rates_in_print(start: object, end: object, rate: float, verdict: str) -> None:
    answer = leak(start, end)

    assert answer["rate_kpa_min"] == rate
    assert answer["verdict"] == verdict


# Source: closed form for an ideal gas (350 K, 1.14 mbar); ISO 17665:2024 C.6, as a test house has
# it, says about 1 mbar at 40 mbar for 10 K: warming looks like a leak, cooling hides one.
@pytest.mark.parametrize(("kelvin", "verdict"), [(10, "pass"), (-10, "undecided")])
def test_a_chamber_that_changes_its_temperature_moves_the_pressure_by_a_millibar(
    kelvin: int, verdict: str
) -> None:
    answer = leak(4.0, round(4.0 * (350 + kelvin) / 350, 4))

    assert answer["rate_kpa_min"] * 10 == pytest.approx(kelvin * 0.0114, abs=0.001)
    assert answer["verdict"] == verdict


# Source: IEEE 754 arithmetic: the same fractions in binary.
def test_binary_fractions_would_have_failed_the_limit() -> None:
    assert (3.35 - 2.05) / 10 > 0.13


# Source: makers set 1.0 mbar a minute too (steriliser maker's article); the clinic decides.
def test_a_clinic_with_a_tighter_machine_fails_what_the_standard_allows() -> None:
    own = rulebook.Override("leak.limit", "0.10", "Its maker", date(2025, 1, 1), "B000000017")
    rules = rulebook.load("england").overridden([own]).on(date(2026, 1, 15))
    given = {"start_kpa": "5.0", "end_kpa": "6.3", "settle_s": 300, "timed_s": 600}

    assert check("leak", given, rules)["verdict"] == "fail"


def spore(process: str, history: str, **told: Any) -> dict[str, Any]:
    loads = [
        {"load": f"C{number}", "spore": SIGNS[sign]} for number, sign in enumerate(history, start=1)
    ]
    given = {"process": process, "loads": loads, "defect": False, "wrong_settings": [], **told}
    return check("spore", given)


# Source: CDC Guideline for Disinfection and Sterilization 2008, Table 12 (steam).
@pytest.mark.parametrize(
    ("told", "in_doubt", "back"),
    [
        ({"repeats": ["negative"] * 3}, [], True),
        ({"repeats": ["negative"] * 2}, [], False),
        ({"repeats": []}, [], False),
        ({"repeats": ["negative"] * 3, "wrong_settings": ["C3"]}, ["C3"], True),
        ({"repeats": ["negative", "positive"]}, ["C2", "C3", "C4"], False),
        ({"repeats": ["negative"] * 3, "defect": True}, ["C2", "C3", "C4"], False),
        ({"repeats": ["negative", "invalid", "negative"]}, [], False),
    ],
)
def test_one_positive_spore_test_of_a_steam_steriliser(
    told: dict[str, Any], in_doubt: list[str], back: bool
) -> None:
    answer = spore("steam", "-.+.", **told)

    assert answer["in_doubt"] == in_doubt
    assert answer["back_in_service"] is back
    assert answer["unused_stock_held"] is (not back or in_doubt != [])


# Source: CDC 2008, recommendations for other sterilisers: everything since the last negative test
# up to the next satisfactory one counts as not sterile.
@pytest.mark.parametrize(
    ("history", "in_doubt"),
    [
        ("-.+..-.", ["C2", "C3", "C4", "C5"]),
        ("-.+..", ["C2", "C3", "C4", "C5"]),
        ("-+-", ["C2"]),
        ("-i+i-", ["C2", "C3", "C4"]),
        ("-..-", []),
    ],
)
def test_one_positive_spore_test_of_another_process(history: str, in_doubt: list[str]) -> None:
    assert spore("other", history, repeats=["negative"] * 3)["in_doubt"] == in_doubt
