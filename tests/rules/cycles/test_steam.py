"""The judgement of a steam cycle, point by point, and laws that hold for every log."""

import time
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from equip.logs.plain import Trace
from equip.rules.cycles.heat import saturation_kpa
from equip.rules.cycles.steam.judge import Judgement, SteamProgramme, judge
from equip.rules.verdict import Reason

PROGRAMME = SteamProgramme(
    id="test-134",
    low_c=134.0,
    high_c=137.0,
    hold_s=180.0,
    spread_k=2.0,
    theory_gap_k=2.0,
    equilibration_s=15.0,
    hole_s=10.0,
    hole_factor=3.0,
    f0_reference_c=121.1,
    f0_z_k=10.0,
)
RAMP = [100.0, 110.0, 120.0, 130.0]


def saturated(*probes: list[float], seconds: list[float] | None = None) -> Trace:
    """Saturated steam by the first probe, a reading a second unless told."""
    times = [float(at) for at in range(len(probes[0]))] if seconds is None else seconds
    return Trace(times, probes, [saturation_kpa(value) for value in probes[0]])


def cycle(*middle: float) -> list[float]:
    """Up, what is given, and down."""
    return [*RAMP, *middle, *reversed(RAMP)]


def reason(judgement: Judgement, code: str) -> Reason:
    return next(one for one in judgement.reasons if one.code == code)


def codes(judgement: Judgement) -> list[str]:
    return [one.code for one in judgement.reasons]


# --- the holding time ----------------------------------------------------------------------


def test_a_run_exactly_as_long_as_required_passes() -> None:
    judgement = judge(saturated(cycle(*[135.0] * 181)), PROGRAMME)

    assert judgement.verdict == "pass"
    assert judgement.figures["hold_s"] == 180.0


def test_a_run_one_reading_short_fails_and_says_by_how_much() -> None:
    judgement = judge(saturated(cycle(*[135.0] * 180)), PROGRAMME)

    assert judgement.verdict == "fail"
    assert judgement.reasons[0].code == "hold-short"
    assert judgement.reasons[0].says == "It stayed hot enough for 2 min 59 s; it needs 3 min."
    assert judgement.reasons[0].at_s == 183.0


@pytest.mark.parametrize("step_s", [0.1, 0.3, 0.7, 1 / 3])
def test_stamps_that_are_no_binary_fractions_still_add_up_to_the_hold(step_s: float) -> None:
    readings = round(180 / step_s) + 1
    seconds = [17.3 + index * step_s for index in range(readings)]
    if abs((readings - 1) * step_s - 180) > 1e-9:
        seconds[-1] = seconds[0] + 180

    judgement = judge(saturated([135.0] * readings, seconds=seconds), PROGRAMME)

    assert judgement.verdict == "pass"


def test_a_hold_that_is_a_tenth_of_a_second_short_is_not_said_to_be_long_enough() -> None:
    seconds = [*map(float, range(180)), 179.9]

    judgement = judge(saturated([135.0] * 181, seconds=seconds), PROGRAMME)

    assert judgement.verdict == "fail"
    assert "2 min 59.9 s" in reason(judgement, "hold-short").says


@pytest.mark.parametrize("value", [134.0, 137.0])
def test_the_edges_of_the_band_are_in_it(value: float) -> None:
    judgement = judge(saturated(cycle(*[value] * 181)), PROGRAMME)

    assert judgement.verdict == "pass"


def test_a_complete_hold_with_a_later_dip_passes_with_that_remark() -> None:
    trace = saturated(cycle(*[135.0] * 181, *[133.0] * 3, *[135.0] * 60))

    judgement = judge(trace, PROGRAMME)

    assert judgement.verdict == "pass"
    assert reason(judgement, "dip-after-hold").spoils == "pass"
    assert reason(judgement, "dip-after-hold").at_s == 185.0


def test_the_remark_stays_when_the_part_after_the_dip_is_the_longer_one() -> None:
    trace = saturated(cycle(*[135.0] * 181, 133.0, *[135.0] * 200))

    judgement = judge(trace, PROGRAMME)

    assert judgement.verdict == "pass"
    assert judgement.figures["hold_s"] == 199.0
    assert "dip-after-hold" in codes(judgement)


