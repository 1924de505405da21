"""Air removal and drying, judged only by the limits that the machine's own maker gives.

No standard prints how many pulses a cycle needs or how deep: that is found when a machine is
validated, and holds for that machine alone. A boundary that was corrected by hand can only leave
readings out here, never let more of them count.
"""

from collections.abc import Sequence
from math import inf

from equip.rules.cycles.boundaries import Boundaries, up_to
from equip.rules.cycles.runs import INSTANT_S, Run, cut_at_holes, hole_over, longest, runs_in
from equip.rules.cycles.steam.log import MachineStages, Seen, SteamProgramme
from equip.rules.verdict import Figures, Reason
from equip.rules.wording import exact_span, several


def stages(seen: Seen, programme: SteamProgramme, corrected: Boundaries) -> list[Reason]:
    """Too few pulses before the holding time, or too little drying after it."""
    limits = programme.stages
    if limits is None or seen.held is None or seen.trace.kpa is None:
        return []
    return [
        *_pulses(seen, limits, corrected),
        *_drying(seen, programme, limits, corrected),
        *_not_known(limits),
    ]


def figures(seen: Seen, programme: SteamProgramme, corrected: Boundaries) -> Figures:
    """What was measured, by those limits that were given."""
    limits = programme.stages
    if limits is None or seen.held is None or seen.trace.kpa is None:
        return {}
    found: Figures = {}
    if limits.pulses is not None:
        found["pulses"] = len(_evacuated(seen.trace.kpa[: _before(seen, corrected)], limits))
    after = seen.trace.kpa[_after(seen, corrected) :]
    if limits.drying_kpa is not None and len(after):
        found["drying_min_kpa"] = round(min(after), 6)
    if limits.drying_kpa is not None and limits.drying_s is not None:
        deep = _deep(seen, limits.drying_kpa, corrected)
        whole = cut_at_holes(seen.trace.seconds, deep, _hole(seen, programme))
        found["drying_held_s"] = round(seen.length(longest(seen.trace.seconds, whole)), 6)
    return found


def _before(seen: Seen, corrected: Boundaries) -> int:
    """How many readings the air removal may have: those before the holding time at most."""
    assert seen.held is not None  # noqa: S101 — asked before
    ends = corrected.air_removal_ends_s
    if ends is None:
        return seen.held.first
    return min(seen.held.first, up_to(seen.trace.seconds, ends + INSTANT_S))


def _after(seen: Seen, corrected: Boundaries) -> int:
    """The first reading that the drying may have: the one after the holding time at least."""
    assert seen.held is not None  # noqa: S101 — asked before
    begins = corrected.drying_begins_s
    if begins is None:
        return seen.held.last + 1
    return max(seen.held.last + 1, up_to(seen.trace.seconds, begins - INSTANT_S))


def _not_known(limits: MachineStages) -> list[Reason]:
    """A remark on what was not judged because this machine's type does not say it."""
    unknown = [
        name
        for name, value in (("pulses", limits.pulses), ("drying", limits.drying_kpa))
        if value is None
    ]
    if not unknown:
        return []
    are = "are" if unknown[0] == "pulses" else "is"
    says = (
        f"Not judged: the machine's own {several(unknown)} {are} not known; a manager can set "
        "them in Setup, Types."
    )
    return [Reason("machine-limits-not-known", says, spoils="pass")]


def _pulses(seen: Seen, limits: MachineStages, corrected: Boundaries) -> list[Reason]:
    assert seen.trace.kpa is not None and seen.held is not None  # noqa: S101 — asked before
    if limits.pulses is None or limits.vacuum_kpa is None:
        return []
    before = seen.trace.kpa[: _before(seen, corrected)]
    times = len(_evacuated(before, limits))
    if times >= limits.pulses:
        return []
    ends = corrected.air_removal_ends_s
    until = "the holding time"
    if ends is not None:
        until = f"{exact_span(ends)}, where its air removal ended as corrected by hand,"
    lowest = f"; the lowest was {min(before):g} kPa" if len(before) else ""
    says = (
        f"Before {until} it was evacuated to {limits.vacuum_kpa:g} kPa {_times(times)}"
        f"{lowest}. This machine needs that {_times(limits.pulses)}."
    )
    return [Reason("pulses-few", says, seen.trace.seconds[seen.held.first])]


