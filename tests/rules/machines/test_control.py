"""Control charts: laws of any values, and limits that a value may touch."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.machines.control_charts import Chart, Settings, ewma, individuals

TENTHS = st.integers(-10_000, 10_000).map(lambda tenths: Decimal(tenths) / 10)
SERIES = st.lists(TENTHS, min_size=2, max_size=30)
WEIGHTS = st.integers(1, 100).map(lambda hundredths: Decimal(hundredths) / 100)
SIGMAS = st.integers(1, 500).map(lambda tenths: Decimal(tenths) / 10)
BOOK = Settings(k=Decimal(3), d2=Decimal("1.128"))


def near(first: Decimal, second: Decimal) -> bool:
    return abs(first - second) < Decimal("1e-20")


@given(SERIES)
def test_with_all_the_weight_on_the_newest_an_ewma_is_the_chart_of_individuals(
    values: list[Decimal],
) -> None:
    chart, plain = ewma(values, Decimal(1), BOOK), individuals(values, BOOK)

    assert chart.points == plain.points
    assert near(chart.upper[0], plain.upper[0])
    assert chart.center == plain.center


@given(SERIES, WEIGHTS, TENTHS)
def test_moving_every_value_moves_the_whole_chart_and_no_signal(
    values: list[Decimal], weight: Decimal, by: Decimal
) -> None:
    settings = Settings(BOOK.k, BOOK.d2, center=Decimal(5), sigma=Decimal(7))
    moved = Settings(BOOK.k, BOOK.d2, center=5 + by, sigma=Decimal(7))

    before = ewma(values, weight, settings)
    after = ewma([value + by for value in values], weight, moved)

    assert all(near(a, b + by) for a, b in zip(after.points, before.points, strict=True))
    assert near(after.lower[0], before.lower[0] + by)
    assert after.signals == before.signals


@given(SERIES, WEIGHTS)
def test_exact_limits_widen_from_point_to_point_and_stay_within_the_lasting_ones(
    values: list[Decimal], weight: Decimal
) -> None:
    exact, lasting = ewma(values, weight, BOOK, exact=True), ewma(values, weight, BOOK)

    assert list(exact.upper) == sorted(exact.upper)
    assert list(exact.lower) == sorted(exact.lower, reverse=True)
    assert all(a <= b for a, b in zip(exact.upper, lasting.upper, strict=True))
    assert set(lasting.signals) <= set(exact.signals)


@given(SERIES, SIGMAS)
def test_the_mean_lies_midway_and_the_limits_k_sigma_off(
    values: list[Decimal], sigma: Decimal
) -> None:
    chart = individuals(values, Settings(Decimal(2), BOOK.d2, sigma=sigma))

    assert near(chart.upper[0] - chart.center, 2 * sigma)
    assert near(chart.center - chart.lower[0], 2 * sigma)


@given(TENTHS, st.integers(2, 20), WEIGHTS)
def test_values_that_never_change_signal_nothing(
    value: Decimal, count: int, weight: Decimal
) -> None:
    values = [value] * count

    assert individuals(values, BOOK).signals == ()
    assert ewma(values, weight, BOOK).signals == ()
    assert ewma(values, weight, BOOK, exact=True).points == tuple(values)


def test_a_value_on_the_limit_is_not_beyond_it_and_a_hair_further_is() -> None:
    settings = Settings(Decimal(3), BOOK.d2, center=Decimal("0.3"), sigma=Decimal("0.1"))
    values = [Decimal(text) for text in ("0.6", "0.6000001", "0.0", "-0.0000001")]

    assert individuals(values, settings).signals == (1, 3)


def test_the_first_exact_limit_is_k_sigma_times_the_weight() -> None:
    settings = Settings(Decimal(3), BOOK.d2, center=Decimal(10), sigma=Decimal(2))

    chart = ewma([Decimal(10)] * 3, Decimal("0.2"), settings, exact=True)

    assert near(chart.upper[0], Decimal("11.2"))
    assert near(chart.lower[0], Decimal("8.8"))


def test_one_value_without_sigma_has_no_chart() -> None:
    with pytest.raises(ValueError, match="give sigma or more values"):
        individuals([Decimal(1)], BOOK)

    chart = individuals([Decimal(1)], Settings(Decimal(3), BOOK.d2, sigma=Decimal(1)))
    assert isinstance(chart, Chart)
    assert (chart.center, chart.upper) == (1, (4,))
