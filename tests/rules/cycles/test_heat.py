"""Saturation and killing work: laws, edges, and what is refused."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from equip.rules.cycles.heat import equivalent_time, saturation_celsius, saturation_kpa, time_above

laws = settings(max_examples=100, deadline=None)
degrees = st.floats(0, 373.9)


@laws
@given(degrees)
def test_pressure_and_temperature_lead_back_to_each_other(celsius: float) -> None:
    assert saturation_celsius(saturation_kpa(celsius)) == pytest.approx(celsius, abs=1e-6)


@laws
@given(degrees, degrees)
def test_hotter_steam_has_the_higher_pressure(one: float, other: float) -> None:
    cold, hot = sorted((one, other))

    assert saturation_kpa(cold) <= saturation_kpa(hot)


@pytest.mark.parametrize("celsius", [-0.01, 374.0, math.nan, math.inf])
def test_no_steam_outside_nought_and_the_critical_point(celsius: float) -> None:
    with pytest.raises(ValueError, match=r"from 0 to 373\.946 °C only"):
        saturation_kpa(celsius)


@pytest.mark.parametrize("kpa", [-1.0, 0.0, 0.6, 22_065.0, math.nan])
def test_no_steam_outside_the_pressures_of_those(kpa: float) -> None:
    with pytest.raises(ValueError, match="absolute, only"):
        saturation_celsius(kpa)


def test_the_ends_of_the_range_are_in_it() -> None:
    assert saturation_celsius(0.611213) == pytest.approx(0, abs=0.001)
    assert saturation_celsius(saturation_kpa(0.0)) == pytest.approx(0, abs=1e-6)
    assert saturation_celsius(22_064.0) == pytest.approx(373.946, abs=0.001)


@laws
@given(st.floats(100, 140), st.floats(1, 3600), st.floats(100, 130), st.floats(5, 20))
def test_steady_heat_is_its_rate_times_its_time(
    celsius: float, seconds: float, reference: float, z: float
) -> None:
    value = equivalent_time([0, seconds], [celsius, celsius], reference=reference, z=z)

    assert value == pytest.approx(seconds * 10 ** ((celsius - reference) / z))


@laws
@given(st.lists(st.floats(20, 140), min_size=2, max_size=30), st.floats(0, 140))
def test_a_floor_only_ever_takes_away(celsius: list[float], floor: float) -> None:
    seconds = [float(at) for at in range(len(celsius))]

    with_floor = equivalent_time(seconds, celsius, reference=80, z=10, floor=floor)
    without = equivalent_time(seconds, celsius, reference=80, z=10)

    # A stretch that the floor cuts is integrated in two parts, and a finer trapezoid is smaller.
    assert 0 <= with_floor <= without * (1 + 1e-12)


@laws
@given(st.lists(st.floats(20, 140), min_size=3, max_size=30), st.integers(1, 28))
def test_a_trace_in_two_parts_adds_up(celsius: list[float], cut: int) -> None:
    cut = min(cut, len(celsius) - 2)
    seconds = [float(at) for at in range(len(celsius))]

    def work(part: slice) -> float:
        return equivalent_time(seconds[part], celsius[part], reference=121.1, z=10)

    assert work(slice(None)) == pytest.approx(work(slice(cut + 1)) + work(slice(cut, None)))


@pytest.mark.parametrize("celsius", [[60.0, 70.0], [70.0, 60.0]])
def test_counting_starts_and_ends_where_the_line_crosses_the_floor(celsius: list[float]) -> None:
    value = equivalent_time([0, 10], celsius, reference=80, z=10, floor=65)

    assert value == pytest.approx(5 * (10**-1.5 + 10**-1) / 2)


def test_a_peak_between_two_cold_readings_counts_on_both_sides() -> None:
    value = equivalent_time([0, 10, 20], [60, 70, 60], reference=80, z=10, floor=65)

    assert value == pytest.approx(10 * (10**-1.5 + 10**-1) / 2)


def test_the_floor_itself_counts() -> None:
    value = equivalent_time([0, 10], [65, 65], reference=80, z=10, floor=65)

    assert value == pytest.approx(10 * 10**-1.5)


@pytest.mark.parametrize(
    ("seconds", "celsius", "says"),
    [
        ([0, 1], [80], "2 times and 1 temperatures"),
        ([0], [80], "at least two"),
        ([], [], "at least two"),
        ([0, math.nan], [80, 80], "finite"),
        ([0, 1], [80, math.inf], "finite"),
        ([0, 1, 1], [80, 80, 80], "Reading 3 is at 1 s"),
        ([0, 2, 1], [80, 80, 80], "Reading 3 is at 1 s, not after the one before at 2 s"),
        ([0, 1], [80, -300], "colder than anything"),
        ([0, 1], [80, 9000], "too hot"),
    ],
)
def test_readings_that_make_no_trace_are_refused_with_a_sentence(
    seconds: list[float], celsius: list[float], says: str
) -> None:
    with pytest.raises(ValueError, match=says):
        equivalent_time(seconds, celsius, reference=80, z=10)


def test_a_sum_beyond_all_numbers_is_refused() -> None:
    with pytest.raises(ValueError, match="too hot"):
        equivalent_time([0, 1e10], [3160, 3160], reference=80, z=10)


@pytest.mark.parametrize(("reference", "z"), [(math.nan, 10), (80, 0), (80, -1), (80, math.inf)])
def test_a_reference_or_z_that_is_none_is_refused(reference: float, z: float) -> None:
    with pytest.raises(ValueError, match="z above nought"):
        equivalent_time([0, 1], [80, 80], reference=reference, z=z)


# --- time above a floor -----------------------------------------------------------------------


def test_the_time_above_a_floor_is_cut_where_the_line_crosses_it() -> None:
    assert time_above([0, 10, 20, 40], [60, 70, 70, 60], 65) == 5 + 10 + 10
    assert time_above([0, 10], [65, 65], 65) == 10
    assert time_above([0, 10, 20], [60, 65, 60], 65) == 0
