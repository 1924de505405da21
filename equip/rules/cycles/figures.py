"""The figures of a judgement: their names and units, and how a value is written for people."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure: its code in a judgement, its name, its unit."""

    code: str
    name: str
    unit: str = ""


FIGURES = (
    Figure("hold_s", "Holding time", "s"),
    Figure("hold_start_s", "Holding time began, after the start of the log", "s"),
    Figure("hold_min_c", "Lowest temperature in the holding time", "°C"),
    Figure("hold_max_c", "Highest temperature in the holding time", "°C"),
    Figure("equilibration_s", "Equilibration time", "s"),
    Figure("spread_max_k", "Widest spread between probes", "K"),
    Figure("theory_gap_min_k", "Saturation temperature less chamber, lowest", "K"),
    Figure("theory_gap_max_k", "Saturation temperature less chamber, highest", "K"),
    Figure("f0_min", "Lethality F0 of the whole cycle", "min"),
    Figure("f0_hold_min", "Lethality F0 of the holding time", "min"),
    Figure("a0_s", "Disinfection value A0", "s"),
    Figure("a0_left_out_s", "A0 left out, taken for the drying", "s"),
    Figure("log_kill_hold", "Powers of ten killed in the hold, as evidence beside F0"),
    Figure("pulses", "Pulses of the air removal"),
    Figure("drying_min_kpa", "Lowest pressure while drying", "kPa"),
    Figure("heat_up_s", "Heating, to the holding time", "s"),
    Figure("drying_s", "Drying", "s"),
    Figure("drying_held_s", "Time at the pressure that this machine dries at, in one piece", "s"),
    Figure("flush_found_c", "Temperature of the flush", "°C"),
    Figure("wash_found_c", "Temperature of the wash", "°C"),
    Figure("samples", "Readings in the log"),
    Figure("largest_gap_s", "Longest time between two readings", "s"),
    Figure("lowest_c", "Lowest temperature, as typed", "°C"),
    Figure("highest_c", "Highest temperature, as typed", "°C"),
    Figure("hold_min", "Holding time, as typed", "min"),
    Figure("disinfect_c", "Lowest temperature in the disinfection, as typed", "°C"),
    Figure("disinfect_min", "Time of the disinfection, as typed", "min"),
    Figure("a0_shown", "A0 that the machine shows, as typed", "s"),
    Figure("flush_c", "Hottest in the first flush, as typed", "°C"),
    Figure("wash_c", "Hottest in the wash, as typed", "°C"),
    Figure("soak_min", "Soaked, from the start to the end of the load", "min"),
    Figure("celsius", "Temperature of the solution, as typed", "°C"),
    Figure("day_of_use", "Day of use of the solution"),
    Figure("strip", "Test strip, as typed"),
    Figure("run_min", "Time the bath ran, as typed", "min"),
    Figure("bath_c", "Temperature of the bath, as typed", "°C"),
    Figure("detergent", "Detergent went in, as typed"),
    Figure("lot", "Detergent and its lot, as typed"),
    Figure("degassed", "Degassed today, as typed"),
    Figure("indicator", "Indicator, as typed"),
    Figure("completed", "Finished without a fault, as typed"),
)

_OF_WATER = {
    "hold_s": "Time from the floor of A0 up, in the stage that counts",
    "hold_start_s": "It began, after the start of the log",
    "hold_min_c": "Lowest temperature in that time",
    "hold_max_c": "Highest temperature in that time",
    "heat_up_s": "Heating, to the hottest of the water",
}
"""Hot water has no holding time: what its judgement gives in these is said as what it is."""


def shown(figures: Mapping[str, str]) -> list[tuple[str, str]]:
    """Name and value with its unit of each figure, in our order; unknown ones come last."""
    names = {one.code: one.name for one in FIGURES} | (_OF_WATER if "a0_s" in figures else {})
    named = [
        (names[one.code], value_of(figures[one.code], one.unit))
        for one in FIGURES
        if one.code in figures
    ]
    rest = [(c.replace("_", " "), value) for c, value in figures.items() if c not in names]
    return named + rest


def value_of(value: str, unit: str) -> str:
    """A value and its unit, to a thousandth; seconds as they are, for they are what is judged."""
    whole, _, parts = value.partition(".")
    if unit != "s" and len(parts) > 3 and parts.isdecimal() and whole.lstrip("-").isdecimal():
        value = f"{float(value):.3f}"
    return f"{value.replace('-', '−')} {unit}" if unit else value
