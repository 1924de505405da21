"""Why a steam cycle passes, fails or cannot be judged, in sentences a nurse would say."""

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

from equip.logs.plain import Trace
from equip.rules.cycles.heat import ATMOSPHERE_KPA, saturation_kpa
from equip.rules.cycles.runs import INSTANT_S, Run, longest
from equip.rules.cycles.steam.log import Seen, SteamProgramme, look
from equip.rules.verdict import Reason
from equip.rules.wording import exact_span

# Logs are written to the thousandth; half of it is rounding and no difference.
_ROUNDING_K = 0.0005


def hold(seen: Seen, programme: SteamProgramme) -> list[Reason]:
    """No complete holding time: none at all, too short, or perhaps one that a hole hides."""
    if _is_complete(seen, seen.held, programme):
        return []
    across = longest(seen.trace.seconds, seen.runs)
    if across is None or seen.held is None:
        return [_never(seen, programme)]
    if _is_complete(seen, across, programme):
        return [_hole_reason(seen, across)]
    says = (
        f"It stayed hot enough for {exact_span(seen.length(seen.held))}; "
        f"it needs {exact_span(programme.hold_s)}."
    )
    short = Reason("hold-short", says, seen.trace.seconds[seen.held.last])
    return [short, *_interruption(seen, programme)]


def _hole_reason(seen: Seen, run: Run) -> Reason:
    seconds = seen.trace.seconds
    at = max(range(run.first, run.last), key=lambda i: seconds[i + 1] - seconds[i])
    return Reason(
        "hole-in-hold",
        f"The log has no readings for {exact_span(seconds[at + 1] - seconds[at])} within the "
        f"holding time, from {exact_span(seconds[at])} on: nobody can say what happened then.",
        seconds[at],
        spoils="undecided",
    )


def _never(seen: Seen, programme: SteamProgramme) -> Reason:
    low, high = programme.low_c, programme.high_c
    hottest = max(seen.trace.probes[0])
    if hottest < low:
        says = f"It never reached {low:g} °C: the hottest reading was {hottest:g} °C."
    elif len(seen.trace.probes) == 1:
        says = f"No reading lay between {low:g} and {high:g} °C."
    else:
        says = f"At no moment were all probes between {low:g} and {high:g} °C."
    return Reason("never-in-band", says)


def _interruption(seen: Seen, programme: SteamProgramme) -> list[Reason]:
    """Where a hold that was too short was broken by a dip: of several, the one that cost most."""
    dips = [
        (before, after)
        for before, after in pairwise(seen.runs)
        if min(seen.coldest[before.last + 1 : after.first]) < programme.low_c
    ]
    if not dips:
        return []
    before, after = max(dips, key=lambda dip: seen.length(dip[0]) + seen.length(dip[1]))
    at = seen.trace.seconds[before.last + 1]
    says = (
        f"It fell to {min(seen.coldest[before.last + 1 : after.first]):g} °C at {exact_span(at)}, "
        "so the time before and the time after do not add up."
    )
    return [Reason("dip-in-hold", says, at)]


def theory(seen: Seen, programme: SteamProgramme) -> list[Reason]:
    """Saturation temperature less reference probe, too far either way."""
    limit = programme.theory_gap_k + _ROUNDING_K
    reasons = []
    if seen.gaps and max(seen.gaps) > limit:
        cause = "Air may have been left in the chamber"
        reasons.append(_gap_reason(seen, programme, cause, lambda gap: gap > limit))
    if seen.gaps and min(seen.gaps) < -limit:
        cause = "The steam was too dry (superheated) or a sensor is off"
        reasons.append(_gap_reason(seen, programme, cause, lambda gap: gap < -limit))
    return reasons


def theory_remark(seen: Seen, programme: SteamProgramme) -> list[Reason]:
    """A gap that passes and is wide all the same: seen again and again it grows."""
    if programme.theory_remark_k is None or theory(seen, programme):
        return []
    widest = max(seen.gaps, key=abs, default=0.0)
    if abs(widest) <= programme.theory_remark_k + _ROUNDING_K:
        return []
    way, cause = (
        ("above", "some air may have been left") if widest > 0 else ("below", "a sensor may be off")
    )
    says = (
        f"Saturation lay up to {_apart(widest)} K {way} the chamber's probe. "
        f"{programme.theory_gap_k:g} K is allowed, but {cause}: watch the figure from cycle to "
        "cycle."
    )
    assert seen.held is not None  # noqa: S101 — there are gaps
    at = seen.trace.seconds[seen.held.first + seen.gaps.index(widest)]
    return [Reason("theory-gap-remark", says, at, spoils="pass")]


def _gap_reason(
    seen: Seen, programme: SteamProgramme, cause: str, outside: Callable[[float], bool]
) -> Reason:
    """Says the widest of the gaps that are *outside*, and since when there were any."""
    assert seen.held is not None and seen.trace.kpa is not None  # noqa: S101 — there are gaps
    where = [index for index, gap in enumerate(seen.gaps) if outside(gap)]
    widest = max(where, key=lambda index: abs(seen.gaps[index]))
    index = seen.held.first + widest
    kpa, celsius = seen.trace.kpa[index], seen.trace.probes[0][index]
    way = "above" if seen.gaps[widest] > 0 else "below"
    says = (
        f"{cause}: at {exact_span(seen.trace.seconds[index])} steam of {kpa:g} kPa would be "
        f"{_apart(seen.gaps[widest])} K {way} the {celsius:g} °C measured; "
        f"{programme.theory_gap_k:g} K is allowed."
    )
    least, most = ATMOSPHERE_KPA  # what a gauge leaves out
    missing = saturation_kpa(celsius) - kpa
    if least <= missing <= most:
        says += (
            " About one atmosphere is missing: this looks like gauge pressure where absolute "
            "pressure is needed."
        )
    if least <= -missing <= most:
        says += (
            " About one atmosphere is too much: this looks like absolute pressure to which the "
            "air pressure was added once more."
        )
    return Reason("theory-gap", says, seen.trace.seconds[seen.held.first + where[0]])


