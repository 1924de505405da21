"""Logs of cycles that never ran: saturated steam and hot water, with a fault on request.

For the demonstration and for tests. Nothing here stands for a real machine.
"""

from random import Random

from equip.rules.cycles.heat import saturation_kpa

_AMBIENT_KPA = 101.3


def steam_log(
    seed: int,
    *,
    plateau_c: float = 134.8,
    hold_s: int = 215,
    every_s: int = 2,
    air_k: float = 0.0,
    heat_s: int = 200,
) -> bytes:
    """A plain log (seconds, °C, absolute kPa) of one cycle with air removal and drying.

    *air_k* is how far the chamber stays behind the steam temperature of its pressure, in
    kelvin: more than 2 is air that was not removed. *heat_s* is how long it heats up.
    """
    random = Random(seed)
    lines = ["seconds,celsius,kpa"]
    second = 0
    for celsius, kpa in _stages(plateau_c, hold_s, every_s, air_k, heat_s):
        noise, swing = random.gauss(0, 0.05), random.gauss(0, 0.15)
        lines.append(f"{second},{celsius + noise:.2f},{max(kpa + swing, 2.0):.2f}")
        second += every_s
    return ("\n".join(lines) + "\n").encode("ascii")


def washer_log(seed: int, *, plateau_c: float = 91.0, hold_s: int = 300, every_s: int = 5) -> bytes:
    """A plain log (seconds, °C) of one washer's cycle: rinse, wash, rinse, hot water, drying air.

    With *hold_s* of 30 or so it does not reach an A0 of 3000.
    """
    random = Random(seed)
    lines = ["seconds,celsius"]
    second, at = 0, 16.0
    for seconds, to in (
        (180, 24.0),
        (60, 18.0),
        (300, 58.0),
        (240, 61.0),
        (120, 34.0),
        (150, 40.0),
        (360, plateau_c),
        (hold_s, plateau_c),
        (240, 66.0),
        (600, 96.0),
        (420, 48.0),
    ):
        steps = max(seconds // every_s, 1)
        for step in range(steps):
            celsius = at + (to - at) * step / steps + random.gauss(0, 0.08)
            lines.append(f"{second},{celsius:.2f}")
            second += every_s
        at = to
    return ("\n".join(lines) + "\n").encode("ascii")


def _stages(
    plateau_c: float, hold_s: int, every_s: int, air_k: float, heat_s: int
) -> list[tuple[float, float]]:
    """°C and kPa at each sample: three pulses, heating, the hold, venting, drying."""
    made: list[tuple[float, float]] = []

    def ramp(seconds: int, start: tuple[float, float], end: tuple[float, float]) -> None:
        steps = max(seconds // every_s, 1)
        for step in range(steps):
            share = step / steps
            made.append(
                (
                    start[0] + (end[0] - start[0]) * share,
                    start[1] + (end[1] - start[1]) * share,
                )
            )

    low, high = (58.0, 12.0), (104.0, 118.0)
    ramp(90, (28.0, _AMBIENT_KPA), low)
    for _ in range(3):
        ramp(60, low, high)
        ramp(70, high, low)
    start = 60.0
    steps = heat_s // every_s
    for step in range(steps):
        celsius = start + (plateau_c - start) * (1 - (1 - step / steps) ** 2)
        made.append((celsius, saturation_kpa(celsius + air_k)))
    made += [(plateau_c, saturation_kpa(plateau_c + air_k))] * (hold_s // every_s + 1)
    ramp(60, (plateau_c, saturation_kpa(plateau_c)), (103.0, 112.0))
    ramp(90, (103.0, 112.0), (88.0, 9.0))
    ramp(240, (88.0, 9.0), (74.0, 6.0))
    ramp(40, (74.0, 6.0), (70.0, _AMBIENT_KPA))
    return made
