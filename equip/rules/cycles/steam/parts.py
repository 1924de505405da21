"""A steam cycle's log cut into its stages, and what the log says against a correction of them.

Found by pressure and band: the air removal ends at the last trough before the final climb, the
drying begins where the pressure has fallen to that of the air outside. Found for people to see;
the judgement does not rest on it.
"""

from collections.abc import Sequence

from equip.rules.cycles.boundaries import Boundaries, StagePart, in_a_row, outside, up_to
from equip.rules.cycles.heat import ATMOSPHERE_KPA
from equip.rules.cycles.steam.log import Seen
from equip.rules.wording import exact_span

_STANDARD_KPA = 101.325


def boundaries(seen: Seen, low_c: float, turn_kpa: float) -> Boundaries:
    """Where the stages of this log begin and end, as far as it shows them.

    *low_c* is where the band begins; a rise of more than *turn_kpa* tells one trough of the
    pressure from the next.
    """
    kpa, held = seen.trace.kpa, seen.held
    if kpa is None or held is None:
        return Boundaries()
    air = _air_outside(kpa)
    ends = _last_trough(kpa, held.first, air, turn_kpa)
    begins = _first_at_most(kpa, _last_hot(seen, low_c) + 1, air)
    seconds = seen.trace.seconds
    return Boundaries(
        None if ends is None else seconds[ends], None if begins is None else seconds[begins]
    )


def parts(seen: Seen, boundaries: Boundaries) -> list[StagePart]:
    """The stages of this log between *boundaries*, as found or as corrected."""
    held = seen.held
    if held is None:
        return []
    seconds, last = seen.trace.seconds, len(seen.trace.seconds) - 1
    ends, begins = boundaries.air_removal_ends_s, boundaries.drying_begins_s
    heats = 0 if ends is None else up_to(seconds, ends)
    dries = last if begins is None else min(up_to(seconds, begins), last)
    ahead, after = "heating", "venting"
    if seen.trace.kpa is None:
        ahead, after = "before the holding time", "after the holding time"
    found = [
        ("air removal", 0, heats),
        (ahead, heats, held.first),
        ("holding", held.first, held.last),
        (after, held.last, dries),
        ("drying", dries, last),
    ]
    return list(in_a_row(seen.trace, found))


def why_not(seen: Seen, wanted: Boundaries, low_c: float) -> list[str]:
    """What the log says against boundaries that somebody wants; empty if nothing."""
    if seen.trace.kpa is None:
        return ["This log has no pressure: nothing in it tells these stages apart."]
    if seen.held is None:
        return ["There is no holding time in this log, so no stages around it to correct."]
    return outside(seen.trace, wanted) or [
        *_air_removal(seen, wanted),
        *_drying(seen, wanted, low_c),
    ]


def _air_removal(seen: Seen, wanted: Boundaries) -> list[str]:
    assert seen.held is not None  # noqa: S101 — asked before
    ends, holds = wanted.air_removal_ends_s, seen.trace.seconds[seen.held.first]
    if ends is None or ends < holds:
        return []
    return [
        f"The air removal cannot end at {exact_span(ends)}: the holding time began at "
        f"{exact_span(holds)}."
    ]


def _drying(seen: Seen, wanted: Boundaries, low_c: float) -> list[str]:
    """Neither while it was hot enough to sterilise nor while the steam was still in."""
    begins = wanted.drying_begins_s
    if begins is None:
        return []
    assert seen.trace.kpa is not None  # noqa: S101 — asked before
    seconds, hot = seen.trace.seconds, _last_hot(seen, low_c)
    start = f"The drying cannot begin at {exact_span(begins)}: "
    if begins <= seconds[hot]:
        return [
            f"{start}at {exact_span(seconds[hot])} the chamber was still at "
            f"{seen.hottest[hot]:g} °C."
        ]
    index = up_to(seconds, begins)
    if seen.trace.kpa[index] > ATMOSPHERE_KPA[1]:
        return [
            f"{start}the chamber still held {seen.trace.kpa[index]:g} kPa, so the steam had not "
            "been let out."
        ]
    return []


def _last_hot(seen: Seen, low_c: float) -> int:
    """The last reading at which any probe was as hot as the band begins."""
    return max(index for index, hot in enumerate(seen.hottest) if hot >= low_c)


def _air_outside(kpa: Sequence[float]) -> float:
    """The pressure of the air outside: where the log begins or ends with it, else the standard."""
    least, most = ATMOSPHERE_KPA
    return next((end for end in (kpa[0], kpa[-1]) if least <= end <= most), _STANDARD_KPA)


def _last_trough(kpa: Sequence[float], before: int, air: float, turn_kpa: float) -> int | None:
    """The last low of the pressure, at most that of the air, into which it had fallen."""
    low = before
    for index in range(before, -1, -1):
        if kpa[index] < kpa[low]:
            low = index
        elif kpa[index] > kpa[low] + turn_kpa:
            if kpa[low] <= air:
                return low
            low = index
    return None


def _first_at_most(kpa: Sequence[float], first: int, most: float) -> int | None:
    return next((index for index in range(first, len(kpa)) if kpa[index] <= most), None)
