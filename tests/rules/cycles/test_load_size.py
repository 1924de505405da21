"""What heating says of a load's size: by enough own cycles, robustly, and only as a question."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.cycles.load_size import SizedCycle, SizeLine, SizeRules, asks, line, usual

RULES = SizeRules(fewest_cycles=12, fewest_sizes=3, scatter=4.0, least_s=15.0)


def straight(
    base: float = 150.0, each: float = 10.0, sizes: range = range(1, 9)
) -> list[SizedCycle]:
    return [SizedCycle(n, base + each * n) for n in sizes for _ in range(2)]


def its(cycles: list[SizedCycle], rules: SizeRules = RULES) -> SizeLine:
    found = line(cycles, rules)
    assert found is not None
    return found


def test_cycles_on_a_line_give_that_line() -> None:
    found = its(straight())

    assert (found.base_s, found.each_s, found.band_s) == (150.0, 10.0, 15.0)
    assert (found.cycles, found.fewest, found.most) == (16, 1, 8)
    assert [found.like(seconds) for seconds in (150, 120, 180, 230)] == [0, 0, 3, 8]


def test_a_load_that_heated_like_a_larger_one_is_asked_about_with_what_it_rests_on() -> None:
    found = asks("heated", its(straight()), 3, 230.0)

    assert found is not None
    assert found.spoils == "pass"
    assert found.says == (
        "3 things were put in, but it heated like about 8: it took 3 min 50 s, where 16 passed "
        "cycles of this machine let 2 min 45 s to 3 min 15 s be expected. Is something in it "
        "that was not scanned, or were its things much colder or heavier?"
    )


def test_a_load_that_heated_like_nothing_is_asked_about() -> None:
    found = asks("heated", its(straight()), 5, 152.0)

    assert found is not None
    assert "5 things were put in, but it heated like an empty chamber" in found.says


def test_beyond_what_was_ever_in_it_no_number_is_made_up() -> None:
    found = asks("heated", its(straight()), 3, 400.0)

    assert found is not None
    assert "like more than 8, the most in any of them" in found.says


@given(st.integers(1, 8), st.floats(-15, 15))
def test_within_the_band_nothing_is_asked(things: int, off: float) -> None:
    found = its(straight())

    assert asks("heated", found, things, found.expected_s(things) + off) is None


def test_the_band_grows_with_the_scatter_of_the_machines_own_cycles() -> None:
    noisy = [SizedCycle(n, 150 + 25 * n + off) for n in range(1, 9) for off in (-12, 0, 12)]

    wide, narrow = its(noisy), its(straight(each=25.0))

    assert wide.band_s == pytest.approx(4 * 1.4826 * 12, abs=0.01)
    assert asks("heated", narrow, 3, 150 + 75 + 60) is not None
    assert asks("heated", wide, 3, 150 + 75 + 60) is None


@pytest.mark.parametrize(
    "cycles",
    [
        [],
        straight()[:11],
        [SizedCycle(4, 190.0)] * 40,
        [SizedCycle(4 + n % 2, 190.0 + 40 * (n % 2)) for n in range(40)],
    ],
    ids=["none", "too few", "all of one size", "of two sizes only"],
)
def test_too_few_or_too_like_cycles_say_nothing(cycles: list[SizedCycle]) -> None:
    assert line(cycles, RULES) is None


def test_a_stage_that_does_not_grow_with_the_load_says_nothing() -> None:
    assert line(straight(each=0.0), RULES) is None
    assert line(straight(each=-10.0), RULES) is None
    assert line(straight(each=1.0), RULES) is None  # 7 s over all sizes, less than the least band


@given(st.lists(st.integers(1, 9), max_size=4), st.integers(500, 3000))
def test_a_few_loads_that_were_counted_or_run_wrong_move_the_line_little(
    sizes: list[int], seconds: int
) -> None:
    """Up to a fifth of the cycles may be anything: a line by least squares would follow them."""
    honest = straight()

    found = its(honest + [SizedCycle(size, float(seconds)) for size in sizes])

    assert found.each_s == pytest.approx(10.0, abs=3.0)
    assert found.expected_s(4) == pytest.approx(190.0, abs=10.0)


@given(
    st.lists(st.tuples(st.integers(1, 9), st.integers(100, 400)), min_size=12, max_size=30),
    st.integers(-50, 500),
)
def test_adding_seconds_to_every_cycle_adds_them_to_the_line(
    rows: list[tuple[int, int]], more: int
) -> None:
    plain = line([SizedCycle(n, float(s)) for n, s in rows], RULES)
    moved = line([SizedCycle(n, float(s + more)) for n, s in rows], RULES)

    assert (plain is None) == (moved is None)
    if plain is not None and moved is not None:
        assert math.isclose(moved.each_s, plain.each_s, abs_tol=1e-6)
        assert math.isclose(moved.base_s, plain.base_s + more, abs_tol=1e-6)


@given(st.permutations(straight()))
def test_the_order_of_the_cycles_does_not_matter(cycles: list[SizedCycle]) -> None:
    assert line(cycles, RULES) == line(straight(), RULES)


def test_a_load_larger_than_any_before_is_asked_about_only_if_it_heated_like_less() -> None:
    found = its(straight(sizes=range(2, 7)) + straight(sizes=range(2, 7)))

    assert asks("heated", found, 12, 300.0) is None
    assert asks("heated", found, 12, 190.0) is not None
    assert asks("heated", found, 1, 100.0) is None
    assert asks("heated", found, 1, 200.0) is not None


def test_what_is_usual_is_said_with_how_many_cycles_it_rests_on() -> None:
    found = its(straight())

    assert usual("heated", found, 3, 181.0) == (
        "It heated for 3 min 01 s. For 3 things, 16 passed cycles of this machine let "
        "2 min 45 s to 3 min 15 s be expected."
    )
    assert usual("heated", found, 9, 181.0).endswith("None of them held so many.")
