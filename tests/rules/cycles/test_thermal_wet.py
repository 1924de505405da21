"""Where a washer's drying begins, said by hand: what it does to the A0, and what is refused."""

from dataclasses import replace
from itertools import accumulate

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from equip.logs.plain import Trace
from equip.rules.cycles.boundaries import Boundaries
from equip.rules.cycles.washer import wet as washer_wet
from equip.rules.cycles.washer.judge import Judgement, judge
from equip.rules.cycles.washer.log import look
from tests.rules.cycles.test_thermal import PROGRAMME, line, reason, trace, washer

GOOD = trace(washer())
# The stage that counts: out of the cold at 12 min, hottest from 18 to 20 min, left at 21 min 20 s;
# drained to 72 °C at 25 min, dried at 96 °C from 31 min on.
FOUND = 1280.0


def by_hand(log: Trace, begins: float | None) -> Judgement:
    return judge(log, PROGRAMME, corrected=Boundaries(drying_begins_s=begins))


def against(log: Trace, begins: float) -> str:
    wanted = Boundaries(drying_begins_s=begins)
    return " ".join(washer_wet.why_not(look(log, PROGRAMME), wanted, PROGRAMME))


def test_the_drying_is_found_where_the_stage_that_counts_was_left() -> None:
    assert washer_wet.boundaries(look(GOOD, PROGRAMME)) == Boundaries(drying_begins_s=FOUND)


def test_the_second_that_the_log_itself_shows_changes_no_figure_but_those_of_the_drying() -> None:
    """By hand it lasts to the end of the log, 44 min; as found from 25 min to 41 min 15 s."""
    by_log, typed = judge(GOOD, PROGRAMME), by_hand(GOOD, FOUND)
    apart = {"a0_left_out_s": 0, "drying_s": 0}

    assert {**typed.figures, **apart} == {**by_log.figures, **apart}
    assert typed.figures["a0_left_out_s"] > by_log.figures["a0_left_out_s"]
    assert (by_log.figures["drying_s"], typed.figures["drying_s"]) == (
        2475 - 1500,
        2640 - FOUND,
    )
    assert typed.verdict == by_log.verdict == "pass"


def test_an_earlier_beginning_of_the_drying_leaves_out_what_came_after_it() -> None:
    earlier = by_hand(GOOD, 1170.0)

    assert earlier.figures["a0_s"] < judge(GOOD, PROGRAMME).figures["a0_s"]
    assert reason(earlier, "drying-left-out").says.startswith(
        "From 19 min 30 s on, where its drying begins as corrected by hand, an A0 of "
    )


@pytest.mark.parametrize(
    ("begins", "why"),
    [
        (0.0, "The log runs from 0 s"),
        (9999.0, "The log runs from 0 s"),
        (600.0, "it was still heating up, to 91 °C"),
        (1000.0, "it was still heating up, to 91 °C"),
        (1600.0, "it was still heating up, to 96 °C"),
        (2000.0, "as after a drain"),
        (2600.0, "as after a drain"),
    ],
)
def test_what_the_log_contradicts_is_refused_in_a_sentence(begins: float, why: str) -> None:
    assert why in against(GOOD, begins)


@pytest.mark.parametrize("begins", [1170.0, FOUND, 1400.0, 1500.0])
def test_what_the_log_allows_is_not_refused(begins: float) -> None:
    assert against(GOOD, begins) == ""


def test_water_is_not_hotter_than_it_boils() -> None:
    hot = trace(line((0, 20), (10, 104), (20, 104), (30, 20)))

    assert "water boils before that" in against(hot, 1500.0)


def test_a_washer_has_no_air_removal_to_correct() -> None:
    wanted = Boundaries(air_removal_ends_s=5.0)

    assert "no air removal" in washer_wet.why_not(look(GOOD, PROGRAMME), wanted, PROGRAMME)[0]


# A stage that rises while still warm: the log cannot show whether it was water or hot air.
UNCLEAR = trace(line((0, 40), (6, 62), (8, 62), (10, 54), (16, 91), (24, 91), (28, 45)))


