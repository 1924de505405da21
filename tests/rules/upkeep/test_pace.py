"""The pace of real use: its interval, its weekdays, and the day on which a count is reached."""

from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.upkeep.pace import day_after, expected, gamma_quantile, pace, weights

WEDNESDAY = date(2026, 3, 4)


# Exact limits of a Poisson count, 95 %, as in tables of them (Garwood 1936; from memory).
@pytest.mark.parametrize(
    ("count", "low", "high"),
    [(1, 0.0253, 5.572), (5, 1.623, 11.668), (10, 4.795, 18.390), (100, 81.364, 121.627)],
)
def test_the_interval_of_a_rate_is_the_exact_one_of_a_poisson_count(
    count: int, low: float, high: float
) -> None:
    found = pace(count, 1)

    assert found is not None
    assert (found.low, found.high) == (pytest.approx(low, rel=1e-3), pytest.approx(high, rel=1e-3))


@given(st.floats(0.5, 400), st.floats(0.001, 0.999))
def test_quantiles_rise_with_their_share(shape: float, share: float) -> None:
    assert gamma_quantile(shape, share / 2) <= gamma_quantile(shape, share)


def test_the_quantile_is_the_same_on_either_side_of_where_it_is_approximated() -> None:
    assert gamma_quantile(99.9999, 0.975) == pytest.approx(gamma_quantile(100, 0.975), rel=1e-4)


def test_a_count_below_nought_is_refused_and_nothing_seen_is_no_pace() -> None:
    assert pace(0, 90) is None
    with pytest.raises(ValueError, match="below nought"):
        pace(-1, 90)


def test_weekdays_on_which_nothing_is_done_are_passed_over() -> None:
    weekdays = weights([10, 10, 10, 10, 10, 0, 0])
    known = pace(65, 91, weekdays)  # one each working day
    assert known is not None

    found = expected(3, known, WEDNESDAY)

    assert found is not None
    assert found.day == date(2026, 3, 9)  # Thursday, Friday, Monday


def test_what_is_slower_than_ten_years_has_no_day() -> None:
    known = pace(5, 91)
    assert known is not None

    assert expected(10_000, known, WEDNESDAY) is None


@given(st.floats(0.01, 3000), st.lists(st.integers(0, 50), min_size=7, max_size=7))
def test_the_jump_over_weeks_lands_where_a_walk_lands(need: float, seen: list[int]) -> None:
    weekdays = weights(seen)
    day, done = WEDNESDAY, 0.0
    while done < need - 1e-9:
        day += timedelta(days=1)
        done += weekdays[day.weekday()]

    found = day_after(WEDNESDAY, need, weekdays)

    assert found is not None
    assert abs((found - day).days) <= 7 * (abs(need % 7) < 1e-6 or abs(need % 7 - 7) < 1e-6)


@given(st.floats(1, 900), st.floats(5, 900))
def test_the_day_lies_within_its_interval(left: float, count: float) -> None:
    known = pace(count, 91)
    assert known is not None
    found = expected(left, known, WEDNESDAY)

    if found is not None:
        assert WEDNESDAY < found.earliest <= found.day
        assert found.latest is None or found.day <= found.latest


def test_nineteen_intervals_in_twenty_hold_the_day_if_uses_do_come_at_random() -> None:
    random, held, tries = Random(7), 0, 400
    for _ in range(tries):
        rate = random.uniform(0.3, 3)
        seen = sum(_poisson(random, rate) for _ in range(91))
        known = pace(seen, 91)
        if known is None:
            continue
        found = expected(60, known, WEDNESDAY)
        assert found is not None and found.latest is not None
        day, done = WEDNESDAY, 0
        while done < 60:
            day += timedelta(days=1)
            done += _poisson(random, rate)
        held += found.earliest <= day <= found.latest

    assert 0.92 <= held / tries <= 0.99


def _poisson(random: Random, mean: float) -> int:
    count, left = 0, random.expovariate(1)
    while left < mean:
        count += 1
        left += random.expovariate(1)
    return count
