"""The stages of a log by whatever family its programme belongs to."""

from equip.rulebook.book import Rules
from equip.rules import cycle_stages, steam_log, thermal, thermal_log
from equip.rules.cycle_stages import Profile
from equip.rules.stages import AS_FOUND, Boundaries
from equip.rules.thermal_wet import recut
from equip.traces import Trace


def profile(
    rules: Rules, programme: str, trace: Trace, corrected: Boundaries = AS_FOUND
) -> Profile:
    """The stages of *trace* by *programme* of *rules*; UnknownProgramme if there is none.

    A washer's drying begins where somebody *corrected* it to, as in its judgement.
    """
    if programme in rules.thermal_programmes():
        limits = rules.thermal_programme(programme)
        seen = recut(thermal_log.look(trace, limits), corrected.drying_begins_s)
        a0_s = thermal.a0_of(seen, seen.counted, limits)
        return cycle_stages.of_water(seen, limits.stage_swing_k, a0_s)
    band = rules.programme(programme)
    assert band.levels is not None  # noqa: S101 — a book always has them
    return cycle_stages.of_steam(steam_log.look(trace, band), band.levels)
