"""A cycle beside the reference: like cycles ask nothing, each difference asks in a sentence."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip import rulebook
from equip.demo.cycles import steam_log
from equip.logs.plain import Trace, read_file, read_plain
from equip.rulebook.cycles import profile, tolerances
from equip.rules.cycles.measured_stages import Profile
from equip.rules.cycles.reference_cycle import ComparedRow, compare, furthest, heating_asks
from equip.rules.cycles.reference_words import figure_of, shown
from tests.rules.cycles.test_cycle_stages import steam

RULES = rulebook.load("england").on(date(2026, 3, 4))
BY = tolerances(RULES)
CYCLES = Path(__file__).parents[2] / "published" / "cycles"
STEAM = profile(RULES, "steam-134", steam(12.0, 9.0, 8.0))
WASHER = profile(RULES, "thermal-a0-600", read_file(CYCLES / "washer-90.csv"))


def changed(of: Profile, **figures: float) -> Profile:
    return replace(of, figures={**of.figures, **figures})


def without(of: Profile, *gone: str) -> Profile:
    return replace(of, figures={n: v for n, v in of.figures.items() if n not in gone})


def codes(rows: list[ComparedRow]) -> list[str]:
    return [row.question.code for row in rows if row.question is not None]


def says(rows: list[ComparedRow]) -> str:
    return next(row.question.says for row in rows if row.question is not None)


@pytest.mark.parametrize("of", [STEAM, WASHER], ids=["steam", "washer"])
def test_a_cycle_beside_itself_asks_nothing(of: Profile) -> None:
    rows = compare(of, of, BY)

    assert [row.figure.id for row in rows] == list(of.figures)
    assert codes(rows) == []
    apart = furthest(of, of, BY.curve_window_s)
    assert apart is not None
    assert apart.kelvin == 0.0


@given(st.integers(0, 10_000), st.integers(0, 10_000))
def test_two_invented_cycles_of_one_machine_ask_nothing(one: int, other: int) -> None:
    a, b = (profile(RULES, "steam-134", read_plain(steam_log(seed))) for seed in (one, other))

    assert codes(compare(a, b, BY)) == []
    assert heating_asks(furthest(a, b, BY.curve_window_s), BY.curve_k) is None


@given(st.integers(-3000, 80_000))
def test_moving_the_clock_of_a_log_asks_nothing(shift: int) -> None:
    trace = steam(12.0, 9.0, 8.0)
    moved = Trace([at + shift for at in trace.seconds], trace.probes, trace.kpa)
    other = profile(RULES, "steam-134", moved)

    assert codes(compare(STEAM, other, BY)) == []
    apart = furthest(STEAM, other, BY.curve_window_s)
    assert apart is not None
    assert apart.kelvin == 0.0


def test_a_slower_heating_asks_with_both_times_and_what_it_may_mean() -> None:
    rows = compare(changed(STEAM, heat_up_s=150.0), changed(STEAM, heat_up_s=205.0), BY)

    assert codes(rows) == ["likeness-heat-up"]
    assert says(rows) == (
        "Heating: 3 min 25 s; in the reference cycle 2 min 30 s. Was more in it, were the things "
        "colder, or was there too little steam or heat?"
    )


def test_a_heating_that_is_slower_because_more_is_in_it_is_not_asked_about() -> None:
    reference, here = changed(STEAM, heat_up_s=150.0), changed(STEAM, heat_up_s=205.0)

    full = compare(reference, here, BY, {"heat_up_s": 50.0})
    half = compare(here, here, BY, {"heat_up_s": -60.0})

    assert codes(full) == []
    assert codes(half) == ["likeness-heat-up"]
    assert "about 2 min 25 s for as many things as here" in says(half)


@pytest.mark.parametrize(
    ("figures", "code"),
    [
        ({"pulses": 2.0}, "likeness-pulses"),
        ({"pulses": 4.0}, "likeness-pulses"),
        ({"vacuum_2_kpa": 14.0}, "likeness-vacuum-2"),
        ({"air_removal_s": 500.0}, "likeness-air-removal"),
        ({"hold_s": 260.0}, "likeness-hold"),
        ({"hold_min_c": 135.2}, "likeness-hold-min"),
        ({"hold_max_c": 133.9}, "likeness-hold-max"),
        ({"theory_gap_k": 0.8}, "likeness-theory-gap"),
        ({"theory_gap_k": -0.8}, "likeness-theory-gap"),
        ({"venting_s": 90.0}, "likeness-venting"),
        ({"drying_s": 60.0}, "likeness-drying"),
        ({"drying_min_kpa": 12.0}, "likeness-drying-min"),
    ],
)
def test_each_figure_of_a_steam_cycle_that_is_far_off_asks(
    figures: dict[str, float], code: str
) -> None:
    rows = compare(STEAM, changed(STEAM, **figures), BY)

    assert codes(rows) == [code]
    assert says(rows).endswith("?")


@pytest.mark.parametrize(
    ("figures", "code"),
    [
        ({"stages": 2.0}, "likeness-stages"),
        ({"stage_2_c": 87.0}, "likeness-stage-2"),
        ({"stage_1_c": 70.0}, "likeness-stage-1"),
        ({"stage_2_s": 300.0}, "likeness-stage-2"),
        ({"a0_s": 700.0}, "likeness-a0"),
    ],
)
def test_each_figure_of_a_washer_that_is_far_off_asks(figures: dict[str, float], code: str) -> None:
    assert codes(compare(WASHER, changed(WASHER, **figures), BY)) == [code]


@pytest.mark.parametrize(
    "figures", [{"vacuum_2_kpa": 3.0}, {"drying_min_kpa": 2.0}, {"drying_s": 900.0}]
)
def test_a_deeper_vacuum_or_a_longer_drying_asks_nothing(figures: dict[str, float]) -> None:
    assert codes(compare(STEAM, changed(STEAM, **figures), BY)) == []


@given(st.floats(-1, 1))
def test_within_the_tolerance_nothing_is_asked_and_the_tolerance_itself_is_within(
    share: float,
) -> None:
    off = STEAM.figures["hold_s"] + share * BY.hold_s

    assert codes(compare(STEAM, changed(STEAM, hold_s=off), BY)) == []


def test_a_drying_that_is_not_in_the_log_is_asked_about() -> None:
    rows = compare(STEAM, without(STEAM, "drying_s", "drying_min_kpa"), BY)

    assert codes(rows) == ["likeness-drying"]
    assert "not to be found in this log" in says(rows)
    assert [row.here_shown for row in rows[-2:]] == ["not in the log"] * 2


def test_what_the_reference_does_not_show_is_shown_and_not_asked_about() -> None:
    rows = compare(without(STEAM, "drying_s"), STEAM, BY)

    assert codes(rows) == []
    assert rows[-1].figure.id == "drying_s"


def test_with_another_number_of_pulses_no_vacuum_is_held_against_a_strange_one() -> None:
    other = profile(RULES, "steam-134", steam(30.0, 9.0))

    rows = compare(STEAM, other, BY)

    assert not [row for row in rows if row.figure.each]
    assert codes(rows)[0] == "likeness-pulses"


def test_a_heating_that_stalled_asks_where_and_how_far_though_it_took_as_long() -> None:
    def heating(celsius: list[float]) -> Profile:
        trace = Trace([float(at) for at in range(len(celsius))], (celsius,))
        return profile(RULES, "steam-134", trace)

    steady = [100.0 + at / 5 for at in range(171)]
    stalled = [100.0 + at / 5 for at in range(51)] + [110.0] * 60
    stalled += [110.0 + 24 * at / 60 for at in range(1, 61)]
    hold = [134.5] * 200

    apart = furthest(heating(steady + hold), heating(stalled + hold), BY.curve_window_s)
    same = furthest(heating(steady + hold), heating(steady + hold), BY.curve_window_s)

    asked = heating_asks(apart, 2.0)
    assert apart is not None
    assert apart.kelvin < -2.0
    assert asked is not None
    assert "K colder than the reference cycle" in asked.says
    assert heating_asks(apart, abs(apart.kelvin)) is None
    assert heating_asks(same, 0.0) is None


def test_without_a_heating_there_is_no_curve_to_compare() -> None:
    assert furthest(replace(STEAM, heating=None), STEAM, 10.0) is None
    assert furthest(STEAM, replace(STEAM, heating=None), 10.0) is None
    assert heating_asks(None, 1.0) is None


def test_a_value_that_is_nought_has_no_sign() -> None:
    assert shown(-0.01, figure_of("theory_gap_k")) == "0.0 K"
    assert shown(-1.26, figure_of("theory_gap_k")) == "−1.3 K"
    assert figure_of("vacuum_3_kpa").name == "Vacuum 3"
