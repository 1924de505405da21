"""Was this steam cycle one that sterilises? The log against one programme, and every reason.

The holding time is the longest unbroken run of readings with every probe in the band; lethality
(F0) is worked out beside it and never passes a cycle. Where the log leaves room for doubt the
answer errs to the unsafe side: a log without pressure is undecided, because steam that was never
shown to be saturated may be hot air. A sensor that reports one value throughout is not held
against a cycle: rounded logs of steady chambers do the same.
"""

from operator import sub

from equip.logs.plain import Trace
from equip.rules.cycles import measured_stages
from equip.rules.cycles.boundaries import AS_FOUND, Boundaries
from equip.rules.cycles.heat import equivalent_time
from equip.rules.cycles.steam import own_limits as steam_limits
from equip.rules.cycles.steam import reasons as say
from equip.rules.cycles.steam.log import Seen, SteamProgramme, look
from equip.rules.verdict import Figures, Judgement, judgement, worst

__all__ = ["VERSION", "Figures", "Judgement", "SteamProgramme", "judge"]

VERSION = "steam-2"
"""Kept with each judgement; raised when the same log could be judged differently."""


def judge(
    trace: Trace,
    programme: SteamProgramme,
    *,
    uncertainty_k: float | None = None,
    corrected: Boundaries = AS_FOUND,
) -> Judgement:
    """Judge *trace*. With *uncertainty_k* it must pass in a band that much narrower at each side.

    The figures are those of the full band either way. A cycle that passes in the full band only
    is undecided, never failed: within the sensor's uncertainty nobody can say. Boundaries that
    were *corrected* by hand narrow where pulses and drying are looked for and touch nothing else:
    band, holding time, saturation and excursions are those of the whole log.
    """
    seen = look(trace, programme)
    reasons = [
        *say.hold(seen, programme),
        *say.theory(seen, programme),
        *say.spread(seen, programme),
        *say.equilibration(seen, programme),
        *say.excursion(seen, programme),
        *steam_limits.stages(seen, programme, corrected),
        *say.not_measured(trace),
        *say.theory_remark(seen, programme),
        *say.remarks(seen, programme),
    ]
    if uncertainty_k and worst(reasons) != "fail":
        reasons += say.guarded(seen, programme, uncertainty_k)
    return judgement(reasons, _figures(seen, programme, corrected))


def _figures(seen: Seen, programme: SteamProgramme, corrected: Boundaries) -> Figures:
    seconds, held = seen.trace.seconds, seen.held
    part = slice(0, 0) if held is None else slice(held.first, held.last + 1)
    measured = {
        "hold_s": seen.length(held),
        "hold_start_s": None if held is None else seconds[held.first],
        "equilibration_s": seen.equilibration_s,
        "hold_min_c": min(seen.coldest[part], default=None),
        "hold_max_c": max(seen.hottest[part], default=None),
        "spread_max_k": max(seen.spreads, default=None),
        "theory_gap_min_k": min(seen.gaps, default=None),
        "theory_gap_max_k": max(seen.gaps, default=None),
        "f0_min": _f0_min(seen, programme, slice(None)),
        "f0_hold_min": _f0_min(seen, programme, part),
    }
    figures: Figures = {
        name: None if value is None else round(value, 6) for name, value in measured.items()
    }
    if programme.spore_d_min and figures["f0_hold_min"] is not None:
        figures["log_kill_hold"] = round(figures["f0_hold_min"] / programme.spore_d_min, 6)
    figures |= steam_limits.figures(seen, programme, corrected)
    if programme.levels is not None:
        figures |= measured_stages.of_steam(seen, programme.levels).size_figures
    figures["samples"] = len(seconds)
    figures["largest_gap_s"] = round(max(map(sub, seconds[1:], seconds)), 6)
    return figures


def _f0_min(seen: Seen, programme: SteamProgramme, part: slice) -> float | None:
    """Lethality in minutes by the coldest probe: the load is no better than its worst place."""
    seconds = seen.trace.seconds[part]
    if len(seconds) < 2:
        return None
    total = equivalent_time(
        seconds,
        seen.coldest[part],
        reference=programme.f0_reference_c,
        z=programme.f0_z_k,
    )
    return total / 60
