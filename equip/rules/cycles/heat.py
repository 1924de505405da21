"""What heat does: the pressure of saturated steam, and the killing work of a temperature trace.

Sources: IAPWS R7-97(2012), the Industrial Formulation 1997 for water and steam, region 4, for
saturation; Ph. Eur. 5.1.5 (F0) and ISO 15883-1 Annex B (A0) for the lethal rate.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate, compress, pairwise
from operator import add, and_, lt, mul, sub

# The ten coefficients of region 4, IAPWS R7-97(2012), Table 34, in the release's own order.
_N1, _N2, _N3, _N4, _N5 = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
)
_N6, _N7, _N8, _N9, _N10 = (
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)

_ZERO_CELSIUS_K = 273.15
_COLDEST_C = 0.0
_HOTTEST_C = 647.096 - _ZERO_CELSIUS_K  # the critical point
LOWEST_KPA = 0.611213
"""Saturation pressure at 0 °C, the lowest that region 4 covers, in absolute kPa."""
ATMOSPHERE_KPA = (70.0, 106.0)
"""What the air weighs, from a mountain town to a high at sea level, in kPa."""
_HIGHEST_KPA = 22064.0
# Rounding in either direction may overshoot the ends of the range by this much of a pascal.
_ROUNDING_KPA = 1e-3

_TOO_HOT = "A temperature was read that is too hot for any steriliser: check the unit."


def saturation_kpa(celsius: float) -> float:
    """The absolute pressure in kPa at which steam of *celsius* is saturated.

    Raises ValueError outside 0 to 373.946 °C. Source: IAPWS R7-97(2012), equation 30.
    """
    if not _COLDEST_C <= celsius <= _HOTTEST_C:
        raise ValueError(
            f"{celsius:g} °C was read; saturated steam is known from 0 to 373.946 °C only."
        )
    kelvin = celsius + _ZERO_CELSIUS_K
    theta = kelvin + _N9 / (kelvin - _N10)
    a = theta * theta + _N1 * theta + _N2
    b = _N3 * theta * theta + _N4 * theta + _N5
    c = _N6 * theta * theta + _N7 * theta + _N8
    return 1000.0 * float((2.0 * c / (-b + math.sqrt(b * b - 4.0 * a * c))) ** 4)


def saturation_celsius(kpa: float) -> float:
    """The temperature in °C at which steam of *kpa*, absolute, is saturated.

    Raises ValueError outside 0.611213 to 22064 kPa. Source: IAPWS R7-97(2012), equation 31.
    """
    if not LOWEST_KPA - _ROUNDING_KPA <= kpa <= _HIGHEST_KPA + _ROUNDING_KPA:
        raise ValueError(
            f"{kpa:g} kPa was read; saturated steam is known from 0.611213 to 22064 kPa, "
            "absolute, only."
        )
    beta = (kpa / 1000.0) ** 0.25
    e = beta * beta + _N3 * beta + _N6
    f = _N1 * beta * beta + _N4 * beta + _N7
    g = _N2 * beta * beta + _N5 * beta + _N8
    d = 2.0 * g / (-f - math.sqrt(f * f - 4.0 * e * g))
    total = _N10 + d
    root = math.sqrt(total * total - 4.0 * (_N9 + _N10 * d))
    return float((total - root) / 2.0 - _ZERO_CELSIUS_K)


def equivalent_time(
    seconds: Sequence[float],
    celsius: Sequence[float],
    *,
    reference: float,
    z: float,
    floor: float | None = None,
) -> float:
    """Seconds at *reference* °C that do the same killing work as the whole trace.

    The trapezoid of the lethal rate. With a *floor*, a stretch counts only while the straight
    line between two readings lies on or above it, so it starts and ends where that line crosses.
    A trapezoid of a convex curve errs high, by about one per cent with readings 30 s apart on a
    steep ramp: this is evidence beside a holding time and never in place of one. Raises
    ValueError, with a sentence, for readings that make no trace.
    """
    _check_trace(seconds, celsius)
    if not (math.isfinite(reference) and math.isfinite(z) and z > 0):
        raise ValueError(
            f"A reference of {reference} °C with z of {z} K was read; "
            "both must be numbers, and z above nought."
        )
    if floor is not None:
        seconds, celsius = _cut_at(floor, seconds, celsius)
    return _trapezoid(seconds, celsius, reference, z, -math.inf if floor is None else floor)


def equivalent_times(
    seconds: Sequence[float],
    celsius: Sequence[float],
    *,
    reference: float,
    z: float,
    floor: float,
) -> list[float]:
    """What `equivalent_time` has come to at each reading, with the same meaning and refusals."""
    _check_trace(seconds, celsius)
    times, values = _cut_at(floor, seconds, celsius)
    steps = _steps(times, values, reference, z, floor)
    so_far = dict(zip(times, accumulate(steps, initial=0.0), strict=True))
    if not math.isfinite(so_far[seconds[-1]]):
        raise ValueError(_TOO_HOT)
    return [so_far[second] for second in seconds]


def time_above(seconds: Sequence[float], celsius: Sequence[float], floor: float) -> float:
    """Seconds in which the straight line between readings lies on or above *floor* °C."""
    _check_trace(seconds, celsius)
    seconds, celsius = _cut_at(floor, seconds, celsius)
    steps = zip(pairwise(seconds), pairwise(celsius), strict=True)
    return float(sum(t1 - t0 for (t0, t1), (c0, c1) in steps if c0 >= floor and c1 >= floor))


def _trapezoid(
    seconds: Sequence[float],
    celsius: Sequence[float],
    reference: float,
    z: float,
    floor: float,
) -> float:
    """The sum of all steps, at the speed of the interpreter's own loops: most cycles ask this."""
    rates = _rates(celsius, reference, z)
    steps: Iterable[float] = map(mul, map(sub, seconds[1:], seconds), map(add, rates, rates[1:]))
    if floor > -math.inf:
        above = [value >= floor for value in celsius]
        steps = compress(steps, map(and_, above, above[1:]))
    total = sum(steps) / 2
    if not math.isfinite(total):
        raise ValueError(_TOO_HOT)
    return float(total)


