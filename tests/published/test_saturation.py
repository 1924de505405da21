"""Saturation against printed figures: the IAPWS release, gauge tables and a second program."""

import math

import iapws
import pytest

from equip.rules.cycles.heat import saturation_celsius, saturation_kpa

ZERO_C = 273.15
STANDARD_AIR_KPA = 101.325


# Source: IAPWS R7-97(2012), Table 35, all printed digits.
@pytest.mark.parametrize(
    ("kelvin", "mpa"), [(300, 0.353658941e-2), (500, 0.263889776e1), (600, 0.123443146e2)]
)
def test_the_pressures_of_table_35_come_out_to_every_digit(kelvin: float, mpa: float) -> None:
    kpa = saturation_kpa(kelvin - ZERO_C)

    assert kpa / 1000 == pytest.approx(mpa, rel=2e-9)


# Source: IAPWS R7-97(2012), Table 36, all printed digits.
@pytest.mark.parametrize(
    ("mpa", "kelvin"), [(0.1, 0.372755919e3), (1, 0.453035632e3), (10, 0.584149488e3)]
)
def test_the_temperatures_of_table_36_come_out_to_every_digit(mpa: float, kelvin: float) -> None:
    celsius = saturation_celsius(mpa * 1000)

    assert celsius + ZERO_C == pytest.approx(kelvin, abs=1e-6)


# Source: the open package iapws, its own implementation of the same release.
@pytest.mark.parametrize("celsius", [*range(100, 141, 2), 121.1, 134.5, 136.5])
def test_another_program_finds_the_same_pressure_and_temperature(celsius: float) -> None:
    theirs = iapws.iapws97._PSat_T(celsius + ZERO_C) * 1000

    assert saturation_kpa(celsius) == pytest.approx(theirs, rel=1e-10)
    assert saturation_celsius(theirs) == pytest.approx(celsius, abs=1e-9)


# Source: worked out from IAPWS-IF97 for the edges of the bands, to three places.
@pytest.mark.parametrize(
    ("celsius", "kpa"),
    [
        (100, 101.418),
        (115, 169.177),
        (121, 205.039),
        (126, 239.460),
        (132, 286.823),
        (134, 304.199),
        (136, 322.417),
        (137, 331.852),
        (140, 361.501),
    ],
)
def test_the_edges_of_the_bands_have_their_pressures(celsius: float, kpa: float) -> None:
    assert saturation_kpa(celsius) == pytest.approx(kpa, abs=0.002)


# Source: pairs printed in AS/NZS 4815 and 4187 (memory), kPa gauge at standard air pressure.
@pytest.mark.parametrize(
    ("celsius", "gauge", "most"), [(121, 103, 1), (126, 138, 1), (132, 186, 1), (134, 203, 1)]
)
def test_the_gauge_pairs_of_the_australian_standard_agree(
    celsius: float, gauge: float, most: float
) -> None:
    assert saturation_kpa(celsius) - STANDARD_AIR_KPA == pytest.approx(gauge, abs=most)


# Source: Indian biomedical-waste rules, kPa gauge (published).
@pytest.mark.parametrize(("celsius", "gauge"), [(121, 103), (135, 213)])
def test_the_gauge_pairs_of_the_indian_waste_rules_agree(celsius: float, gauge: float) -> None:
    assert saturation_kpa(celsius) - STANDARD_AIR_KPA == pytest.approx(gauge, abs=1.2)


# Source: university steam table (published): 95 °C and 90 °C.
@pytest.mark.parametrize(("celsius", "kpa"), [(95, 84.61), (90, 70.18)])
def test_a_printed_steam_table_agrees(celsius: float, kpa: float) -> None:
    assert saturation_kpa(celsius) == pytest.approx(kpa, abs=0.005)


# Source: nominal working pressures of HTM 2010 in bar gauge (memory), each inside its band.
@pytest.mark.parametrize(
    ("gauge_bar", "celsius", "band"),
    [
        (2.25, 136.417, (134, 137)),
        (1.50, 127.588, (126, 129)),
        (1.15, 122.710, (121, 124)),
        (0.75, 116.274, (115, 118)),
    ],
)
def test_the_nominal_working_pressures_lie_inside_their_bands(
    gauge_bar: float, celsius: float, band: tuple[float, float]
) -> None:
    ours = saturation_celsius(gauge_bar * 100 + STANDARD_AIR_KPA)

    assert ours == pytest.approx(celsius, abs=0.002)
    assert band[0] <= ours <= band[1]


# Source: the compact formula that EN 285's note is remembered to print (memory).
def test_the_compact_formula_reads_about_an_eighth_of_a_kelvin_higher() -> None:
    mpa = saturation_kpa(134) / 1000
    compact = 42.6776 - 3892.70 / (math.log(mpa) - 9.48654) - ZERO_C

    assert compact == pytest.approx(134.128, abs=0.002)


# Source: arithmetic with the standard atmosphere at 500 m and 1500 m.
@pytest.mark.parametrize(("air_kpa", "gauge_bar"), [(95.461, 2.0874), (84.556, 2.1964)])
def test_the_same_steam_reads_higher_on_a_gauge_up_a_mountain(
    air_kpa: float, gauge_bar: float
) -> None:
    assert (saturation_kpa(134) - air_kpa) / 100 == pytest.approx(gauge_bar, abs=1e-4)


# Source: worked out from IAPWS-IF97: theoretical less measured temperature.
@pytest.mark.parametrize(
    ("kpa", "measured", "gap"),
    [(320.0, 134.0, 1.740), (325.0, 134.0, 2.276), (287.0, 134.5, -2.479)],
)
def test_theoretical_less_measured_temperature(kpa: float, measured: float, gap: float) -> None:
    assert saturation_celsius(kpa) - measured == pytest.approx(gap, abs=0.002)