def spread(seen: Seen, programme: SteamProgramme) -> list[Reason]:
    """The probes too far apart in the holding time."""
    limit = programme.spread_k + _ROUNDING_K
    if seen.held is None or max(seen.spreads, default=0.0) <= limit:
        return []
    first = next(index for index, apart in enumerate(seen.spreads) if apart > limit)
    says = (
        f"The probes were up to {_apart(max(seen.spreads))} K apart in the holding time; "
        f"{programme.spread_k:g} K is allowed."
    )
    return [Reason("spread-wide", says, seen.trace.seconds[seen.held.first + first])]


def equilibration(seen: Seen, programme: SteamProgramme) -> list[Reason]:
    """The load too slow behind the chamber."""
    took = seen.equilibration_s
    if took is None or took <= programme.equilibration_s + INSTANT_S:
        return []
    says = (
        f"The load followed the chamber to {programme.low_c:g} °C only after {exact_span(took)}; "
        f"{exact_span(programme.equilibration_s)} is allowed."
    )
    return [Reason("equilibration-slow", says)]


def excursion(seen: Seen, programme: SteamProgramme) -> list[Reason]:
    high = programme.high_c
    if max(seen.hottest) <= high:
        return []
    first = next(index for index, hot in enumerate(seen.hottest) if hot > high)
    says = (
        f"It went above {high:g} °C, the first time at {exact_span(seen.trace.seconds[first])}; "
        f"the hottest reading was {max(seen.hottest):g} °C."
    )
    return [Reason("too-hot", says, seen.trace.seconds[first])]


def not_measured(trace: Trace) -> list[Reason]:
    reasons = []
    if trace.kpa is None:
        says = (
            "Pressure was not measured, so nothing shows that this was steam and not hot air: "
            "hand in a log with pressure."
        )
        reasons.append(Reason("pressure-not-measured", says, spoils="undecided"))
    if len(trace.probes) == 1:
        says = (
            "Not measured: how fast the load followed the chamber and how far apart the probes "
            "were, because the log has one probe."
        )
        reasons.append(Reason("not-measured", says, spoils="pass"))
    return reasons


def remarks(seen: Seen, programme: SteamProgramme) -> list[Reason]:
    """What lies before and after the holding time; none of it changes a verdict."""
    seconds, reasons = seen.trace.seconds, _later_dip(seen, programme)
    reasons += [Reason("as-read", note, spoils="pass") for note in seen.trace.notes]
    if seen.runs and seen.runs[0].first == 0:
        says = "The log starts at temperature: how the chamber heated up is not in it."
        reasons.append(Reason("log-starts-hot", says, seconds[0], spoils="pass"))
    if seen.runs and seen.runs[-1].last == len(seconds) - 1:
        says = "The log stops at temperature: how the cycle ended is not in it."
        reasons.append(Reason("log-stops-hot", says, seconds[-1], spoils="pass"))
    return reasons


def _later_dip(seen: Seen, programme: SteamProgramme) -> list[Reason]:
    """The first dip after a complete holding time from which it came back into the band."""
    complete = [run for run in seen.whole if _is_complete(seen, run, programme)]
    for before, after in pairwise(seen.runs):
        between = seen.coldest[before.last + 1 : after.first]
        if complete and complete[0].last <= before.last and min(between) < programme.low_c:
            at = seen.trace.seconds[before.last + 1]
            says = (
                f"It fell below {programme.low_c:g} °C at {exact_span(at)} and came back; "
                "a complete holding time lay before."
            )
            return [Reason("dip-after-hold", says, at, spoils="pass")]
    return []


def _is_complete(seen: Seen, run: Run | None, programme: SteamProgramme) -> bool:
    """A run exactly as long as required is complete."""
    return seen.length(run) >= programme.hold_s - INSTANT_S


def guarded(seen: Seen, programme: SteamProgramme, uncertainty_k: float) -> list[Reason]:
    """A doubt if the cycle would not pass in a band narrower by *uncertainty_k* at each side."""
    # Rounded, so that 121 + 0.3 is the number that a log writes as 121.3.
    low = round(programme.low_c + uncertainty_k, 6)
    high = round(programme.high_c - uncertainty_k, 6)
    inner = look(seen.trace, replace(programme, low_c=low, high_c=high))
    if _is_complete(inner, inner.held, programme) and max(seen.hottest) <= high:
        return []
    if low > high:
        says = f"With an uncertainty of {uncertainty_k:g} K nothing is left of the band."
    elif max(seen.hottest) > high:
        says = (
            f"The hottest reading was {max(seen.hottest):g} °C: with an uncertainty of "
            f"{uncertainty_k:g} K it may have been above {programme.high_c:g} °C."
        )
    else:
        says = (
            f"With an uncertainty of {uncertainty_k:g} K it surely was in the band for "
            f"{exact_span(inner.length(inner.held))} only; it needs {exact_span(programme.hold_s)}."
        )
    return [Reason("within-uncertainty", says, spoils="undecided")]


def _apart(kelvin: float) -> str:
    """A difference that is too wide, never rounded down to one that would not be."""
    return f"{math.ceil(round(abs(kelvin) * 100, 6)) / 100:g}"
