"""Did this washer's cycle disinfect by heat? The A0 of its wet stage, and every reason.

A0 is the time at 80 °C that would kill as much: the trapezoid of the log from the floor of 65 °C,
by the coldest probe at each moment. Only the stage that water surely made counts
(`thermal_log`); what follows it is the drying. A hole of the log is never bridged: it adds
nothing, and one so long that a drain and hot air fit in it ends the stage. Where the target is
missed but the log leaves room for it, the cycle is undecided, never passed.

Source: ISO 15883-1 Annex B for A0 and its floor; that the drying does not count is taught with it.
"""

import math
from itertools import pairwise

from equip.logs.plain import Trace
from equip.rules.cycles import measured_stages
from equip.rules.cycles.boundaries import AS_FOUND, Boundaries, up_to
from equip.rules.cycles.heat import time_above
from equip.rules.cycles.washer import own_limits as washer_limits
from equip.rules.cycles.washer.a0 import a0_of, holes_in, stretches
from equip.rules.cycles.washer.log import Seen, ThermalProgramme, look
from equip.rules.cycles.washer.wet import recut
from equip.rules.verdict import Figures, Judgement, Reason, judgement, worst
from equip.rules.wording import exact_span

__all__ = ["VERSION", "ThermalProgramme", "a0_of", "judge"]

VERSION = "thermal-3"
"""Kept with each judgement; raised when the same log could be judged differently."""


def judge(
    trace: Trace,
    programme: ThermalProgramme,
    *,
    uncertainty_k: float | None = None,
    corrected: Boundaries = AS_FOUND,
) -> Judgement:
    """Judge *trace*. With *uncertainty_k* the target must be reached with every reading that lower.

    The figures are those of the readings as they are. A pressure column is not looked at. Where
    the drying begins may be *corrected* by hand, within what the log does not contradict.
    """
    seen = recut(look(trace, programme), corrected.drying_begins_s)
    a0_s = a0_of(seen, seen.counted, programme)
    reasons = [
        *_short(seen, programme, a0_s),
        *_no_water(seen, programme),
        *washer_limits.stages(seen, programme),
        *_remarks(seen, programme),
        *washer_limits.remarks(programme.stages),
    ]
    if uncertainty_k and worst(reasons) == "pass":
        reasons += _guarded(seen, programme, uncertainty_k)
    figures = _figures(seen, programme, a0_s) | washer_limits.figures(seen, programme)
    return judgement(reasons, figures)


def _reaches(a0_s: float, target_s: float) -> bool:
    """The target itself passes; a sum of many steps is exact to some fifteen digits, not more."""
    return a0_s >= target_s or math.isclose(a0_s, target_s, rel_tol=1e-9)


# --- why it does not pass ---------------------------------------------------------------------


def _short(seen: Seen, programme: ThermalProgramme, a0_s: float) -> list[Reason]:
    """What was missed, and whether the log leaves room for doubt about it."""
    if _reaches(a0_s, programme.target_s):
        return []
    if doubt := _unclear(seen, programme) or _hole(seen, programme):
        return [doubt]
    if seen.counted is None and not seen.unclear:
        return [_never_warm(seen, programme)]
    surely = " that surely counts" if seen.unclear else ""
    says = f"It reached an A0 of {_shown(a0_s)} s{surely}; it needs {programme.target_s:,g} s."
    last = None if seen.counted is None else seen.trace.seconds[seen.counted.last]
    return [Reason("a0-short", says, last)]


def _no_water(seen: Seen, programme: ThermalProgramme) -> list[Reason]:
    """A stage hotter than water can be, which no amount of A0 makes up for."""
    stage = seen.counted
    if stage is None or stage.hottest_c <= programme.hottest_water_c:
        return []
    reached = (i for i in range(stage.first, len(seen.coldest)))
    at = seen.trace.seconds[next(i for i in reached if seen.coldest[i] == stage.hottest_c)]
    says = (
        f"It was at {stage.hottest_c:g} °C at {exact_span(at)}, and water in a washer does not go "
        f"above {programme.hottest_water_c:g} °C: the log may be in °F, or it was hot air or "
        "steam. Look at the unit and at the machine's own record."
    )
    return [Reason("hotter-than-water", says, at, spoils="undecided")]


def _never_warm(seen: Seen, programme: ThermalProgramme) -> Reason:
    it, wet = "It", seen.coldest
    if seen.dries_from_s is not None:
        it = f"Before the drying, from {exact_span(seen.dries_from_s)} on by hand, it"
        wet = seen.coldest[: max(up_to(seen.trace.seconds, seen.dries_from_s), 1)]
    says = (
        f"{it} never reached {programme.stage_from_c:g} °C: the coldest probe was at "
        f"{max(wet):g} °C at most."
    )
    return Reason("never-warm", says)


def _unclear(seen: Seen, programme: ThermalProgramme) -> Reason | None:
    """A stage that would do, if only somebody could say that it was water."""
    for stage in seen.unclear:
        a0_s = a0_of(seen, stage, programme)
        if _reaches(a0_s, programme.target_s):
            at = seen.trace.seconds[stage.first]
            says = (
                f"The warm stage from {exact_span(at)} on has an A0 of {_shown(a0_s)} s and would "
                "do, but this log cannot show whether it was water or hot air: look at the "
                "machine's own record of its stages."
            )
            return Reason("stage-unclear", says, at, spoils="undecided")
    return None


def _hole(seen: Seen, programme: ThermalProgramme) -> Reason | None:
    """A hole that may hide what is missing."""
    at = _hole_at(seen, programme)
    if at is None:
        return None
    seconds = seen.trace.seconds
    says = (
        f"The log has no readings for {exact_span(seconds[at + 1] - seconds[at])} from "
        f"{exact_span(seconds[at])} on, and without them the A0 falls short: nobody can say what "
        "happened then."
    )
    return Reason("hole-in-stage", says, seconds[at], spoils="undecided")


