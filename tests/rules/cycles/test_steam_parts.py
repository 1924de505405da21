"""The stages of a steam cycle: found in its log, corrected by hand, never to its advantage."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.logs.plain import Trace
from equip.rules.cycles.boundaries import BadBoundary, Boundaries, as_boundaries, read_boundaries
from equip.rules.cycles.heat import saturation_kpa
from equip.rules.cycles.steam import parts as steam_parts
from equip.rules.cycles.steam.judge import Judgement, judge
from equip.rules.cycles.steam.log import MachineStages, Seen, look
from tests.rules.cycles.test_steam_stages import LIMITS, PROGRAMME, cycle, judged, says

TURN_KPA = 10.0


def seen(trace: Trace) -> Seen:
    return look(trace, PROGRAMME)


def by_hand(
    trace: Trace,
    limits: MachineStages = LIMITS,
    *,
    air: float | None = None,
    dry: float | None = None,
) -> Judgement:
    return judge(trace, replace(PROGRAMME, stages=limits), corrected=Boundaries(air, dry))


def against(trace: Trace, *, air: float | None = None, dry: float | None = None) -> str:
    return " ".join(steam_parts.why_not(seen(trace), Boundaries(air, dry), PROGRAMME.low_c))


# Readings of `cycle(10, 10, 10, dry=8)`: 15 of pulses (0 to 14 s), 181 of the hold (15 to 195 s),
# 150 kPa at 196 s, 60 at 197 s, 8 at 198 and 199 s.
GOOD = cycle(10.0, 10.0, 10.0, dry=8.0)

# --- found ------------------------------------------------------------------------------------


def test_the_stages_lie_between_the_last_trough_the_band_and_the_pressure_of_the_air() -> None:
    found = steam_parts.boundaries(seen(GOOD), PROGRAMME.low_c, TURN_KPA)
    parts = steam_parts.parts(seen(GOOD), found)

    assert found == Boundaries(air_removal_ends_s=12.0, drying_begins_s=197.0)
    assert [(one.name, one.from_s, one.to_s) for one in parts] == [
        ("air removal", 0.0, 12.0),
        ("heating", 12.0, 15.0),
        ("holding", 15.0, 195.0),
        ("venting", 195.0, 197.0),
        ("drying", 197.0, 199.0),
    ]
    assert parts[2].celsius == (135.0, 135.0)
    assert parts[4].kpa == (8.0, 60.0)


def test_where_nothing_was_evacuated_the_cycle_begins_with_its_heating() -> None:
    kpa = [101.0, 150.0, 145.0, 200.0, *[saturation_kpa(135.0)] * 181, 150.0, 101.0, 100.0]
    celsius = [20.0, 110.0, 110.0, 120.0, *[135.0] * 181, 110.0, 100.0, 99.0]
    gravity = seen(Trace([float(at) for at in range(len(kpa))], (celsius,), kpa))

    found = steam_parts.boundaries(gravity, PROGRAMME.low_c, TURN_KPA)

    assert found.air_removal_ends_s is None
    assert [one.name for one in steam_parts.parts(gravity, found)] == [
        "heating",
        "holding",
        "venting",
        "drying",
    ]


def test_without_pressure_only_before_at_and_after_the_holding_time_are_told_apart() -> None:
    bare = seen(replace(GOOD, kpa=None))

    parts = steam_parts.parts(bare, steam_parts.boundaries(bare, PROGRAMME.low_c, TURN_KPA))

    assert [one.name for one in parts] == [
        "before the holding time",
        "holding",
        "after the holding time",
    ]
    assert {one.kpa for one in parts} == {None}


def test_without_a_holding_time_there_are_no_stages() -> None:
    cold = seen(Trace([0.0, 1.0], ([100.0, 101.0],), [100.0, 100.0]))

    assert steam_parts.parts(cold, steam_parts.boundaries(cold, 134.0, TURN_KPA)) == []


# --- what the log says against a correction ---------------------------------------------------


@pytest.mark.parametrize(
    ("wanted", "why"),
    [
        ({"air": 15.0}, "the holding time began at 15 s"),
        ({"air": 198.0}, "the holding time began at 15 s"),
        ({"air": 0.0}, "The log runs from 0 s to 3 min 19 s"),
        ({"dry": 200.0}, "the beginning of the drying cannot be at 3 min 20 s"),
        ({"dry": 5.0}, "at 3 min 15 s the chamber was still at 135 °C"),
        ({"dry": 195.0}, "at 3 min 15 s the chamber was still at 135 °C"),
        ({"dry": 196.0}, "the chamber still held 150 kPa"),
        ({"air": 198.0, "dry": 3.0}, "the holding time began"),
    ],
)
def test_what_the_log_contradicts_is_refused_in_a_sentence(
    wanted: dict[str, float], why: str
) -> None:
    assert why in against(GOOD, **wanted)


@pytest.mark.parametrize("wanted", [{"air": 14.0}, {"dry": 197.0}, {"air": 7.5, "dry": 199.0}])
def test_what_the_log_allows_is_not_refused(wanted: dict[str, float]) -> None:
    assert against(GOOD, **wanted) == ""


def test_the_drying_cannot_begin_before_a_later_return_to_the_band() -> None:
    hot = [*[135.0] * 181, 130.0, 130.0, 134.5, 100.0, 90.0]
    kpa = [*map(saturation_kpa, hot[:-2]), 90.0, 8.0]
    trace = Trace([float(at) for at in range(len(hot))], (hot,), kpa)

    assert "at 3 min 03 s the chamber was still at 134.5 °C" in against(trace, dry=182.0)


def test_without_pressure_or_holding_time_there_is_nothing_to_correct() -> None:
    assert "no pressure" in against(replace(GOOD, kpa=None), dry=197.0)
    cold = Trace([0.0, 1.0], ([100.0, 101.0],), [100.0, 100.0])
    assert "no holding time" in against(cold, dry=1.0)


# --- what a correction does -------------------------------------------------------------------


def test_pulses_after_the_corrected_end_of_the_air_removal_do_not_count() -> None:
    judgement = by_hand(GOOD, air=10.0)

    assert judgement.verdict == "fail"
    assert says(judgement, "pulses-few") == (
        "Before 10 s, where its air removal ended as corrected by hand, it was evacuated to 12 kPa "
        "twice; the lowest was 10 kPa. This machine needs that 3 times."
    )


def test_a_vacuum_before_the_corrected_beginning_of_the_drying_does_not_count() -> None:
    rises = replace(GOOD, kpa=[*list(GOOD.kpa or ())[:-1], 50.0])

    assert judged(rises).verdict == "pass"
    judgement = by_hand(rises, dry=199.0)
    assert judgement.verdict == "fail"
    assert "From 3 min 19 s on, where its drying began as corrected by hand" in says(
        judgement, "drying-shallow"
    )


def test_even_a_boundary_that_should_have_been_refused_lends_no_vacuum_of_another_stage() -> None:
    """The pulses are no drying, and the drying is no pulse, wherever a boundary is set."""
    wet, one_short = cycle(10.0, 10.0, 10.0, dry=11.0), cycle(10.0, 10.0, dry=8.0)

    assert by_hand(wet, dry=3.0).reasons[0].code == "drying-shallow"
    assert by_hand(one_short, air=190.0).reasons[0].code == "pulses-few"
    assert by_hand(one_short, air=195.0, dry=0.0).verdict == "fail"


boundary = st.none() | st.floats(min_value=0, max_value=230)


@given(
    pulses=st.lists(st.sampled_from([8.0, 12.0, 13.0]), max_size=5),
    dry=st.none() | st.sampled_from([8.0, 10.0, 11.0]),
    air=boundary,
    begins=boundary,
    drying_s=st.sampled_from([None, 0.5, 1.0, 2.0]),
)
def test_no_correction_of_a_steam_cycle_ever_makes_its_verdict_better(
    pulses: list[float],
    dry: float | None,
    air: float | None,
    begins: float | None,
    drying_s: float | None,
) -> None:
    """Allowed by the log or not: whatever is corrected can only leave readings out."""
    trace, limits = cycle(*pulses, dry=dry), replace(LIMITS, drying_s=drying_s)

    found, corrected = judged(trace, limits), by_hand(trace, limits, air=air, dry=begins)

    if found.verdict != "pass":
        assert corrected.verdict != "pass"
    kept = ("hold_s", "hold_min_c", "hold_max_c", "theory_gap_max_k", "f0_min", "samples")
    assert [found.figures[name] for name in kept] == [corrected.figures[name] for name in kept]


# --- how long it dries ------------------------------------------------------------------------


def dried(*kpa: float, drying_s: float = 4.0, step: float = 1.0) -> Judgement:
    """A cycle that passes but for its drying, of those pressures a second apart."""
    before = list(cycle(10.0, 10.0, 10.0, dry=None).kpa or ())
    celsius = [*[80.0] * 15, *[135.0] * 181, *[90.0] * len(kpa)]
    seconds = [float(at) for at in range(len(before))]
    seconds += [seconds[-1] + step * (index + 1) for index in range(len(kpa))]
    limits = replace(LIMITS, drying_s=drying_s)
    return judged(Trace(seconds, (celsius,), [*before, *kpa]), limits)


def test_a_drying_exactly_as_long_as_the_machine_needs_passes() -> None:
    judgement = dried(60.0, 10.0, 10.0, 10.0, 10.0, 10.0, 50.0)

    assert judgement.verdict == "pass"
    assert judgement.figures["drying_held_s"] == 4.0


def test_a_drying_in_two_pieces_does_not_add_up() -> None:
    judgement = dried(60.0, 9.0, 9.0, 9.0, 10.1, 9.0, 9.0, 9.0, 50.0)

    assert judgement.verdict == "fail"
    assert says(judgement, "drying-short") == (
        "It dried at 10 kPa or less for 2 s in one piece, until 3 min 19 s; this machine dries so "
        "for 4 s."
    )


def test_a_log_that_ends_while_it_dries_leaves_it_undecided() -> None:
    judgement = dried(60.0, 9.0, 9.0, 9.0)

    assert judgement.verdict == "undecided"
    assert judgement.reasons[0].code == "drying-cut-off"


def test_a_drying_that_is_long_only_across_a_hole_of_the_log_is_undecided() -> None:
    judgement = dried(9.0, 9.0, 50.0, step=11.0)

    assert judgement.verdict == "undecided"
    assert judgement.reasons[0].code == "hole-in-drying"


# --- what is not known ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limits", "unknown"),
    [
        (MachineStages(), "pulses and drying are"),
        (MachineStages(drying_kpa=10.0), "pulses are"),
        (MachineStages(pulses=3, vacuum_kpa=12.0), "drying is"),
    ],
)
def test_a_limit_that_is_not_known_is_only_remarked_upon(
    limits: MachineStages, unknown: str
) -> None:
    judgement = judged(GOOD, limits)

    assert judgement.verdict == "pass"
    assert f"the machine's own {unknown} not known" in says(judgement, "machine-limits-not-known")


def test_without_a_machine_nothing_is_said_of_its_limits() -> None:
    codes = [reason.code for reason in judged(GOOD, None).reasons]

    assert codes == ["not-measured"]


# --- reading ----------------------------------------------------------------------------------


def test_boundaries_are_read_as_seconds_and_an_empty_one_is_left_out() -> None:
    read = read_boundaries({"air-removal-ends": " 260.50 ", "drying-begins": ""})

    assert read == {"air-removal-ends": "260.5"}
    assert as_boundaries(read) == Boundaries(air_removal_ends_s=260.5)


@pytest.mark.parametrize("text", ["21:20", "-1", "nan", "1e999", "1_000", "٣", "9" * 30, "inf"])
def test_a_text_that_is_no_moment_of_a_log_is_refused(text: str) -> None:
    with pytest.raises(BadBoundary, match="beginning of the drying"):
        read_boundaries({"drying-begins": text})


def test_a_boundary_that_nothing_has_is_refused() -> None:
    with pytest.raises(BadBoundary, match="no boundary"):
        read_boundaries({"hold-ends": "3"})


@given(st.decimals(min_value=0, max_value=86_400, places=3))
def test_what_was_read_is_read_the_same_again(seconds: object) -> None:
    once = read_boundaries({"drying-begins": str(seconds)})

    assert read_boundaries(once) == once
    assert as_boundaries(once).drying_begins_s == pytest.approx(float(str(seconds)))
