"""Calibration, electrical safety and units against published values; each names its source."""

from typing import Any

import pytest

from equip.cli.check.kinds import check

DRAWN = {"reading": 13.6, "lower": 12.5, "upper": 16.3, "expanded_u": 3.6, "k": 2, "rule": "simple"}


# Source: inputs of JCGM 106:2012, 7.4; the value derived from its formula.
def test_the_probability_of_conformance_of_the_guide() -> None:
    assert check("conformity", DRAWN)["probability"] == pytest.approx(0.6626, abs=5e-5)


# Source: ILAC-G8, guard band of U with k = 2: risk at the guarded limit; percentages derived.
@pytest.mark.parametrize(
    ("rule", "reading", "risk"), [("guard-u", 9, 0.0228), ("guard-0.83u", "9.17", 0.0485)]
)
def test_the_guarded_limit_passes_with_the_risk_of_its_rule(
    rule: str, reading: Any, risk: float
) -> None:
    asked = {"lower": None, "upper": 10, "expanded_u": 1, "k": 2, "rule": rule}
    answer = check("conformity", {**asked, "reading": reading})

    assert answer["outcome"] == "pass"
    assert 1 - answer["probability"] == pytest.approx(risk, abs=1e-4)


# Source: ILAC-G8:2019, 4.2.3: the four outcomes.
@pytest.mark.parametrize(
    ("reading", "outcome"),
    [
        *(("9.8", "pass"), ("9.81", "conditional-pass"), ("10", "conditional-pass")),
        *(("10.01", "conditional-fail"), ("10.2", "conditional-fail"), ("10.21", "fail")),
    ],
)
def test_the_four_outcomes(reading: str, outcome: str) -> None:
    asked = {"lower": None, "upper": 10, "expanded_u": "0.2", "k": 2, "rule": "guard-u"}

    assert check("conformity", {**asked, "reading": reading})["outcome"] == outcome


# Source: ILAC-G24:2007, section 3: 80 % of the maximum permissible error.
@pytest.mark.parametrize(
    ("share", "advice"),
    [
        *((0.6, "extend"), (0.8, "extend"), (-0.8, "extend"), (0.9, "keep")),
        *((1.0, "keep"), (1.1, "shorten"), (-1.1, "shorten")),
    ],
)
def test_the_staircase(share: float, advice: str) -> None:
    asked = {"as_found_share": [0.5, share], "months": 12, "floor_months": 6, "ceiling_months": 24}
    answer = check("interval", asked)

    assert answer["advice"] == advice
    assert 6 <= answer["next_months"] <= 24


# Source: IEC 62353:2014; the leakage limits *memory*.
@pytest.mark.parametrize(
    ("asked", "verdict"),
    [
        ({"class": "I", "leakage_ua": 600, "method": "alternative"}, "pass"),
        ({"class": "I", "leakage_ua": 600, "method": "direct"}, "fail"),
        ({"class": "II", "leakage_ua": 100, "method": "differential"}, "pass"),
        ({"class": "II", "leakage_ua": 501, "method": "alternative"}, "fail"),
        ({"leakage_ua": 51, "part": "CF"}, "fail"),
        ({"leakage_ua": 5000, "part": "BF"}, "pass"),
        ({"cord": "fixed", "earth_ohm": 0.3}, "pass"),
        ({"cord": "fixed", "earth_ohm_dc": [0.2, 0.31]}, "fail"),
        ({"cord": "detachable", "earth_ohm": 0.2, "cord_ohm": 0.1}, "pass"),
        ({"cord": "detachable", "earth_ohm": 0.21}, "fail"),
        ({"cord": "detachable", "cord_ohm": 0.11}, "fail"),
        ({"leakage_ua": 90, "part": "B"}, "undecided"),
        ({}, "undecided"),
    ],
)
def test_the_limits_of_an_electrical_test(asked: dict[str, Any], verdict: str) -> None:
    assert check("electrical", asked)["verdict"] == verdict


def test_of_two_directions_the_higher_is_kept() -> None:
    answer = check("electrical", {"cord": "fixed", "earth_ohm_dc": [0.21, 0.1]})

    assert answer["kept"]["earth_ohm"] == 0.21


# Source: NIST SP 811, appendix B: factors of pressure; definitions of the inch and the degree.
@pytest.mark.parametrize(
    ("value", "source", "target", "expected"),
    [
        (1, "psi", "Pa", 6894.757),
        (1, "mmHg", "Pa", 133.3224),
        (1, "inHg", "Pa", 3386.389),
        (1, "cmH2O", "Pa", 98.0665),
        (1, "bar", "kPa", 100),
        (134, "°C", "°F", 273.2),
        (-40, "°F", "°C", -40),
        (1, "in", "mm", 25.4),
    ],
)
def test_units_are_converted_by_their_definitions(
    value: float, source: str, target: str, expected: float
) -> None:
    answer = check("convert", {"value": value, "from": source, "to": target})

    assert answer["value"] == pytest.approx(expected, rel=1e-6)
