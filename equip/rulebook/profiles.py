"""The stages of a log by whatever family its programme belongs to."""

from equip.logs.plain import Trace
from equip.rulebook.book import Rules
from equip.rules.cycles import measured_stages
from equip.rules.cycles.boundaries import AS_FOUND, Boundaries
from equip.rules.cycles.measured_stages import Profile
from equip.rules.cycles.steam import log as steam_log
from equip.rules.cycles.washer import judge as washer
from equip.rules.cycles.washer import log as washer_log
from equip.rules.cycles.washer.wet import recut


def profile(
    rules: Rules, programme: str, trace: Trace, corrected: Boundaries = AS_FOUND
) -> Profile:
    """The stages of *trace* by *programme* of *rules*; UnknownProgramme if there is none.

    A washer's drying begins where somebody *corrected* it to, as in its judgement.
    """
    if programme in rules.thermal_programmes():
        limits = rules.thermal_programme(programme)
        seen = recut(washer_log.look(trace, limits), corrected.drying_begins_s)
        a0_s = washer.a0_of(seen, seen.counted, limits)
        return measured_stages.of_water(seen, limits.stage_swing_k, a0_s)
    band = rules.programme(programme)
    assert band.levels is not None  # noqa: S101 — a book always has them
    return measured_stages.of_steam(steam_log.look(trace, band), band.levels)
