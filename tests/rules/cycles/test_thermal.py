"""The judgement of a washer's cycle: which stage counts, what is doubtful, and laws of A0."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from equip.logs.plain import Trace
from equip.rules.cycles.heat import equivalent_time
from equip.rules.cycles.washer.a0 import running_a0
from equip.rules.cycles.washer.judge import ThermalProgramme, judge
from equip.rules.cycles.washer.log import look
from equip.rules.verdict import Judgement, Reason

PROGRAMME = ThermalProgramme(
    id="test-600",
    target_s=600.0,
    floor_c=65.0,
    reference_c=80.0,
    z_k=10.0,
    stage_from_c=65.0,
    stage_fall_k=5.0,
    stage_swing_k=2.0,
    fresh_water_c=50.0,
    hottest_water_c=105.0,
    hole_s=10.0,
    hole_factor=3.0,
    hiding_hole_s=60.0,
)
STEP_S = 5.0


def line(*turns: tuple[float, float]) -> list[float]:
    """Readings every 5 s on straight lines through the *turns*: minutes, °C."""
    values: list[float] = []
    for (at, before), (until, after) in pairwise(turns):
        steps = round((until - at) * 60 / STEP_S)
        values += [before + (after - before) * step / steps for step in range(steps)]
    return [*values, turns[-1][1]]


def trace(*probes: list[float], without: tuple[float, float] | None = None) -> Trace:
    """A log of those probes; the readings strictly between the two minutes of *without* lost."""
    times = [index * STEP_S for index in range(len(probes[0]))]
    keep = [
        index
        for index, at in enumerate(times)
        if without is None or not without[0] * 60 < at < without[1] * 60
    ]
    return Trace(
        [times[index] for index in keep],
        tuple([probe[index] for index in keep] for probe in probes),
    )


def washer(hottest: float = 91.0, hold_min: float = 2.0, dry: float = 96.0) -> list[float]:
    """Wash at 60, a cold rinse, the disinfection, the drain to 72 and a drying of 10 min."""
    return line(
        (0, 20),
        (6, 60),
        (10, 60),
        (12, 40),
        (18, hottest),
        (18 + hold_min, hottest),
        (23 + hold_min, 72),
        (29 + hold_min, dry),
        (39 + hold_min, dry),
        (42 + hold_min, 50),
    )


def reason(judgement: Judgement, code: str) -> Reason:
    return next(one for one in judgement.reasons if one.code == code)


def codes(judgement: Judgement) -> list[str]:
    return [one.code for one in judgement.reasons]


# --- which stage counts -----------------------------------------------------------------------


def test_the_wet_stage_counts_and_the_drying_is_left_out_with_a_remark() -> None:
    judgement = judge(trace(washer()), PROGRAMME)

    assert judgement.verdict == "pass"
    assert codes(judgement) == ["drying-left-out", "not-measured"]
    assert reason(judgement, "drying-left-out").says.startswith(
        "At 21 min 20 s it had cooled by more than 5 K. What is warm after that, with an A0 of "
    )


def test_no_drying_however_hot_makes_up_for_a_short_disinfection() -> None:
    short = judge(trace(washer(hottest=78, dry=98)), PROGRAMME)

    assert short.verdict == "fail"
    assert codes(short)[0] == "a0-short"
    assert short.figures["a0_s"] < 600 < short.figures["a0_left_out_s"]


def test_the_a0_is_that_of_the_stage_alone() -> None:
    alone = line((12, 40), (18, 91), (20, 91), (20 + 75 / 60, 86.25))
    seconds = [index * STEP_S for index in range(len(alone))]

    judgement = judge(trace(washer()), PROGRAMME)

    assert judgement.figures["a0_s"] == pytest.approx(
        equivalent_time(seconds, alone, reference=80, z=10, floor=65), rel=0.01
    )


def test_a_failed_disinfection_is_not_replaced_by_the_drying_that_follows_it_warm() -> None:
    cold = trace(line((0, 40), (6, 62), (8, 62), (10, 54), (16, 96), (40, 96), (44, 45)))

    judgement = judge(cold, PROGRAMME)

    assert judgement.verdict == "undecided"
    assert codes(judgement)[0] == "stage-unclear"
    assert "cannot show whether it was water or hot air" in judgement.reasons[0].says
    assert judgement.figures["a0_s"] == 0


def test_a_drain_that_cools_by_little_never_lets_hot_air_pass_for_water() -> None:
    judgement = judge(trace(washer(hottest=75, dry=98)), PROGRAMME)

    assert judgement.verdict == "undecided"
    assert codes(judgement)[0] == "stage-unclear"


def test_a_dip_in_the_cold_on_the_way_up_is_no_doubt() -> None:
    dosed = trace(line((0, 20), (2, 45), (2.5, 42), (8, 90), (10, 90), (14, 50)))

    assert judge(dosed, PROGRAMME).verdict == "pass"


def test_a_dip_while_warm_on_the_way_up_leaves_it_undecided_unless_the_clinic_allows_it() -> None:
    dosed = trace(line((0, 20), (4, 70), (4.5, 67), (8, 90), (10, 90), (14, 50)))

    assert judge(dosed, PROGRAMME).verdict == "undecided"
    assert judge(dosed, replace(PROGRAMME, stage_swing_k=4.0)).verdict == "pass"


def test_an_unclear_stage_that_would_not_do_either_is_a_fail() -> None:
    cold = trace(line((0, 40), (6, 62), (8, 62), (10, 54), (12, 70), (14, 70), (18, 45)))

    judgement = judge(cold, PROGRAMME)

    assert judgement.verdict == "fail"
    assert judgement.reasons[0].says == (
        "It reached an A0 of 0 s that surely counts; it needs 600 s."
    )


def test_after_a_hot_wash_and_a_cold_rinse_nobody_can_say_until_the_clinic_sets_its_own() -> None:
    hot_wash = trace(
        line((0, 20), (5, 70), (8, 70), (10, 40), (16, 92), (19, 92), (24, 70), (30, 95), (36, 60))
    )

    plain = judge(hot_wash, PROGRAMME)
    told = judge(hot_wash, replace(PROGRAMME, stage_from_c=80.0))

    assert (plain.verdict, codes(plain)[0]) == ("undecided", "stage-unclear")
    assert (told.verdict, codes(told)[0]) == ("pass", "drying-left-out")


def test_one_wobble_within_the_allowed_fall_does_not_end_the_stage() -> None:
    steady = line((0, 40), (5, 90), (6, 90), (6.5, 85.5), (7, 90), (8, 90), (12, 60))

    assert judge(trace(steady), PROGRAMME).verdict == "pass"
    assert look(trace(steady), PROGRAMME).dry == ()


def test_a_fall_of_exactly_what_is_allowed_does_not_end_the_stage() -> None:
    exactly = trace([40.0, 90.0, 85.0, 90.0])
    more = trace([40.0, 90.0, 84.9, 90.0])

    assert look(exactly, PROGRAMME).counted == replace(
        look(exactly, PROGRAMME).counted, first=0, last=3, hottest_c=90.0
    )
    assert look(more, PROGRAMME).counted.last == 1


def test_what_the_reader_of_the_log_noted_is_passed_on() -> None:
    log = trace([90.0] * 20)
    noted = Trace(log.seconds, log.probes, None, ("The clock was put back.",))

    assert reason(judge(noted, PROGRAMME), "as-read").says == "The clock was put back."


def test_a_log_that_never_was_warm_says_how_warm_it_was() -> None:
    judgement = judge(trace(line((0, 20), (6, 64.9), (10, 30))), PROGRAMME)

    assert judgement.verdict == "fail"
    assert judgement.reasons[0].says == (
        "It never reached 65 °C: the coldest probe was at 64.9 °C at most."
    )
    assert judgement.figures["hold_start_s"] is None
    assert judgement.figures["hold_s"] == 0


def test_a_log_that_starts_and_stops_warm_is_judged_with_that_remark() -> None:
    judgement = judge(trace([90.0] * 20), PROGRAMME)

    assert judgement.verdict == "pass"
    assert codes(judgement) == ["log-starts-hot", "log-stops-hot", "not-measured"]


# --- probes, target, uncertainty --------------------------------------------------------------


def test_the_coldest_probe_at_each_moment_is_the_one_that_counts() -> None:
    early = line((0, 40), (5, 90), (6, 90), (6.5, 90), (9, 50))
    late = line((0, 40), (5, 88), (6, 90), (6.5, 86), (9, 50))

    judgement = judge(trace(early, late), PROGRAMME)
    coldest = judge(trace([min(pair) for pair in zip(early, late, strict=True)]), PROGRAMME)

    assert judgement.figures["a0_s"] == coldest.figures["a0_s"]
    assert "not-measured" not in codes(judgement)
    assert judgement.figures["spread_max_k"] == pytest.approx(4, abs=0.01)


def test_a_second_probe_that_stays_cold_fails_what_the_first_would_pass() -> None:
    hot = washer()

    judgement = judge(trace(hot, [min(value, 72.0) for value in hot]), PROGRAMME)

    assert judgement.verdict == "fail"


def test_the_target_itself_passes_and_a_second_less_does_not() -> None:
    sixty = [90.0] * 13

    assert judge(trace(sixty), PROGRAMME).verdict == "pass"
    assert judge(trace(sixty), replace(PROGRAMME, target_s=600.1)).verdict == "fail"


def test_what_was_missed_is_never_rounded_up_to_the_target() -> None:
    judgement = judge(trace([90.0] * 13), replace(PROGRAMME, target_s=600.01))

    assert judgement.reasons[0].says == "It reached an A0 of 600 s; it needs 600.01 s."


def test_within_the_uncertainty_of_the_sensor_nobody_can_say() -> None:
    seventy = trace([90.0] * 14)

    sure = judge(seventy, PROGRAMME, uncertainty_k=0.3)
    unsure = judge(seventy, PROGRAMME, uncertainty_k=0.5)

    assert sure.verdict == "pass"
    assert unsure.verdict == "undecided"
    assert reason(unsure, "within-uncertainty").says == (
        "With an uncertainty of 0.5 K its A0 surely was 579.3 s only; it needs 600 s."
    )
    assert unsure.figures == sure.figures


@pytest.mark.parametrize("hottest", [105.0, 105.1, 149.0, 194.0])
def test_what_was_hotter_than_water_passes_nothing(hottest: float) -> None:
    judgement = judge(trace([hottest] * 200), PROGRAMME)

    assert judgement.verdict == ("pass" if hottest == 105.0 else "undecided")
    assert ("hotter-than-water" in codes(judgement)) == (hottest > 105.0)


def test_a_washer_that_was_never_warm_does_not_pass_for_a_log_in_fahrenheit() -> None:
    cold = line((0, 20), (10, 60), (15, 60), (25, 30))

    judgement = judge(trace([celsius * 1.8 + 32 for celsius in cold]), PROGRAMME)

    assert judge(trace(cold), PROGRAMME).verdict == "fail"
    assert judgement.verdict == "undecided"
    assert "may be in °F" in reason(judgement, "hotter-than-water").says


def test_a_drying_that_no_fall_parts_from_the_water_passes_nothing() -> None:
    climbing = line((0, 20), (8, 80), (10, 120), (30, 120), (40, 40))

    assert judge(trace(climbing), PROGRAMME).verdict == "undecided"


def test_a_pressure_column_is_not_looked_at() -> None:
    plain = trace(washer())
    pressed = Trace(plain.seconds, plain.probes, [101.3] * len(plain.seconds))

    assert judge(pressed, PROGRAMME) == judge(plain, PROGRAMME)


# --- holes ------------------------------------------------------------------------------------


def held(minutes: float) -> list[float]:
    return line((0, 40), (5, 90), (5 + minutes, 90), (8 + minutes, 50))


def test_a_hole_adds_nothing_and_hurts_nothing_where_enough_lies_outside_it() -> None:
    judgement = judge(trace(held(3), without=(6, 6.5)), PROGRAMME)
    whole = judge(trace(held(3)), PROGRAMME)

    assert judgement.verdict == "pass"
    assert judgement.figures["a0_s"] == pytest.approx(whole.figures["a0_s"] - 300, abs=0.1)
    assert judgement.figures["largest_gap_s"] == 30


def test_a_hole_that_the_target_would_need_leaves_it_undecided() -> None:
    judgement = judge(trace(held(0.8), without=(5, 5.7)), PROGRAMME)

    assert judge(trace(held(0.8)), PROGRAMME).verdict == "pass"
    assert judgement.verdict == "undecided"
    assert judgement.reasons[0].code == "hole-in-stage"
    assert "no readings for 45 s from 5 min on" in judgement.reasons[0].says


def test_what_follows_a_hole_long_enough_to_hide_the_drain_may_be_the_drying() -> None:
    judgement = judge(trace(held(10), without=(5.2, 7)), PROGRAMME)

    assert judgement.verdict == "undecided"
    assert codes(judgement)[0] == "stage-unclear"


def test_enough_before_a_long_hole_passes() -> None:
    assert judge(trace(held(10), without=(6.5, 9)), PROGRAMME).verdict == "pass"


def test_a_hole_that_swallows_the_whole_disinfection_leaves_it_undecided() -> None:
    judgement = judge(trace(held(3), without=(1, 10.5)), PROGRAMME)

    assert judgement.verdict == "undecided"
    assert codes(judgement)[0] == "hole-in-stage"


def test_a_long_hole_in_the_cold_rinse_before_hides_nothing() -> None:
    rinsed = line((0, 40), (3, 42), (8, 90), (10, 90), (14, 50))

    assert judge(trace(rinsed, without=(0.5, 2.5)), PROGRAMME).verdict == "pass"


def test_a_hole_after_the_stage_has_ended_changes_nothing() -> None:
    judgement = judge(trace(washer(hottest=78), without=(28, 32)), PROGRAMME)

    assert (judgement.verdict, codes(judgement)[0]) == ("fail", "a0-short")


def test_sparse_readings_are_no_holes() -> None:
    sparse = Trace([index * 30.0 for index in range(5)], ([90.0] * 5,))

    assert judge(sparse, PROGRAMME).verdict == "pass"


# --- laws -------------------------------------------------------------------------------------

celsius = st.lists(st.floats(15, 99), min_size=2, max_size=60)


@settings(max_examples=150, deadline=None)
@given(celsius)
def test_what_counts_is_never_more_than_the_whole_log(values: list[float]) -> None:
    log = trace(values)
    whole = equivalent_time(log.seconds, log.probes[0], reference=80, z=10, floor=65)

    figures = judge(log, PROGRAMME).figures

    assert 0 <= figures["a0_s"] <= whole + 1e-5
    assert figures["a0_s"] + figures["a0_left_out_s"] <= whole + 1e-5


@settings(max_examples=150, deadline=None)
@given(celsius, st.floats(0, 3))
def test_more_uncertainty_never_passes_what_less_would_not(values: list[float], k: float) -> None:
    if judge(trace(values), PROGRAMME).verdict != "pass":
        assert judge(trace(values), PROGRAMME, uncertainty_k=k).verdict != "pass"


@settings(max_examples=300, deadline=None)
@given(st.lists(st.floats(60, 99), min_size=1, max_size=40))
@example([76.0, 71.0, 94.0, 99.0, 95.0])  # a dip in the drying, and hotter air after it
def test_heat_after_the_drain_never_adds_to_a_stage_that_has_ended(dry: list[float]) -> None:
    drained = [40.0, *[90.0] * 5, 80.0]
    ended = judge(trace([*drained, 70.0]), PROGRAMME)

    dried = judge(trace([*drained, 70.0, *dry]), PROGRAMME)

    assert dried.figures["a0_s"] == ended.figures["a0_s"]
    assert dried.verdict == ended.verdict == "fail"


@settings(max_examples=150, deadline=None)
@given(celsius, st.data())
def test_losing_readings_never_raises_what_a_steady_stage_counts(
    values: list[float], data: st.DataObject
) -> None:
    keep = data.draw(st.lists(st.booleans(), min_size=40, max_size=40))
    steady = trace([90.0] * 40)
    kept = [index for index in range(40) if keep[index] or index in (0, 1, 39)]
    fewer = Trace([steady.seconds[index] for index in kept], ([90.0] * len(kept),))

    assert judge(fewer, PROGRAMME).figures["a0_s"] <= judge(steady, PROGRAMME).figures["a0_s"]


@settings(max_examples=150, deadline=None)
@given(celsius, st.floats(0, 5), st.floats(0, 2))
def test_the_a0_only_ever_grows_and_comes_to_what_is_judged(
    values: list[float], hole_from: float, wide: float
) -> None:
    hole = (hole_from, hole_from + wide) if len(values) > 3 and hole_from > 0.2 else None
    log = trace([*values, 90.0, 90.0], without=hole)
    so_far = running_a0(look(log, PROGRAMME), PROGRAMME)

    assert len(so_far) == len(log.seconds)
    assert so_far[0] == 0
    assert all(after >= before for before, after in pairwise(so_far))
    assert so_far[-1] == pytest.approx(judge(log, PROGRAMME).figures["a0_s"], rel=1e-9, abs=1e-6)


def test_the_a0_rests_over_a_hole_and_after_the_stage_has_ended() -> None:
    log = trace(held(3), without=(6, 6.5))
    seen = look(log, PROGRAMME)
    so_far = running_a0(seen, PROGRAMME)

    assert seen.counted is not None
    before = next(i for i, (a, b) in enumerate(pairwise(log.seconds)) if b - a > 10)
    assert 0 < so_far[before] == so_far[before + 1] < so_far[-1]
    assert set(so_far[seen.counted.last :]) == {so_far[-1]}
