"""Flush and wash of a washer: found as steady parts, judged only by the machine's own limits."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.logs.plain import Trace
from equip.rules.cycles.runs import Run
from equip.rules.cycles.washer import parts as washer_parts
from equip.rules.cycles.washer import wet as washer_wet
from equip.rules.cycles.washer.judge import Judgement, judge
from equip.rules.cycles.washer.log import WasherStages, look
from equip.rules.cycles.washer.own_limits import steady_runs
from tests.rules.cycles.test_thermal import PROGRAMME, line, reason, trace

STEADY = WasherStages(steady_k=3.0, steady_s=90.0)
# Values of a machine that there is not; flush under 35 °C and wash at 60 to 65 °C are taught
# (SHTM 2030).
LIMITS = replace(STEADY, flush_high_c=35.0, wash_low_c=55.0, wash_high_c=65.0)


def cycle(flush: float | None = 30.0, wash: float | None = 60.0) -> Trace:
    """A flush of 3 min, a wash of 4 min, a rinse at 40 °C, 5 min at 91 °C, and a drying."""
    points = [(0.0, 20.0)]
    if flush is not None:
        points += [(1.0, flush), (4.0, flush)]
    if wash is not None:
        points += [(9.0, wash), (13.0, wash)]
    points += [(15, 40), (21, 91), (26, 91), (31, 72), (37, 96), (47, 96), (50, 50)]
    return trace(line(*points))


def judged(log: Trace, limits: WasherStages | None = LIMITS) -> Judgement:
    return judge(log, replace(PROGRAMME, stages=limits))


def codes(judgement: Judgement) -> list[str]:
    return [one.code for one in judgement.reasons if one.spoils != "pass"]


def test_flush_and_wash_within_the_limits_pass_with_what_was_measured() -> None:
    judgement = judged(cycle())

    assert judgement.verdict == "pass"
    assert judgement.figures["flush_found_c"] == pytest.approx(30, abs=1)
    assert judgement.figures["wash_found_c"] == pytest.approx(60, abs=1)


@pytest.mark.parametrize(
    ("log", "code", "says"),
    [
        (cycle(wash=52.0), "wash-cold", "was at 52 °C; this machine washes at 55 to 65 °C."),
        (cycle(flush=44.0), "flush-warm", "was at 44 °C; this machine flushes at 35 °C or less"),
    ],
)
def test_a_stage_outside_its_limits_fails_and_says_what_was_measured(
    log: Trace, code: str, says: str
) -> None:
    judgement = judged(log)

    assert codes(judgement) == [code]
    assert says in reason(judgement, code).says


def test_a_wash_that_is_too_hot_fails() -> None:
    limits = replace(LIMITS, wash_high_c=58.0)

    assert codes(judged(cycle(), limits)) == ["wash-hot"]


@pytest.mark.parametrize("level", [55.0, 65.0])
def test_the_limits_of_the_wash_belong_to_its_band(level: float) -> None:
    programme = replace(PROGRAMME, stage_from_c=80.0, stages=LIMITS)

    assert judge(cycle(wash=level), programme).verdict == "pass"


@pytest.mark.parametrize(
    ("log", "limits", "code"),
    [
        (trace(line((0, 20), (6, 91), (11, 91), (16, 60))), LIMITS, "wash-not-found"),
        (cycle(flush=None), LIMITS, "flush-not-found"),
    ],
)
def test_what_the_log_does_not_show_leaves_it_undecided(
    log: Trace, limits: WasherStages, code: str
) -> None:
    judgement = judged(log, limits)

    assert judgement.verdict == "undecided"
    assert code in codes(judgement)


def test_a_limit_that_is_not_known_is_only_remarked_upon() -> None:
    judgement = judged(cycle(flush=44.0, wash=52.0), STEADY)

    assert judgement.verdict == "pass"
    assert "own limits for its flush and wash are not known" in (
        reason(judgement, "machine-limits-not-known").says
    )
    assert "wash_c" not in judgement.figures


def test_detergent_is_in_no_log_and_the_judgement_says_where_to_look() -> None:
    judgement = judged(cycle(), replace(LIMITS, dosing=True))

    assert judgement.verdict == "pass"
    assert "look at its own record" in reason(judgement, "dosing-not-in-log").says


def test_without_a_machine_nothing_is_said_of_flush_and_wash() -> None:
    assert [one.code for one in judged(cycle(wash=50.0), None).reasons] == [
        "drying-left-out",
        "not-measured",
    ]


def test_a_failed_disinfection_is_not_burdened_with_the_wash_before_it() -> None:
    cold = trace(line((0, 20), (6, 50), (10, 50), (12, 20)))

    assert codes(judged(cold)) == ["never-warm"]


def test_every_stage_of_the_cycle_is_shown_in_its_order() -> None:
    seen = look(cycle(), PROGRAMME)

    parts = washer_parts.parts(seen, PROGRAMME, STEADY, washer_wet.boundaries(seen))

    assert [one.name for one in parts] == ["flush", "wash", "rinse", "disinfection", "drying"]
    assert all(one.from_s < one.to_s for one in parts)
    assert [one.from_s for one in parts] == sorted(one.from_s for one in parts)
    assert parts[3].celsius == (40.0, 91.0)


@given(
    values=st.lists(st.integers(0, 12), min_size=2, max_size=40),
    steady_s=st.integers(2, 8),
)
def test_steady_parts_are_steady_long_enough_apart_and_none_is_missed(
    values: list[int], steady_s: int
) -> None:
    seconds = [float(at) for at in range(len(values))]

    runs = steady_runs(seconds, values, len(values), steady_s, 3.0)

    for run in runs:
        part = values[run.first : run.last + 1]
        assert max(part) - min(part) <= 3
        assert run.last - run.first >= steady_s
    ends = [-1, *(index for run in runs for index in (run.first, run.last)), len(values)]
    assert ends == sorted(ends)
    gaps = zip(ends[0::2], ends[1::2], strict=True)
    for before, after in gaps:
        for first in range(before + 1, after - steady_s):
            part = values[first : first + steady_s + 1]
            assert max(part) - min(part) > 3


def test_a_steady_part_is_not_looked_for_beyond_its_end() -> None:
    seconds = [float(at) for at in range(10)]

    assert steady_runs(seconds, [20.0] * 10, 6, 5.0, 3.0) == [Run(0, 5)]
    assert steady_runs(seconds, [20.0] * 10, 5, 5.0, 3.0) == []