def test_a_dip_before_a_complete_hold_is_no_fault() -> None:
    judgement = judge(saturated(cycle(*[135.0] * 60, 133.0, *[135.0] * 181)), PROGRAMME)

    assert judgement.verdict == "pass"
    assert codes(judgement) == ["not-measured"]


def test_the_dip_that_cost_the_hold_is_the_one_that_is_told() -> None:
    trace = saturated(cycle(134.1, 133.9, *[135.0] * 150, 132.5, *[135.0] * 100))

    judgement = judge(trace, PROGRAMME)

    assert judgement.verdict == "fail"
    assert reason(judgement, "dip-in-hold").at_s == 156.0
    assert "132.5 °C" in reason(judgement, "dip-in-hold").says


@pytest.mark.parametrize("where", ["before", "in", "after"])
def test_one_reading_above_the_band_fails_wherever_it_is(where: str) -> None:
    hold = [135.0] * 400
    middle = {"before": [137.1, *hold], "in": [*hold, 137.1, *hold], "after": [*hold, 137.1]}
    trace = saturated(cycle(*middle[where]))

    judgement = judge(trace, PROGRAMME)

    assert judgement.verdict == "fail"
    assert codes(judgement) == ["too-hot", "not-measured"]
    assert reason(judgement, "too-hot").at_s == trace.probes[0].index(137.1)


def test_every_problem_is_listed_the_gravest_first_and_remarks_last() -> None:
    trace = saturated(cycle(*[135.0] * 100, 137.5))

    judgement = judge(replace(trace, kpa=None), PROGRAMME)

    assert codes(judgement) == ["hold-short", "too-hot", "pressure-not-measured", "not-measured"]


def test_a_cold_log_has_no_figures_of_a_hold() -> None:
    judgement = judge(saturated(cycle(133.0)), PROGRAMME)

    assert judgement.verdict == "fail"
    assert judgement.reasons[0].says == "It never reached 134 °C: the hottest reading was 133 °C."
    assert judgement.figures["hold_s"] == 0.0
    assert judgement.figures["f0_min"] is not None
    for name in ("hold_start_s", "hold_min_c", "hold_max_c", "theory_gap_max_k", "f0_hold_min"):
        assert judgement.figures[name] is None


def test_a_log_that_jumps_over_the_band_says_so() -> None:
    judgement = judge(saturated(cycle(138.0, 138.0)), PROGRAMME)

    assert judgement.reasons[0].says == "No reading lay between 134 and 137 °C."
    assert "too-hot" in codes(judgement)


def test_a_log_that_begins_and_ends_hot_is_judged_and_remarked_on() -> None:
    judgement = judge(saturated([135.0] * 200), PROGRAMME)

    assert judgement.verdict == "pass"
    assert codes(judgement) == ["not-measured", "log-starts-hot", "log-stops-hot"]


# --- holes -----------------------------------------------------------------------------------


def with_hole(before: int, hole_s: float, after: int) -> Trace:
    first = [float(at) for at in range(before)]
    second = [first[-1] + hole_s + at for at in range(after)]
    return saturated([135.0] * (before + after), seconds=first + second)


def test_a_hole_inside_the_holding_time_makes_it_undecided() -> None:
    judgement = judge(with_hole(100, 11, 100), PROGRAMME)

    assert judgement.verdict == "undecided"
    assert reason(judgement, "hole-in-hold").at_s == 99.0
    assert judgement.figures["hold_s"] == 99.0
    assert judgement.figures["largest_gap_s"] == 11.0


def test_a_gap_of_ten_seconds_is_no_hole_yet() -> None:
    judgement = judge(with_hole(100, 10, 100), PROGRAMME)

    assert judgement.verdict == "pass"
    assert judgement.figures["hold_s"] == 208.0


def test_a_complete_run_beside_the_hole_passes() -> None:
    judgement = judge(with_hole(181, 60, 20), PROGRAMME)

    assert judgement.verdict == "pass"
    assert judgement.figures["hold_s"] == 180.0


def test_a_hold_too_short_even_with_the_hole_counted_fails() -> None:
    judgement = judge(with_hole(60, 30, 60), PROGRAMME)

    assert judgement.verdict == "fail"
    assert "hold-short" in codes(judgement)