def _steps(
    seconds: Sequence[float],
    celsius: Sequence[float],
    reference: float,
    z: float,
    floor: float,
) -> Iterator[float]:
    """What each step from one reading to the next adds; nothing below *floor*."""
    rates = _rates(celsius, reference, z)
    steps = zip(pairwise(seconds), pairwise(celsius), pairwise(rates), strict=True)
    for (t0, t1), (c0, c1), (r0, r1) in steps:
        yield (t1 - t0) * (r0 + r1) / 2 if c0 >= floor and c1 >= floor else 0.0


def _rates(celsius: Sequence[float], reference: float, z: float) -> list[float]:
    try:
        return [10.0 ** ((value - reference) / z) for value in celsius]
    except OverflowError as fault:
        raise ValueError(_TOO_HOT) from fault


def _cut_at(
    floor: float, seconds: Sequence[float], celsius: Sequence[float]
) -> tuple[list[float], list[float]]:
    """The trace with a reading added at each moment its line crosses *floor*."""
    times, values = [seconds[0]], [celsius[0]]
    for (t0, t1), (c0, c1) in zip(pairwise(seconds), pairwise(celsius), strict=True):
        if min(c0, c1) < floor < max(c0, c1):
            times.append(t0 + (t1 - t0) * (floor - c0) / (c1 - c0))
            values.append(floor)
        times.append(t1)
        values.append(c1)
    return times, values


def _check_trace(seconds: Sequence[float], celsius: Sequence[float]) -> None:
    if len(seconds) != len(celsius):
        raise ValueError(
            f"{len(seconds)} times and {len(celsius)} temperatures were read; "
            "each reading needs both."
        )
    if len(seconds) < 2:
        raise ValueError("One reading or none was given; at least two are needed.")
    if not all(map(math.isfinite, seconds)) or not all(map(math.isfinite, celsius)):
        raise ValueError("A reading is not a finite number: leave it out or correct it.")
    if min(celsius) < -_ZERO_CELSIUS_K:
        raise ValueError(f"{min(celsius):g} °C was read, colder than anything: check the unit.")
    if all(map(lt, seconds, seconds[1:])):
        return
    for number, (before, after) in enumerate(pairwise(seconds), start=2):
        if not after > before:
            raise ValueError(
                f"Reading {number} is at {after:g} s, not after the one before at {before:g} s: "
                "put the readings in order of time, one for each moment."
            )