def _evacuated(kpa: Sequence[float], limits: MachineStages) -> list[int]:
    """The index of each reading at which a pulse reached its vacuum."""
    if limits.vacuum_kpa is None:
        return []
    again = limits.vacuum_kpa if limits.steam_kpa is None else limits.steam_kpa
    found: list[int] = []
    armed = True
    for index, value in enumerate(kpa):
        if armed and value <= limits.vacuum_kpa:
            found.append(index)
            armed = False
        elif not armed and value > limits.vacuum_kpa and value >= again:
            armed = True
    return found


def _drying(
    seen: Seen, programme: SteamProgramme, limits: MachineStages, corrected: Boundaries
) -> list[Reason]:
    assert seen.trace.kpa is not None and seen.held is not None  # noqa: S101 — asked before
    if limits.drying_kpa is None:
        return []
    begins = corrected.drying_begins_s
    after = seen.trace.kpa[_after(seen, corrected) :]
    at = seen.trace.seconds[seen.held.last]
    if not len(after):
        says = "The log ends with the holding time: how the load was dried is not in it."
        return [Reason("drying-not-in-log", says, at, spoils="undecided")]
    if min(after) <= limits.drying_kpa:
        return _long_enough(seen, programme, limits.drying_kpa, limits.drying_s, corrected)
    since = f"After the holding time, which ended at {exact_span(at)},"
    if begins is not None:
        since = f"From {exact_span(begins)} on, where its drying began as corrected by hand,"
    says = (
        f"{since} the pressure fell to "
        f"{min(after):g} kPa at the lowest; "
        f"this machine dries at {limits.drying_kpa:g} kPa or less."
    )
    return [Reason("drying-shallow", says, at if begins is None else begins)]


def _long_enough(
    seen: Seen, programme: SteamProgramme, kpa: float, wanted: float | None, corrected: Boundaries
) -> list[Reason]:
    """Deep enough, but perhaps not for as long as this machine dries."""
    if wanted is None:
        return []
    seconds = seen.trace.seconds
    deep = _deep(seen, kpa, corrected)
    best = longest(seconds, cut_at_holes(seconds, deep, _hole(seen, programme)))
    if best is None or seen.length(best) >= wanted - INSTANT_S:
        return []
    at = seconds[best.last]
    says = (
        f"It dried at {kpa:g} kPa or less for {exact_span(seen.length(best))} in one piece, until "
        f"{exact_span(at)}; this machine dries so for {exact_span(wanted)}."
    )
    if any(seen.length(run) >= wanted - INSTANT_S for run in deep):
        says += " Longer than that only across a hole of the log, of which nobody can say anything."
        return [Reason("hole-in-drying", says, at, spoils="undecided")]
    if deep[-1].last == len(seconds) - 1:
        says += " The log ends there, while it was still drying."
        return [Reason("drying-cut-off", says, at, spoils="undecided")]
    return [Reason("drying-short", says, at)]


def _deep(seen: Seen, kpa: float, corrected: Boundaries) -> list[Run]:
    """The runs of readings at *kpa* or less where the drying is looked for."""
    assert seen.trace.kpa is not None  # noqa: S101 — asked before
    first = _after(seen, corrected)
    after = seen.trace.kpa[first:]
    return [Run(run.first + first, run.last + first) for run in runs_in(after, after, -inf, kpa)]


def _hole(seen: Seen, programme: SteamProgramme) -> float:
    return hole_over(seen.trace.seconds, programme.hole_s, programme.hole_factor)


def _times(number: int) -> str:
    return {0: "not once", 1: "once", 2: "twice"}.get(number, f"{number} times")
