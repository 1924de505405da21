"""Air removal and drying by a machine's own limits, and what stands beside a holding time."""

from dataclasses import replace

import pytest

from equip.logs.plain import Trace
from equip.rules.cycles.heat import saturation_kpa
from equip.rules.cycles.steam.judge import Judgement, SteamProgramme, judge
from equip.rules.cycles.steam.log import MachineStages

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
LIMITS = MachineStages(pulses=3, vacuum_kpa=12.0, steam_kpa=100.0, drying_kpa=10.0)


def cycle(*pulses: float, dry: float | None = 8.0, top: float = 110.0) -> Trace:
    """Pulses down to those pressures, a hold at 135 °C, and a drying down to *dry*."""
    before = [part for low in pulses for part in (60.0, low, low, 60.0, top)]
    after = [] if dry is None else [150.0, 60.0, dry, dry]
    kpa = [*before, *[saturation_kpa(135.0)] * 181, *after]
    celsius = [*[80.0] * len(before), *[135.0] * 181, *[80.0] * len(after)]
    return Trace([float(at) for at in range(len(kpa))], (celsius,), kpa)


def judged(trace: Trace, limits: MachineStages | None = LIMITS) -> Judgement:
    return judge(trace, replace(PROGRAMME, stages=limits))


def says(judgement: Judgement, code: str) -> str:
    return next(reason.says for reason in judgement.reasons if reason.code == code)


def test_a_cycle_within_its_machines_own_limits_passes_with_what_was_measured() -> None:
    judgement = judged(cycle(12.0, 11.0, 10.0, dry=10.0))

    assert judgement.verdict == "pass"
    assert (judgement.figures["pulses"], judgement.figures["drying_min_kpa"]) == (3, 10.0)


def test_a_pulse_that_is_too_shallow_is_none() -> None:
    judgement = judged(cycle(12.0, 12.1, 10.0))

    assert judgement.verdict == "fail"
    assert says(judgement, "pulses-few") == (
        "Before the holding time it was evacuated to 12 kPa twice; the lowest was 10 kPa. "
        "This machine needs that 3 times."
    )


def test_two_dips_without_steam_between_them_are_one_pulse() -> None:
    judgement = judged(cycle(10.0, 10.0, 10.0, top=99.0))

    assert judgement.figures["pulses"] == 1
    assert judgement.verdict == "fail"


def test_a_log_that_begins_with_the_holding_time_shows_no_pulse() -> None:
    judgement = judged(cycle())

    assert says(judgement, "pulses-few") == (
        "Before the holding time it was evacuated to 12 kPa not once. "
        "This machine needs that 3 times."
    )


def test_a_drying_that_is_too_shallow_fails() -> None:
    judgement = judged(cycle(10.0, 10.0, 10.0, dry=10.5))

    assert judgement.verdict == "fail"
    assert "fell to 10.5 kPa at the lowest; this machine dries at 10 kPa or less" in says(
        judgement, "drying-shallow"
    )


def test_a_drying_that_is_not_in_the_log_leaves_it_undecided() -> None:
    judgement = judged(cycle(10.0, 10.0, 10.0, dry=None))

    assert judgement.verdict == "undecided"
    assert judgement.reasons[0].code == "drying-not-in-log"


@pytest.mark.parametrize("limits", [None, MachineStages()])
def test_without_limits_of_the_machine_nothing_of_it_is_judged(
    limits: MachineStages | None,
) -> None:
    judgement = judged(cycle(50.0, dry=60.0), limits)

    assert judgement.verdict == "pass"
    assert "pulses" not in judgement.figures


def test_a_failed_hold_is_not_burdened_with_stages_around_it() -> None:
    cold = Trace([0.0, 1.0], ([100.0, 101.0],), [100.0, 100.0])

    assert [reason.code for reason in judged(cold).reasons] == ["never-in-band", "not-measured"]


# --- beside the holding time ------------------------------------------------------------------


# Source: closed form: 134 °C for 3 min is an F0 of 58.495 min; by D 1.5 min 38.997 decades.
def test_the_decades_of_kill_stand_beside_the_hold_where_a_d_value_is_given() -> None:
    kpa = [saturation_kpa(134.0)] * 181
    trace = Trace([float(at) for at in range(181)], ([134.0] * 181,), kpa)

    with_d = judge(trace, replace(PROGRAMME, spore_d_min=1.5))
    without = judge(trace, PROGRAMME)

    assert with_d.figures["log_kill_hold"] == pytest.approx(58.4953 / 1.5, abs=1e-3)
    assert "log_kill_hold" not in without.figures
    assert with_d.verdict == without.verdict == "pass"


def test_however_many_decades_pass_no_short_hold() -> None:
    trace = Trace([0.0, 60.0], ([136.0, 136.0],), [saturation_kpa(136.0)] * 2)

    assert judge(trace, replace(PROGRAMME, spore_d_min=0.01)).verdict != "pass"


def test_one_atmosphere_too_much_is_told_from_air_in_the_chamber() -> None:
    hot = [135.0] * 181
    kpa = [saturation_kpa(135.0) + 101.325] * 181

    judgement = judge(Trace([float(at) for at in range(181)], (hot,), kpa), PROGRAMME)

    assert judgement.verdict == "fail"
    assert "About one atmosphere is too much" in judgement.reasons[0].says
