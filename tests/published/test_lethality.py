"""F0 and A0 against printed and closed-form figures."""

import math

import pytest

from equip.rules.cycles.heat import equivalent_time


def f0(seconds: list[float], celsius: list[float], reference: float) -> float:
    return equivalent_time(seconds, celsius, reference=reference, z=10) / 60


def a0(seconds: list[float], celsius: list[float]) -> float:
    return equivalent_time(seconds, celsius, reference=80, z=10, floor=65)


def steady(celsius: float, minutes: float, reference: float) -> float:
    return f0([0, minutes * 60], [celsius, celsius], reference)


def ramp(
    first: float, last: float, kelvin_a_minute: float, step_s: float
) -> tuple[list[float], list[float]]:
    """A straight line from *first* to *last*, its end included."""
    whole = abs(last - first) / kelvin_a_minute * 60
    steps = math.ceil(whole / step_s - 1e-9)
    seconds = [min(index * step_s, whole) for index in range(steps + 1)]
    return seconds, [first + (last - first) * at / whole for at in seconds]


# Source: closed form; the 15 min at 111 °C and 0.077 at 110 °C are printed (canning literature).
@pytest.mark.parametrize(
    ("celsius", "minutes", "at_121_1", "at_121_11", "at_121"),
    [
        (111, 15, 1.466, 1.462, 1.500),
        (121, 15, 14.659, 14.625, 15.000),
        (126, 10, 30.903, 30.832, 31.623),
        (134, 3, 58.495, 58.361, 59.858),
        (132, 4, 49.211, 49.098, 50.357),
        (121, 30, 29.317, 29.250, 30.000),
        (115, 30, 7.364, 7.347, 7.536),
    ],
)
def test_steady_heat_has_its_closed_form_by_each_reference_in_print(
    celsius: float, minutes: float, at_121_1: float, at_121_11: float, at_121: float
) -> None:
    assert steady(celsius, minutes, 121.1) == pytest.approx(at_121_1, abs=0.001)
    assert steady(celsius, minutes, 121.11) == pytest.approx(at_121_11, abs=0.001)
    assert steady(celsius, minutes, 121.0) == pytest.approx(at_121, abs=0.001)


# Source: dairyscience.info prints a lethal rate of 0.077 at 110 °C (121.11 °C, z 10).
def test_the_printed_lethal_rate_at_110_degrees() -> None:
    assert steady(110, 1, 121.11) == pytest.approx(0.077, abs=0.0006)
    assert steady(110, 1, 121.1) == pytest.approx(0.0776, abs=1e-4)
    assert steady(110, 1, 121.0) == pytest.approx(0.0794, abs=1e-4)


# Source: FAO, Planning and engineering data 2, Fish canning (1985), 1.5: rate 0.776 at 120 °C.
def test_the_printed_lethal_rate_at_120_degrees() -> None:
    assert steady(120, 1, 121.1) == pytest.approx(0.776, abs=0.0005)


# Source: the same FAO text: 5-minute rates that add up to 2.925 and 1.730, printed 14.6 and 8.6.
@pytest.mark.parametrize(("rates", "printed"), [(2.925, 14.6), (1.730, 8.6)])
def test_the_worked_case_of_fish_canning(rates: float, printed: float) -> None:
    celsius = 121.1 + 10 * math.log10(rates)

    assert steady(celsius, 5, 121.1) == pytest.approx(printed, abs=0.06)


# Source: closed form of a straight ramp, z / (ln 10 x rate) x (L2 - L1).
def test_a_straight_ramp_has_its_closed_form() -> None:
    seconds, celsius = ramp(100, 121.1, 1, 1)

    assert f0(seconds, celsius, 121.1) == pytest.approx(4.3092, abs=1e-4)


# Source: closed form 21.1617 + 58.4953 + 12.4481, and the trapezoid's known excess.
@pytest.mark.parametrize(
    ("step_s", "expected"), [(1, 92.1063), (5, 92.1332), (10, 92.2173), (30, 93.1072)]
)
def test_a_whole_cycle_errs_high_and_the_more_so_the_fewer_the_readings(
    step_s: float, expected: float
) -> None:
    up, down = ramp(100, 134, 4, step_s), ramp(134, 100, 6.8, step_s)
    total = f0(*up, 121.1) + steady(134, 3, 121.1) + f0(*down, 121.1)

    assert total == pytest.approx(expected, abs=1e-3)
    assert total > 92.1052


# Source: closed form: seconds at one temperature for an F0 of 12 minutes (121.1 °C).
@pytest.mark.parametrize(("celsius", "seconds"), [(134, 36.93), (121, 736.8)])
def test_the_time_to_overkill_shows_why_lethality_alone_passes_nothing(
    celsius: float, seconds: float
) -> None:
    assert steady(celsius, seconds / 60, 121.1) == pytest.approx(12, abs=0.03)


# Source: closed form; 12 min at 121.0 °C is just under the overkill of 12.
def test_twelve_minutes_at_121_degrees_are_not_quite_overkill() -> None:
    assert steady(121, 12, 121.1) == pytest.approx(11.727, abs=0.001)


# Source: A0 pairs printed by WFHSS and by the German Society of Hospital Hygiene (2012).
@pytest.mark.parametrize(
    ("celsius", "seconds", "expected"),
    [(80, 600, 600), (90, 60, 600), (70, 6000, 600), (90, 300, 3000)],
)
def test_the_printed_a0_pairs(celsius: float, seconds: float, expected: float) -> None:
    assert a0([0, seconds], [celsius, celsius]) == pytest.approx(expected, abs=0.01)


# Source: printed as 6 000 and 12 000; the exact sums are a little less.
@pytest.mark.parametrize(
    ("seconds", "exact", "printed"), [(300, 5985.8, 6000), (600, 11971.6, 12000)]
)
def test_the_rounded_a0_pairs_miss_their_own_target(
    seconds: float, exact: float, printed: float
) -> None:
    value = a0([0, seconds], [93, 93])

    assert value == pytest.approx(exact, abs=0.1)
    assert value < printed


# Source: closed form.
def test_a_ramp_above_the_floor_has_its_closed_a0() -> None:
    seconds, celsius = ramp(65, 90, 5, 0.5)

    assert a0(seconds, celsius) == pytest.approx(519.505, abs=0.01)
    assert a0([*seconds, seconds[-1] + 60], [*celsius, 90]) == pytest.approx(1119.505, abs=0.01)


# Source: ISO 15883-1 Annex B: only time at 65 °C or above counts.
def test_ten_hours_just_under_the_floor_are_worth_nothing() -> None:
    hours = [0.0, 36_000.0]

    assert a0(hours, [64.9, 64.9]) == 0
    assert equivalent_time(hours, [64.9, 64.9], reference=80, z=10) == pytest.approx(
        1112.5, abs=0.1
    )
