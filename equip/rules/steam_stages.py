"""Air removal and drying, judged only by the limits that the machine's own maker gives.

No standard prints how many pulses a cycle needs or how deep: that is found when a machine is
validated, and holds for that machine alone.
"""

from collections.abc import Sequence

from equip.rules.steam_log import MachineStages, Seen
from equip.rules.verdict import Figures, Reason
from equip.rules.wording import exact_span


def stages(seen: Seen, limits: MachineStages | None) -> list[Reason]:
    """Too few pulses before the holding time, or too shallow a vacuum after it."""
    if limits is None or seen.held is None or seen.trace.kpa is None:
        return []
    return [*_pulses(seen, limits), *_drying(seen, limits)]


def figures(seen: Seen, limits: MachineStages | None) -> Figures:
    """What was measured, by those limits that were given."""
    if limits is None or seen.held is None or seen.trace.kpa is None:
        return {}
    found: Figures = {}
    if limits.pulses is not None:
        found["pulses"] = len(_evacuated(seen.trace.kpa[: seen.held.first], limits))
    after = seen.trace.kpa[seen.held.last + 1 :]
    if limits.drying_kpa is not None and len(after):
        found["drying_min_kpa"] = round(min(after), 6)
    return found


def _pulses(seen: Seen, limits: MachineStages) -> list[Reason]:
    assert seen.trace.kpa is not None and seen.held is not None  # noqa: S101 — asked before
    if limits.pulses is None or limits.vacuum_kpa is None:
        return []
    before = seen.trace.kpa[: seen.held.first]
    times = len(_evacuated(before, limits))
    if times >= limits.pulses:
        return []
    lowest = f"; the lowest was {min(before):g} kPa" if len(before) else ""
    says = (
        f"Before the holding time it was evacuated to {limits.vacuum_kpa:g} kPa {_times(times)}"
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


def _drying(seen: Seen, limits: MachineStages) -> list[Reason]:
    assert seen.trace.kpa is not None and seen.held is not None  # noqa: S101 — asked before
    if limits.drying_kpa is None:
        return []
    after = seen.trace.kpa[seen.held.last + 1 :]
    at = seen.trace.seconds[seen.held.last]
    if not len(after):
        says = "The log ends with the holding time: how the load was dried is not in it."
        return [Reason("drying-not-in-log", says, at, spoils="undecided")]
    if min(after) <= limits.drying_kpa:
        return []
    says = (
        f"After the holding time, which ended at {exact_span(at)}, the pressure fell to "
        f"{min(after):g} kPa at the lowest; "
        f"this machine dries at {limits.drying_kpa:g} kPa or less."
    )
    return [Reason("drying-shallow", says, at)]


def _times(number: int) -> str:
    return {0: "not once", 1: "once", 2: "twice"}.get(number, f"{number} times")