def test_a_slow_logger_has_its_own_measure_of_a_hole() -> None:
    seconds = [index * 20.0 for index in range(12)]
    late = [*seconds[:6], *[at + 40 for at in seconds[6:]]]
    later = [*seconds[:6], *[at + 41 for at in seconds[6:]]]

    assert judge(saturated([135.0] * 12, seconds=late), PROGRAMME).verdict == "pass"
    assert judge(saturated([135.0] * 12, seconds=later), PROGRAMME).verdict == "undecided"


def test_a_failure_outweighs_the_doubt_of_a_hole() -> None:
    trace = with_hole(100, 30, 100)
    hot = replace(trace, probes=([*trace.probes[0][:-1], 137.4],))

    judgement = judge(hot, PROGRAMME)

    assert judgement.verdict == "fail"
    assert codes(judgement)[:2] == ["too-hot", "hole-in-hold"]


# --- saturation ------------------------------------------------------------------------------


def test_air_gives_a_positive_gap_and_says_air() -> None:
    trace = saturated(cycle(*[135.0] * 200))
    airy = replace(trace, kpa=[saturation_kpa(value + 2.1) for value in trace.probes[0]])

    judgement = judge(airy, PROGRAMME)

    assert judgement.verdict == "fail"
    assert judgement.figures["theory_gap_max_k"] == pytest.approx(2.1, abs=1e-6)
    assert reason(judgement, "theory-gap").says.startswith("Air may have been left")


def test_superheat_gives_a_negative_gap_and_says_dry_steam_or_sensor() -> None:
    trace = saturated(cycle(*[135.0] * 200))
    dry = replace(trace, kpa=[saturation_kpa(value - 2.1) for value in trace.probes[0]])

    judgement = judge(dry, PROGRAMME)

    assert judgement.verdict == "fail"
    assert judgement.figures["theory_gap_min_k"] == pytest.approx(-2.1, abs=1e-6)
    assert reason(judgement, "theory-gap").says.startswith("The steam was too dry")


@pytest.mark.parametrize("gap", [2.0, -2.0])
def test_a_gap_of_exactly_two_kelvin_passes(gap: float) -> None:
    trace = saturated([135.0] * 200)
    off = replace(trace, kpa=[round(saturation_kpa(value + gap), 3) for value in trace.probes[0]])

    assert judge(off, PROGRAMME).verdict == "pass"


@pytest.mark.parametrize(
    ("gap", "remark"), [(0.9, None), (1.0, None), (1.2, "above"), (-1.2, "below"), (2.1, None)]
)
def test_a_gap_that_passes_and_is_wide_all_the_same_is_remarked_on(
    gap: float, remark: str | None
) -> None:
    held = [135.0] * 200
    log = Trace(list(map(float, range(200))), (held,), [saturation_kpa(135.0 + gap)] * 200)

    judgement = judge(log, replace(PROGRAMME, theory_remark_k=1.0))

    assert judgement.verdict == ("fail" if gap > 2 else "pass")
    said = [one for one in judgement.reasons if one.code == "theory-gap-remark"]
    assert [remark in one.says for one in said if remark] == [True] * (remark is not None)
    assert len(said) == (remark is not None)


def test_a_gap_outside_the_holding_time_does_not_matter() -> None:
    trace = saturated(cycle(*[135.0] * 200))
    pressure = [101.3, 101.3, 101.3, 101.3, *trace.kpa[4:-4], 5.0, 1.0, 0.2, 0.0]  # type: ignore[index]

    assert judge(replace(trace, kpa=pressure), PROGRAMME).verdict == "pass"


def test_gauge_pressure_taken_for_absolute_is_recognised() -> None:
    trace = saturated(cycle(*[135.0] * 200))
    gauge = replace(trace, kpa=[saturation_kpa(value) - 101.3 for value in trace.probes[0]])

    judgement = judge(gauge, PROGRAMME)

    assert judgement.verdict == "fail"
    assert "gauge pressure" in reason(judgement, "theory-gap").says


def test_no_pressure_at_all_in_the_hold_is_a_gap_and_no_crash() -> None:
    trace = replace(saturated([135.0] * 200), kpa=[0.0] * 200)

    judgement = judge(trace, PROGRAMME)

    assert judgement.verdict == "fail"
    assert judgement.figures["theory_gap_min_k"] == pytest.approx(-135, abs=0.01)


