"""Washer cycles against published A0 figures, by the starter books.

`cycles/washer-90.csv` is invented and stands for no real machine. The targets are those of the
books, with their sources there.
"""

from datetime import date
from pathlib import Path

import pytest

from equip import rulebook
from equip.logs.plain import Trace, read_file
from equip.rulebook.cycles import judge
from equip.rules.verdict import Judgement

CYCLES = Path(__file__).parent / "cycles"
RULES = rulebook.load("england").on(date(2026, 1, 15))


def steady(celsius: float, seconds: int) -> Trace:
    """One probe at one reading a second, from the first to the last at one temperature."""
    return Trace([float(at) for at in range(seconds + 1)], ([celsius] * (seconds + 1),))


def judged(trace: Trace, target: int) -> Judgement:
    return judge(RULES, f"thermal-a0-{target}", trace)


# Source: the sample is computed: a little over a minute above 90 °C, then a drying of its own.
@pytest.mark.parametrize(
    ("target", "verdict", "why"),
    [
        (60, "pass", {"drying-left-out", "not-measured"}),
        (600, "pass", {"drying-left-out", "not-measured"}),
        (3000, "fail", {"a0-short", "drying-left-out", "not-measured"}),
    ],
)
def test_the_sample_washer_is_judged_without_its_drying(
    target: int, verdict: str, why: set[str]
) -> None:
    judgement = judged(read_file(CYCLES / "washer-90.csv"), target)

    assert judgement.verdict == verdict
    assert {reason.code for reason in judgement.reasons} == why


def test_with_its_drying_the_sample_washer_would_have_passed_what_it_must_not() -> None:
    figures = judged(read_file(CYCLES / "washer-90.csv"), 3000).figures

    assert figures["a0_s"] < 3000 < figures["a0_s"] + figures["a0_left_out_s"]


# Source: A0 pairs printed by WFHSS and EFHSS, and by the German Society of Hospital Hygiene (2012).
@pytest.mark.parametrize(
    ("celsius", "seconds", "target"),
    [(80, 600, 600), (90, 60, 600), (70, 6000, 600), (90, 300, 3000)],
)
def test_the_printed_pairs_reach_their_target_and_a_second_less_does_not(
    celsius: float, seconds: int, target: int
) -> None:
    enough, short = (judged(steady(celsius, s), target) for s in (seconds, seconds - 1))

    assert enough.figures["a0_s"] == pytest.approx(target, abs=0.01)
    assert (enough.verdict, short.verdict) == ("pass", "fail")


# Source: printed as equivalents of 600 (75 °C/30 min, 85 °C/3.1 min, 93 °C/0.5 min); computed.
@pytest.mark.parametrize(
    ("celsius", "seconds", "exact"), [(75, 1800, 569.2), (85, 186, 588.2), (93, 30, 598.6)]
)
def test_the_rounded_pairs_in_print_miss_the_target_they_are_printed_for(
    celsius: float, seconds: int, exact: float
) -> None:
    judgement = judged(steady(celsius, seconds), 600)

    assert judgement.figures["a0_s"] == pytest.approx(exact, abs=0.05)
    assert judgement.verdict == "fail"


# Source: closed form: seconds for an A0 of 600.
@pytest.mark.parametrize(("celsius", "seconds"), [(75, 1897.37), (85, 189.74), (93, 30.07)])
def test_the_exact_time_at_other_temperatures_passes(celsius: float, seconds: float) -> None:
    trace = Trace([0.0, seconds / 2, seconds], ([float(celsius)] * 3,))

    assert judged(trace, 600).figures["a0_s"] == pytest.approx(600, abs=0.1)
    assert judged(Trace([0.0, seconds + 0.01], ([float(celsius)] * 2,)), 600).verdict == "pass"


# Source: 93 °C/5 and /10 min, printed as 6 000 and 12 000; exact 5 985.8 and 11 971.6.
@pytest.mark.parametrize(("seconds", "exact"), [(300, 5985.8), (600, 11971.6)])
def test_the_a0_of_93_degrees_is_computed_and_not_looked_up(seconds: int, exact: float) -> None:
    assert judged(steady(93, seconds), 3000).figures["a0_s"] == pytest.approx(exact, abs=0.1)


# Source: closed form of a straight ramp, with and without a minute at its end.
def test_a_ramp_counts_from_the_floor_up() -> None:
    rise = [40 + 5 / 60 * at for at in range(601)]
    seconds = [float(at) for at in range(661)]

    ramp = judged(Trace(seconds[:601], (rise,)), 600)
    held = judged(Trace(seconds, ([*rise, *[90.0] * 60],)), 600)

    assert ramp.figures["a0_s"] == pytest.approx(519.505, abs=0.02)
    assert ramp.figures["hold_s"] == pytest.approx(300, abs=0.01)
    assert held.figures["a0_s"] == pytest.approx(1119.505, abs=0.02)
    assert (ramp.verdict, held.verdict) == ("fail", "pass")


# Source: ISO 15883-1 Annex B: only time at 65 °C or above counts (without it this were 1112.5).
def test_ten_hours_just_below_the_floor_are_worth_nothing() -> None:
    judgement = judged(Trace([float(at) for at in range(0, 36001, 30)], ([64.9] * 1201,)), 600)

    assert judgement.figures["a0_s"] == 0
    assert judgement.verdict == "fail"


# Source: WFHSS asks 600, the German society 3000, of the same instruments.
def test_a_minute_at_90_degrees_passes_one_policy_and_fails_the_other() -> None:
    minute = steady(90, 60)

    assert (judged(minute, 600).verdict, judged(minute, 3000).verdict) == ("pass", "fail")


# Source: HTM 2030 (1997, memory): 65 °C/10 min, 71 °C/3 min, 80 °C/1 min; A0 about 19, 23, 60.
@pytest.mark.parametrize(("celsius", "seconds", "a0"), [(65, 600, 19), (71, 180, 23), (80, 60, 60)])
def test_the_old_british_holds_are_far_below_600(celsius: float, seconds: int, a0: float) -> None:
    judgement = judged(steady(celsius, seconds), 600)

    assert judgement.figures["a0_s"] == pytest.approx(a0, abs=0.5)
    assert judgement.verdict == "fail"


# Source: closed form: half a kelvin moves an A0 by a factor of 1.122 (z = 10).
def test_half_a_kelvin_of_doubt_costs_eleven_per_cent() -> None:
    trace = steady(90, 67)

    assert judge(RULES, "thermal-a0-600", trace, uncertainty_k=0.4).verdict == "pass"
    assert judge(RULES, "thermal-a0-600", trace, uncertainty_k=0.5).verdict == "undecided"