def _hole_at(seen: Seen, programme: ThermalProgramme) -> int | None:
    """The widest hole that matters: in or at the end of the stage that counts while it was warm.

    Where no stage counts it may be anywhere, for the whole disinfection may be hidden by it.
    """
    seconds, stage = seen.trace.seconds, seen.counted
    if stage is None:
        if not seen.has_long_hole:
            return None
        return max(range(len(seconds) - 1), key=lambda i: seconds[i + 1] - seconds[i])
    holes = holes_in(seen, stage)
    if stage.cut and stage.last < len(seconds) - 1:
        holes.append(stage.last)
    warm = [i for i in holes if max(seen.coldest[i], seen.coldest[i + 1]) >= programme.floor_c]
    return max(warm, key=lambda i: seconds[i + 1] - seconds[i], default=None)


def _guarded(seen: Seen, programme: ThermalProgramme, uncertainty_k: float) -> list[Reason]:
    """A doubt if the target would not be reached with every reading *uncertainty_k* lower."""
    a0_s = a0_of(seen, seen.counted, programme, lowered_k=uncertainty_k)
    if _reaches(a0_s, programme.target_s):
        return []
    says = (
        f"With an uncertainty of {uncertainty_k:g} K its A0 surely was {_shown(a0_s)} s only; "
        f"it needs {programme.target_s:,g} s."
    )
    return [Reason("within-uncertainty", says, spoils="undecided")]


# --- remarks ----------------------------------------------------------------------------------


def _remarks(seen: Seen, programme: ThermalProgramme) -> list[Reason]:
    reasons = [*_left_out(seen, programme), *_ends(seen, programme)]
    if len(seen.trace.probes) == 1:
        says = (
            "Not measured: whether other places in the load stayed colder, because the log has "
            "one probe."
        )
        reasons.append(Reason("not-measured", says, spoils="pass"))
    notes = [Reason("as-read", note, spoils="pass") for note in seen.trace.notes]
    return reasons + notes


def _left_out(seen: Seen, programme: ThermalProgramme) -> list[Reason]:
    if seen.counted is None or not seen.dry:
        return []
    at = seen.trace.seconds[seen.counted.last + 1]
    a0_s = sum(a0_of(seen, stage, programme) for stage in seen.dry)
    if seen.dries_from_s is not None:
        says = (
            f"From {exact_span(seen.dries_from_s)} on, where its drying begins as corrected by "
            f"hand, an A0 of {_shown(a0_s)} s was not counted."
        )
        return [Reason("drying-left-out", says, at, spoils="pass")]
    says = (
        f"At {exact_span(at)} it had cooled by more than {programme.stage_fall_k:g} K. What is "
        f"warm after that, with an A0 of {_shown(a0_s)} s, was taken for the drying and not "
        "counted."
    )
    return [Reason("drying-left-out", says, at, spoils="pass")]


def _ends(seen: Seen, programme: ThermalProgramme) -> list[Reason]:
    seconds, reasons = seen.trace.seconds, []
    if seen.counted is not None and seen.coldest[0] >= programme.floor_c:
        says = "The log starts warm: how the water heated up is not in it."
        reasons.append(Reason("log-starts-hot", says, seconds[0], spoils="pass"))
    if seen.counted is not None and seen.counted.last == len(seconds) - 1:
        says = "The log stops in the disinfection: how the cycle ended is not in it."
        reasons.append(Reason("log-stops-hot", says, seconds[-1], spoils="pass"))
    return reasons


# --- figures ----------------------------------------------------------------------------------


def _figures(seen: Seen, programme: ThermalProgramme, a0_s: float) -> Figures:
    """The keys of every judgement; `hold_*` is what counts: the wet stage from the floor up."""
    seconds, floor = seen.trace.seconds, programme.floor_c
    parts = stretches(seen, seen.counted)
    counted = [
        index
        for first, last in parts
        for index in range(first, last + 1)
        if seen.coldest[index] >= floor
    ]
    apart = [seen.hottest[index] - seen.coldest[index] for index in counted]
    measured = {
        "hold_s": sum(
            time_above(seconds[first : last + 1], seen.coldest[first : last + 1], floor)
            for first, last in parts
        ),
        "hold_start_s": seconds[counted[0]] if counted else None,
        "equilibration_s": None,
        "hold_min_c": min((seen.coldest[index] for index in counted), default=None),
        "hold_max_c": max((seen.hottest[index] for index in counted), default=None),
        "spread_max_k": max(apart, default=None) if len(seen.trace.probes) > 1 else None,
        "theory_gap_min_k": None,
        "theory_gap_max_k": None,
        "f0_min": None,
        "f0_hold_min": None,
        "a0_s": a0_s,
        "a0_left_out_s": sum(a0_of(seen, one, programme) for one in (*seen.unclear, *seen.dry)),
    }
    figures: Figures = {
        name: None if value is None else round(value, 6) for name, value in measured.items()
    }
    figures |= measured_stages.of_water(seen, programme.stage_swing_k, a0_s).size_figures
    figures["samples"] = len(seconds)
    figures["largest_gap_s"] = round(max(b - a for a, b in pairwise(seconds)), 6)
    return figures


def _shown(a0_s: float) -> str:
    """An A0 as it is said: never rounded up to a target that was missed."""
    exact = math.floor(a0_s * 10 + 1e-6) / 10
    return f"{exact:,.0f}" if exact == int(exact) else f"{exact:,.1f}"
