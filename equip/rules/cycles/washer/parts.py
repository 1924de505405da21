"""A washer's log cut into its stages for people to see, as far as temperatures show them."""

from equip.rules.cycles.boundaries import Boundaries, StagePart, in_a_row
from equip.rules.cycles.runs import Run
from equip.rules.cycles.washer.log import Seen, ThermalProgramme, WarmStage, WasherStages
from equip.rules.cycles.washer.own_limits import look_before, main_stage
from equip.rules.cycles.washer.wet import recut


def parts(
    found: Seen, programme: ThermalProgramme, limits: WasherStages, boundaries: Boundaries
) -> list[StagePart]:
    """The stages of a log between the boundaries that *stand*, found or corrected.

    A flush, a wash, a rinse or a drying that the log does not show is left out.
    """
    seen = recut(found, boundaries.drying_begins_s)
    wet = look_before(seen, programme, limits)
    main = main_stage(seen)
    ends: list[tuple[str, int, int]] = []
    if wet.flush is not None:
        ends.append(("flush", wet.flush.first, wet.flush.last))
    if wet.wash is not None:
        ends.append(("wash", wet.wash.first, wet.wash.last))
    if main is not None:
        ends += _rinse(seen, wet.wash, main, programme.stage_fall_k)
        name = "water or air" if seen.counted is None else "disinfection"
        ends.append((name, main.first, main.last))
    if seen.dry and boundaries.drying_begins_s is not None:
        ends.append(("drying", seen.dry[0].first, len(seen.coldest) - 1))
    return list(in_a_row(found.trace, ends))


def _rinse(
    seen: Seen, wash: Run | None, main: WarmStage, fall_k: float
) -> list[tuple[str, int, int]]:
    """What lies between the wash and the climb to the disinfection, if it cooled down there."""
    if wash is None or main.first <= wash.last:
        return []
    coldest = min(seen.coldest[wash.last : main.first + 1])
    return [("rinse", wash.last, main.first)] if coldest < seen.coldest[wash.last] - fall_k else []
