"""Control charts against the worked examples of the NIST/SEMATECH e-Handbook."""

import math
from datetime import date
from typing import Any

import pytest

from equip import rulebook
from equip.cli.check.kinds import check

# Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4 (doi 10.18434/M32189).
VALUES = [
    *(52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5),
    *(49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1),
]
MEANS = [
    *(50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33),
    *(50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99),
]
GIVEN = {"kind": "ewma", "values": VALUES, "lambda": 0.3, "center": 50, "sigma": 2.0539}


def chart(**given: Any) -> dict[str, Any]:
    return check("chart", given)


# Source: NIST/SEMATECH e-Handbook, 6.3.2.4: twenty values and their weighted means.
def test_the_ewma_example_of_the_handbook_point_for_point() -> None:
    answer = chart(**GIVEN, k=3)

    assert [round(point, 2) for point in answer["points"]] == MEANS
    assert answer["center"] == 50
    assert answer["signals"] == []


# Source: the same page: UCL 52.5884, LCL 47.4115 with k of 3.
def test_the_limits_of_the_ewma_example_and_three_sigma_where_k_is_not_given() -> None:
    answer = chart(**GIVEN)

    assert answer["ucl"] == pytest.approx(52.5884, abs=1e-3)
    assert answer["lcl"] == pytest.approx(47.4115, abs=1e-3)
    assert answer["ucl"] == chart(**GIVEN, k=3)["ucl"]


# Source: NIST Dataplot reference, EWMA chart: limits at 3.092 sigma.
def test_another_page_of_nist_draws_wider_limits_and_they_are_asked_for_by_k() -> None:
    wider = chart(**GIVEN, k=3.092)

    assert wider["ucl"] - 50 == pytest.approx((52.58843 - 50) * 3.092 / 3, abs=1e-4)


# Source: *memory*, the closed form of textbooks: σ·√(λ/(2−λ)·(1−(1−λ)^2t)).
def test_exact_limits_begin_narrow_and_end_at_the_lasting_ones() -> None:
    answer = chart(**GIVEN, exact_limits=True)

    assert len(answer["ucl"]) == len(answer["lcl"]) == len(VALUES)
    assert answer["ucl"][0] == pytest.approx(50 + 3 * 2.0539 * 0.3, abs=1e-9)
    assert answer["ucl"][1] == pytest.approx(
        50 + 3 * 2.0539 * (0.3 / 1.7 * (1 - 0.7**4)) ** 0.5, abs=1e-9
    )
    assert answer["ucl"][-1] == pytest.approx(52.5884, abs=1e-3)


# Source: the same handbook, 6.3.2.2, individuals: its ten values are the last ten of the above.
def test_the_individuals_example_of_the_handbook() -> None:
    answer = chart(kind="individuals", values=VALUES[10:])

    assert answer["center"] == pytest.approx(50.81, abs=1e-9)
    assert answer["ucl"] == pytest.approx(55.8041, abs=1e-4)
    assert answer["lcl"] == pytest.approx(45.8159, abs=1e-4)
    assert answer["signals"] == []


# Source: 6.3.2.2: mean moving range 1.8778; its sigma by d2 = 1.128 gives the same limits.
def test_the_mean_moving_range_of_the_handbook_gives_the_same_limits() -> None:
    taken = chart(kind="individuals", values=VALUES[10:])
    given = chart(kind="individuals", values=VALUES[10:], sigma=1.8778 / 1.128)

    assert given["ucl"] == pytest.approx(taken["ucl"], abs=1e-3)


# Source: closed form. A value four sigma off is the one signal, by its index.
def test_a_value_beyond_the_limits_is_named_by_its_index() -> None:
    answer = chart(kind="individuals", values=[50, 58.2156, 50, 41.7844], center=50, sigma=2.0539)

    assert answer["signals"] == [1, 3]


# Source: closed form; the mean range of two normal values is 2/√π sigma, printed as 1.128.
def test_d2_is_the_mean_range_of_two() -> None:
    d2 = rulebook.load("england").on(date(2026, 1, 15)).number("chart.d2")

    assert d2 == round(2 / math.sqrt(math.pi), 3)
