"""The stages of a cycle: found where they were put, wherever the clock of the log starts."""

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip import rulebook
from equip.demo.cycles import steam_log
from equip.logs.plain import Trace, read_file, read_plain
from equip.rulebook.cycles import profile
from equip.rules.cycles.heat import saturation_kpa
from equip.rules.cycles.measured_stages import SIZE_FIGURES, Profile

RULES = rulebook.load("england").on(date(2026, 3, 4))
CYCLES = Path(__file__).parents[2] / "published" / "cycles"
AIR = 101.3


def steam(
    *vacuums: float,
    heat_s: int = 100,
    hold_s: int = 200,
    dry_s: int = 120,
    idle_s: int = 30,
) -> Trace:
    """A cycle at a reading a second whose stages are as long as told; vacuums last 20 s each."""
    rows: list[tuple[float, float]] = [(30.0, AIR)] * idle_s
    for low in vacuums:
        rows += [(60.0, low)] * 20
        rows += [(95.0, 120.0)] * 10
    rows = rows[:-10] if vacuums else rows
    start = 60.0 if vacuums else 30.0
    heats = [start + (134.5 - start) * step / heat_s for step in range(1, heat_s + 1)]
    rows += [(celsius, saturation_kpa(celsius) if vacuums else 250.0) for celsius in heats]
    rows += [(134.5, saturation_kpa(134.5))] * hold_s
    rows += [(105.0, 105.0)] * 10 + [(80.0, 7.0)] * dry_s + [(70.0, AIR)] * 20
    seconds = [float(at) for at in range(len(rows))]
    return Trace(seconds, ([row[0] for row in rows],), [row[1] for row in rows])


def of(trace: Trace, programme: str = "steam-134") -> Profile:
    return profile(RULES, programme, trace)


def test_each_stage_is_found_as_long_and_as_deep_as_it_was_made() -> None:
    found = of(steam(12.0, 9.0, 8.0, hold_s=200, dry_s=120)).figures

    assert found["pulses"] == 3
    assert [found[f"vacuum_{n}_kpa"] for n in (1, 2, 3)] == [12.0, 9.0, 8.0]
    assert found["drying_s"] == 119
    assert found["drying_min_kpa"] == 7.0
    assert found["venting_s"] == 1
    assert found["hold_min_c"] == found["hold_max_c"] == 134.5
    assert found["theory_gap_k"] == pytest.approx(0.0, abs=1e-3)


def test_a_vacuum_that_lasts_longer_belongs_to_the_air_removal_and_not_to_the_heating() -> None:
    """Where a flat vacuum was lowest is chance; that the pressure rises again is not."""
    short = of(steam(9.0, 8.0)).figures
    trace = steam(9.0, 8.0)
    at = next(i for i, kpa in enumerate(trace.kpa or ()) if kpa == 8.0) + 5
    longer = Trace(
        [float(i) for i in range(len(trace.seconds) + 40)],
        ([*trace.probes[0][:at], *[60.0] * 40, *trace.probes[0][at:]],),
        [*(trace.kpa or ())[:at], *[8.5] * 40, *(trace.kpa or ())[at:]],
    )

    found = of(longer).figures

    assert found["heat_up_s"] == short["heat_up_s"]
    assert found["air_removal_s"] == short["air_removal_s"] + 40


def test_a_longer_heating_is_longer_by_what_was_added() -> None:
    assert of(steam(9.0, heat_s=200)).figures["heat_up_s"] == pytest.approx(
        2 * of(steam(9.0, heat_s=100)).figures["heat_up_s"], abs=3
    )


def test_a_cycle_without_a_pulse_counts_its_heating_from_the_last_cool_reading() -> None:
    found = of(steam(heat_s=209)).figures  # half a kelvin a second from 30 to 134.5 °C

    assert found["pulses"] == 0
    assert "air_removal_s" not in found
    assert found["heat_up_s"] == 68  # from 100 to 134 °C


def test_a_wobble_is_no_pulse() -> None:
    trace = steam(9.0, 8.0)
    wobbling = [kpa + (4.0 if i % 3 else -4.0) for i, kpa in enumerate(trace.kpa or ())]

    assert of(Trace(trace.seconds, trace.probes, wobbling)).figures["pulses"] == 2


def test_a_log_without_pressure_still_tells_heating_and_holding() -> None:
    trace = steam(9.0, 8.0)

    found = of(Trace(trace.seconds, trace.probes)).figures

    assert {"heat_up_s", "hold_s", "hold_min_c"} <= set(found)
    assert not {"pulses", "venting_s", "drying_s", "theory_gap_k"} & set(found)


def test_a_cycle_that_never_held_has_no_figures() -> None:
    trace = Trace([0.0, 1.0, 2.0], ([20.0, 30.0, 40.0],), [AIR, AIR, AIR])

    assert of(trace).figures == {}
    assert of(trace).size_figures == dict.fromkeys(SIZE_FIGURES)


@given(st.integers(-5000, 90_000), st.integers(0, 300), st.integers(1, 5))
def test_when_the_log_starts_changes_no_figure(shift: int, idle_s: int, pulses: int) -> None:
    """Neither another clock nor a longer wait with the door shut."""
    vacuums = [8.0 + n for n in range(pulses)]
    plain = of(steam(*vacuums))
    trace = steam(*vacuums, idle_s=30 + idle_s)
    moved = Trace([at + shift for at in trace.seconds], trace.probes, trace.kpa)

    assert of(moved).figures == plain.figures


def test_the_figures_of_the_invented_cycles_hardly_vary_from_one_to_the_next() -> None:
    heats = [of(read_plain(steam_log(seed))).figures["heat_up_s"] for seed in range(12)]

    assert max(heats) - min(heats) <= 8


# --- hot water --------------------------------------------------------------------------------


def test_a_washers_stages_are_found_by_its_falls() -> None:
    found = of(read_file(CYCLES / "washer-90.csv"), "thermal-a0-600").figures

    assert found["stages"] == 3
    assert (found["stage_1_c"], found["stage_2_c"], found["stage_3_c"]) == (60.97, 91.25, 95.07)
    assert "stage_1_s" not in found  # it begins with the log: nobody knows how long it was
    assert found["a0_s"] == pytest.approx(1938.649302, abs=1e-6)
    assert found["drying_s"] == found["stage_3_s"]


def test_a_rinse_that_waits_before_it_is_heated_does_not_lengthen_the_heating() -> None:
    def washer(wait_s: int) -> Trace:
        celsius = [*[60.0] * 60, *[40.0] * (60 + wait_s)]
        celsius += [40.0 + step / 4 for step in range(201)] + [90.0] * 90 + [60.0] * 30
        return Trace([float(at) for at in range(len(celsius))], (celsius,))

    found = [of(washer(wait), "thermal-a0-600").figures["heat_up_s"] for wait in (0, 300)]

    assert found == [184, 184]  # 42 to 88 °C at a quarter of a kelvin a second
