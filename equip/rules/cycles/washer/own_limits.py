"""Flush and wash of a washer, found as steady parts of its log and judged by the machine's limits.

They are looked for before the disinfection only. A thermostat holds a wash steady, and so does a
tank of cold water a flush; what heats up or cools down is neither. The level of a steady part is
the middle one of its readings: its ends lie on the slopes beside it.
"""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median_low

from equip.rules.cycles.runs import INSTANT_S, Run
from equip.rules.cycles.washer.log import Seen, ThermalProgramme, WarmStage, WasherStages
from equip.rules.verdict import Figures, Reason
from equip.rules.wording import celsius_band, exact_span, several


@dataclass(frozen=True, slots=True)
class Wet:
    """What was found before the disinfection; None is what was not found."""

    flush: Run | None = None
    wash: Run | None = None


def look_before(seen: Seen, programme: ThermalProgramme, limits: WasherStages) -> Wet:
    """The wash is the warmest steady part before the disinfection; the flush the first of all."""
    stop = _heating_up(seen, main_stage(seen), programme.floor_c)
    steady = steady_runs(seen.trace.seconds, seen.coldest, stop, limits.steady_s, limits.steady_k)
    if not steady:
        return Wet()
    wash = max(steady, key=lambda run: _level(seen.coldest, run))
    before = [run for run in steady if run.last < wash.first]
    return Wet(before[0] if before else None, wash)


def main_stage(seen: Seen) -> WarmStage | None:
    """The disinfection, or the first stage that may be it."""
    return seen.counted or (seen.unclear[0] if seen.unclear else None)


def _heating_up(seen: Seen, stage: WarmStage | None, floor_c: float) -> int:
    """The reading before which flush, wash and rinses lie."""
    if stage is None:
        return len(seen.coldest)
    warm = range(stage.first, stage.last + 1)
    return next((index for index in warm if seen.coldest[index] >= floor_c), stage.last)


def stages(seen: Seen, programme: ThermalProgramme) -> list[Reason]:
    """A flush that was too warm, a wash out of its band, or neither to be found in the log."""
    limits = programme.stages
    if limits is None or seen.counted is None:
        return []
    wet = look_before(seen, programme, limits)
    return [*_flush(seen, wet, limits), *_wash(seen, wet, limits)]


def figures(seen: Seen, programme: ThermalProgramme) -> Figures:
    """The levels that were judged."""
    limits = programme.stages
    if limits is None or seen.counted is None:
        return {}
    wet = look_before(seen, programme, limits)
    found: Figures = {}
    if limits.flush_high_c is not None and wet.flush is not None:
        found["flush_found_c"] = round(_level(seen.hottest, wet.flush), 6)
    if _has_band(limits) and wet.wash is not None:
        found["wash_found_c"] = round(_level(seen.coldest, wet.wash), 6)
    return found


def remarks(limits: WasherStages | None) -> list[Reason]:
    """What no log of temperatures shows, and what was not judged because nobody set it."""
    if limits is None:
        return []
    reasons = []
    if limits.dosing:
        says = (
            "This machine doses detergent, and no log of temperatures shows that it did: look at "
            "its own record or at the level in the container."
        )
        reasons.append(Reason("dosing-not-in-log", says, spoils="pass"))
    unknown = [
        name
        for name, is_known in (
            ("flush", limits.flush_high_c is not None),
            ("wash", _has_band(limits)),
        )
        if not is_known
    ]
    if unknown:
        says = (
            f"Not judged: the machine's own limits for its {several(unknown)} are not known; a "
            "manager can set them in Setup, Types."
        )
        reasons.append(Reason("machine-limits-not-known", says, spoils="pass"))
    return reasons


def _has_band(limits: WasherStages) -> bool:
    return limits.wash_low_c is not None or limits.wash_high_c is not None


def _flush(seen: Seen, wet: Wet, limits: WasherStages) -> list[Reason]:
    if limits.flush_high_c is None:
        return []
    if wet.flush is None:
        says = (
            "No steady part lies before the wash in this log, so nothing shows how warm the flush "
            f"was; this machine flushes at {limits.flush_high_c:g} °C or less."
        )
        return [Reason("flush-not-found", says, spoils="undecided")]
    level = _level(seen.hottest, wet.flush)
    if level <= limits.flush_high_c:
        return []
    says = (
        f"The flush, {_between(seen, wet.flush)}, was at {level:g} °C; this machine flushes at "
        f"{limits.flush_high_c:g} °C or less, because warmer water sets protein."
    )
    return [Reason("flush-warm", says, seen.trace.seconds[wet.flush.first])]


def _wash(seen: Seen, wet: Wet, limits: WasherStages) -> list[Reason]:
    if not _has_band(limits):
        return []
    if wet.wash is None:
        says = (
            "No steady part lies before the disinfection in this log, so nothing shows how warm "
            f"the wash was; this machine washes at {_band(limits)}."
        )
        return [Reason("wash-not-found", says, spoils="undecided")]
    cold, hot = _level(seen.coldest, wet.wash), _level(seen.hottest, wet.wash)
    too_cold = limits.wash_low_c is not None and cold < limits.wash_low_c
    too_hot = limits.wash_high_c is not None and hot > limits.wash_high_c
    if not (too_cold or too_hot):
        return []
    says = (
        f"The wash, {_between(seen, wet.wash)}, was at {cold if too_cold else hot:g} °C; this "
        f"machine washes at {_band(limits)}."
    )
    at = seen.trace.seconds[wet.wash.first]
    return [Reason("wash-cold", says, at)] if too_cold else [Reason("wash-hot", says, at)]


def _band(limits: WasherStages) -> str:
    return celsius_band(limits.wash_low_c, limits.wash_high_c)


def _between(seen: Seen, run: Run) -> str:
    first, last = seen.trace.seconds[run.first], seen.trace.seconds[run.last]
    return f"from {exact_span(first)} to {exact_span(last)}"


def _level(values: Sequence[float], run: Run) -> float:
    return median_low(values[run.first : run.last + 1])


# --- steady parts -----------------------------------------------------------------------------


def steady_runs(
    seconds: Sequence[float], values: Sequence[float], stop: int, steady_s: float, steady_k: float
) -> list[Run]:
    """Parts before reading *stop* that stay within *steady_k* for *steady_s*, in order of time.

    The longest is found first, then those before and after it, so that none is cut in two.
    """
    found: list[Run] = []
    open_parts = [(0, stop)]
    while open_parts:
        first, end = open_parts.pop()
        run = _longest_steady(seconds, values, first, end, steady_k)
        if run is None or seconds[run.last] - seconds[run.first] < steady_s - INSTANT_S:
            continue
        found.append(run)
        open_parts += [(first, run.first), (run.last + 1, end)]
    return sorted(found, key=lambda run: run.first)


def _longest_steady(
    seconds: Sequence[float], values: Sequence[float], first: int, end: int, steady_k: float
) -> Run | None:
    """One walk with the lowest and highest reading of a window that slides along."""
    lows: deque[int] = deque()
    highs: deque[int] = deque()
    best: Run | None = None
    begin = first
    for index in range(first, end):
        while lows and values[lows[-1]] >= values[index]:
            lows.pop()
        while highs and values[highs[-1]] <= values[index]:
            highs.pop()
        lows.append(index)
        highs.append(index)
        while values[highs[0]] - values[lows[0]] > steady_k:
            begin += 1
            for ends in (lows, highs):
                if ends[0] < begin:
                    ends.popleft()
        if (
            best is None
            or seconds[index] - seconds[begin] > seconds[best.last] - seconds[best.first]
        ):
            best = Run(begin, index)
    return best