def test_a_log_without_pressure_cannot_prove_steam_and_is_undecided() -> None:
    trace = replace(saturated(cycle(*[135.0] * 200)), kpa=None)

    judgement = judge(trace, PROGRAMME)

    assert judgement.verdict == "undecided"
    assert "hot air" in reason(judgement, "pressure-not-measured").says
    assert judgement.figures["theory_gap_max_k"] is None


# --- several probes --------------------------------------------------------------------------


def test_one_cold_probe_breaks_the_hold() -> None:
    good = cycle(*[135.0] * 200)
    cold = cycle(*[135.0] * 100, 133.9, *[135.0] * 99)

    judgement = judge(saturated(good, cold), PROGRAMME)

    assert judgement.verdict == "fail"
    assert judgement.figures["hold_s"] == 99.0


def test_a_load_that_follows_within_fifteen_seconds_passes_and_one_second_later_fails() -> None:
    reference = cycle(*[135.0] * 250)
    in_time = cycle(*[133.9] * 15, *[135.0] * 235)
    late = cycle(*[133.9] * 16, *[135.0] * 234)

    passed = judge(saturated(reference, in_time), PROGRAMME)
    failed = judge(saturated(reference, late), PROGRAMME)

    assert (passed.verdict, passed.figures["equilibration_s"]) == ("pass", 15.0)
    assert (failed.verdict, failed.figures["equilibration_s"]) == ("fail", 16.0)
    assert "equilibration-slow" in codes(failed)


def test_a_chamber_that_hovers_while_the_load_lags_is_timed_from_its_first_touch() -> None:
    reference = cycle(134.0, 133.9, *[134.0, 133.9] * 10, *[135.0] * 200)
    load = cycle(*[132.0] * 22, *[135.0] * 200)

    judgement = judge(saturated(reference, load), PROGRAMME)

    assert judgement.figures["equilibration_s"] == 22.0
    assert judgement.verdict == "fail"


def test_the_approach_after_a_dip_is_timed_by_itself() -> None:
    reference = cycle(*[135.0] * 300)
    load = cycle(*[133.0] * 40, *[135.0] * 30, *[133.0] * 5, *[135.0] * 225)

    judgement = judge(saturated(reference, load), PROGRAMME)

    assert judgement.figures["equilibration_s"] == 5.0
    assert judgement.verdict == "pass"


def test_probes_two_kelvin_apart_pass_and_a_little_more_fails() -> None:
    reference = cycle(*[134.2] * 200)

    passed = judge(saturated(reference, cycle(*[136.2] * 200)), PROGRAMME)
    failed = judge(saturated(reference, cycle(*[136.21] * 200)), PROGRAMME)

    assert passed.verdict == "pass"
    assert failed.verdict == "fail"
    assert "2.01 K apart" in reason(failed, "spread-wide").says


def test_one_probe_still_reaches_a_verdict_and_says_what_was_not_measured() -> None:
    judgement = judge(saturated(cycle(*[135.0] * 200)), PROGRAMME)

    assert judgement.verdict == "pass"
    assert reason(judgement, "not-measured").spoils == "pass"
    assert judgement.figures["equilibration_s"] is None
    assert judgement.figures["spread_max_k"] is None


def test_never_all_in_the_band_at_once_is_said_as_that() -> None:
    judgement = judge(saturated(cycle(*[135.0] * 50), cycle(*[133.0] * 50)), PROGRAMME)

    assert judgement.reasons[0].says == "At no moment were all probes between 134 and 137 °C."


def test_theory_is_held_against_the_reference_probe_alone() -> None:
    reference, load = cycle(*[135.0] * 200), cycle(*[136.5] * 200)

    judgement = judge(saturated(reference, load), PROGRAMME)

    assert judgement.figures["theory_gap_max_k"] == pytest.approx(0, abs=1e-6)


# --- uncertainty -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ([134.2] * 200, "surely was in the band for 0 s"),
        ([*[135.0] * 200, 136.8], "may have been above 137 °C"),
    ],
)
def test_what_passes_only_with_a_perfect_sensor_is_undecided(
    values: list[float], said: str
) -> None:
    judgement = judge(saturated(cycle(*values)), PROGRAMME, uncertainty_k=0.5)

    assert judgement.verdict == "undecided"
    assert said in reason(judgement, "within-uncertainty").says


