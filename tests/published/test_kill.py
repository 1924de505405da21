"""Decades of kill beside a holding time, against the spore figures that standards print.

A judgement shows F0 of the holding time ÷ D; what is left of N0 spores is log N0 less that.
"""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip import rulebook
from equip.logs.plain import Trace
from equip.rules.cycles.heat import equivalent_time
from equip.rules.cycles.steam.judge import judge

PROGRAMME = rulebook.load("england").on(date(2026, 1, 15)).programme("steam-121")


def left(log_n0: float, d_min: float, f0_min: float, celsius: float = 121.1) -> float:
    """Log of the spores left after a holding time of that F0, as the judgement has it."""
    minutes = f0_min * 10 ** ((121.1 - celsius) / 10)
    steps = 100
    seconds = [minutes * 60 * step / steps for step in range(steps + 1)]
    trace = Trace(seconds, ([celsius] * len(seconds),), [206.0] * len(seconds))
    kill = judge(trace, replace(PROGRAMME, spore_d_min=d_min)).figures["log_kill_hold"]
    assert kill is not None
    return log_n0 - kill


@pytest.mark.parametrize(
    ("log_n0", "d_min", "f0_min", "log_n"),
    [
        # ISO 11140-1, annex (GOST R text of 2009): 10^5 spores, D 1.5 min, 16.5 min leave 10^-6.
        (5, 1.5, 16.5, -6.0),
        # The same annex: at 63.6 % of it, 10.5 min, seven decades are gone and 10^-2 are left.
        (5, 1.5, 10.5, -2.0),
        # Overkill, as regulators define it: 12 decades of an organism with D of 1 min.
        (6, 1.0, 12.0, -6.0),
        # Closed form: the least F0 of Ph. Eur. 5.1.5 (memory), 8 min, is 10^-6 from 10^2 only.
        (2, 1.0, 8.0, -6.0),
        # Closed form: 15 min at 121 °C (F0 14.66) from 10^6 with D 1.5 are not 10^-6.
        (6, 1.5, 14.66, -3.773),
    ],
)
def test_what_is_left_of_the_spores_in_print(
    log_n0: float, d_min: float, f0_min: float, log_n: float
) -> None:
    assert left(log_n0, d_min, f0_min) == pytest.approx(log_n, abs=0.001)


# Source: closed form; the reference cycle of Ph. Eur. 5.1.1, 121 °C for 15 min, by 121.1 °C.
def test_the_reference_cycle_alone_is_not_ten_to_the_minus_six() -> None:
    assert left(6, 1.5, 15 * 10 ** (-0.1 / 10), celsius=121.0) == pytest.approx(-3.773, abs=0.001)


# Source: ISO 11138-1, as a training page has it: the indicator survives (log N0 - 2) x D and is
# killed after (log N0 + 4) x D; 4.5 and 13.5, 6 and 15, 8 and 20 min.
@pytest.mark.parametrize(
    ("log_n0", "d_min", "survives_min", "killed_min"),
    [(5, 1.5, 4.5, 13.5), (6, 1.5, 6.0, 15.0), (6, 2.0, 8.0, 20.0)],
)
def test_survival_and_kill_times_leave_a_hundred_spores_and_a_ten_thousandth(
    log_n0: float, d_min: float, survives_min: float, killed_min: float
) -> None:
    assert left(log_n0, d_min, survives_min) == pytest.approx(2, abs=1e-5)
    assert left(log_n0, d_min, killed_min) == pytest.approx(-4, abs=1e-5)


# Source: test suite of the R package bioinactivation (Bigelow): D at 90 °C 5 min, z 10, 2 min at
# 100 °C take four decades.
def test_two_minutes_ten_kelvin_hotter_take_four_decades() -> None:
    at_90 = equivalent_time([0, 120], [100, 100], reference=90, z=10) / 60

    assert at_90 / 5 == pytest.approx(4.0, abs=1e-9)


# Source: closed form: D of 1.5 min at 121 °C is 0.07518 min at 134 °C with z 10.
def test_d_shrinks_with_the_lethal_rate() -> None:
    rate = equivalent_time([0, 60], [134, 134], reference=121, z=10) / 60

    assert 1.5 / rate == pytest.approx(0.07518, abs=1e-5)


# Source: numpy.trapezoid, another program, on the lethal rates of the same trace.
@given(st.lists(st.tuples(st.floats(0.01, 100), st.floats(20, 140)), min_size=2, max_size=50))
def test_another_program_finds_the_same_trapezoid(steps: list[tuple[float, float]]) -> None:
    numpy = pytest.importorskip("numpy")
    seconds = [sum(step for step, _ in steps[: index + 1]) for index in range(len(steps))]
    celsius = [value for _, value in steps]

    rates = 10 ** ((numpy.array(celsius) - 121.1) / 10)
    found = equivalent_time(seconds, celsius, reference=121.1, z=10)

    assert found == pytest.approx(float(numpy.trapezoid(rates, seconds)), rel=1e-9)