def test_an_unclear_stage_counts_once_somebody_says_that_it_was_water() -> None:
    assert judge(UNCLEAR, PROGRAMME).verdict == "undecided"
    assert against(UNCLEAR, 1500.0) == ""
    assert by_hand(UNCLEAR, 1500.0).verdict == "pass"


def test_an_unclear_stage_counts_for_nothing_once_somebody_says_that_it_was_air() -> None:
    judgement = by_hand(UNCLEAR, 580.0)

    assert against(UNCLEAR, 580.0) == ""
    assert judgement.verdict == "fail"
    assert reason(judgement, "never-warm").says == (
        "Before the drying, from 9 min 40 s on by hand, it never reached 65 °C: the coldest probe "
        "was at 62 °C at most."
    )


def test_no_climb_is_half_water_and_half_air() -> None:
    assert "one climb is all water or all air" in against(UNCLEAR, 800.0)


def test_after_a_hot_wash_the_disinfection_counts_once_the_drying_is_known() -> None:
    hot_wash = trace(
        line((0, 20), (8, 70), (9, 70), (12, 40), (18, 91), (24, 91), (28, 60), (30, 40))
    )

    assert judge(hot_wash, PROGRAMME).verdict == "undecided"
    assert against(hot_wash, 1500.0) == ""
    judgement = by_hand(hot_wash, 1500.0)
    assert judgement.verdict == "pass"
    assert judgement.figures["hold_start_s"] > 720


turns = st.lists(st.tuples(st.integers(1, 8), st.integers(15, 104)), min_size=2, max_size=8)


def made(steps: list[tuple[int, int]]) -> Trace:
    at, points = 0.0, [(0.0, 20.0)]
    for minutes, celsius in steps:
        at += minutes
        points.append((at, float(celsius)))
    return trace(line(*points))


@given(steps=turns, share=st.floats(0, 1))
def test_an_earlier_beginning_never_adds_to_the_a0(
    steps: list[tuple[int, int]], share: float
) -> None:
    log = made(steps)
    seen = look(log, PROGRAMME)
    found = washer_wet.boundaries(seen).drying_begins_s
    assume(found is not None and seen.counted is not None)
    assert found is not None and seen.counted is not None
    begins = log.seconds[seen.counted.first] + share * (found - log.seconds[seen.counted.first])

    earlier, as_found = by_hand(log, begins).figures["a0_s"], judge(log, PROGRAMME).figures["a0_s"]

    assert earlier is not None and as_found is not None
    assert earlier <= as_found + 1e-6


@settings(max_examples=40)
@given(steps=turns)
def test_whatever_is_let_through_is_one_warm_stage_below_boiling_without_a_drain(
    steps: list[tuple[int, int]],
) -> None:
    log = made(steps)
    seen = look(log, PROGRAMME)
    for begins in range(20, 3600, 20):
        if washer_wet.why_not(seen, Boundaries(drying_begins_s=begins), PROGRAMME):
            continue
        counted = washer_wet.recut(seen, float(begins)).counted
        if counted is None:
            continue
        wet = list(seen.coldest[counted.first : counted.last + 1])
        assert log.seconds[counted.last] < begins
        assert max(wet) < 102
        assert not _drained(wet, PROGRAMME.stage_fall_k)


def _drained(wet: list[float], fall_k: float) -> bool:
    """The same as the rule asks, in one pass: a fall and after it a rise of more than *fall_k*."""
    tops = list(accumulate(wet, max))
    later = list(accumulate(reversed(wet), max))[::-1]
    return any(
        top - low > fall_k and after - low > fall_k
        for low, top, after in zip(wet, tops, later, strict=True)
    )


def test_a_pressure_column_or_an_uncertainty_makes_no_difference_to_what_is_corrected() -> None:
    with_kpa = replace(GOOD, kpa=[101.0] * len(GOOD.seconds))

    assert by_hand(with_kpa, 1170.0).figures == by_hand(GOOD, 1170.0).figures