def test_an_uncertainty_as_wide_as_the_band_decides_nothing() -> None:
    judgement = judge(saturated(cycle(*[135.5] * 200)), PROGRAMME, uncertainty_k=2)

    assert judgement.verdict == "undecided"
    assert "nothing is left" in reason(judgement, "within-uncertainty").says


def test_the_guarded_edge_itself_passes() -> None:
    judgement = judge(saturated(cycle(*[134.3] * 200)), PROGRAMME, uncertainty_k=0.3)

    assert judgement.verdict == "pass"


def test_a_failure_stays_a_failure_with_any_uncertainty() -> None:
    judgement = judge(saturated(cycle(*[133.9] * 200)), PROGRAMME, uncertainty_k=0.5)

    assert judgement.verdict == "fail"
    assert "within-uncertainty" not in codes(judgement)


# --- laws ------------------------------------------------------------------------------------

WEIGHT = {"fail": 0, "undecided": 1, "pass": 2}
logs = st.lists(
    st.tuples(st.sampled_from([133.0, 134.0, 135.0, 136.5, 137.2]), st.integers(1, 120)),
    min_size=1,
    max_size=6,
).map(lambda parts: cycle(*[value for value, count in parts for _ in range(count)]))
few = settings(max_examples=60, deadline=None)


@few
@given(logs, st.integers(0, 200))
def test_a_longer_clean_hold_never_makes_a_verdict_worse(celsius: list[float], more: int) -> None:
    before = judge(saturated(celsius), PROGRAMME)
    start = before.figures["hold_start_s"]
    assume(start is not None)
    at = int(start or 0)

    longer = [*celsius[:at], *[celsius[at]] * more, *celsius[at:]]

    assert WEIGHT[judge(saturated(longer), PROGRAMME).verdict] >= WEIGHT[before.verdict]


@few
@given(logs, st.integers(-100_000, 100_000))
def test_a_log_that_starts_at_another_time_is_judged_the_same(
    celsius: list[float], shift: int
) -> None:
    trace = saturated(celsius)
    later = replace(trace, seconds=[at + shift for at in trace.seconds])

    before, after = judge(trace, PROGRAMME), judge(later, PROGRAMME)

    assert after.verdict == before.verdict
    assert codes(after) == codes(before)
    assert {**after.figures, "hold_start_s": None} == {**before.figures, "hold_start_s": None}


@few
@given(st.lists(st.sampled_from([133.9, 134.0, 135.0, 137.0, 137.1]), min_size=2, max_size=60))
def test_the_hold_is_what_a_slow_obvious_search_finds(celsius: list[float]) -> None:
    stretches = [
        last - first
        for first in range(len(celsius))
        for last in range(first, len(celsius))
        if all(134 <= value <= 137 for value in celsius[first : last + 1])
    ]

    assert judge(saturated(celsius), PROGRAMME).figures["hold_s"] == max(stretches, default=0)


@few
@given(logs, st.floats(0.01, 1.4))
def test_doubt_about_the_sensor_never_turns_anything_into_a_pass(
    celsius: list[float], uncertainty: float
) -> None:
    plain = judge(saturated(celsius), PROGRAMME)
    unsure = judge(saturated(celsius), PROGRAMME, uncertainty_k=uncertainty)

    assert WEIGHT[unsure.verdict] <= WEIGHT[plain.verdict]
    assert (unsure.verdict == "fail") == (plain.verdict == "fail")


@few
@given(logs)
def test_a_second_probe_that_reads_the_same_changes_no_verdict(celsius: list[float]) -> None:
    one, two = saturated(celsius), saturated(celsius, celsius)

    assert judge(one, PROGRAMME).verdict == judge(two, PROGRAMME).verdict


def test_an_hour_at_a_reading_a_second_is_judged_in_milliseconds() -> None:
    trace = saturated(cycle(*[135.0] * 300, *[120.0] * 3292))
    fastest = 1.0

    for _ in range(5):
        before = time.perf_counter()
        judge(trace, PROGRAMME)
        fastest = min(fastest, time.perf_counter() - before)

    print(f"judged {len(trace.seconds)} readings in {fastest * 1000:.1f} ms")
    assert fastest < 0.05
