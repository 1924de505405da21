"""What values read off a washer or an ultrasonic bath can support.

An A0 that the machine shows is compared with its target; none is ever worked out from a rounded
temperature and a rounded time. Such a pair counts only where the rule book lets it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from equip.rules.cycles.typed.fields import value
from equip.rules.verdict import Reason
from equip.rules.wording import celsius_band, exact_span, span

Typed = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class WasherLimits:
    """Target of A0, the pair that stands for it if *pair_counts*, flush and wash in °C.

    With *own_wash* the wash is that of this machine's maker, open where None; else it is taught.
    """

    target_s: float
    pair_c: float
    pair_s: float
    pair_counts: bool
    flush_hottest_c: float
    wash_coldest_c: float | None
    wash_hottest_c: float | None
    own_wash: bool = False


@dataclass(frozen=True, slots=True)
class BathLimits:
    """How long, how warm at most, and whether each day's filling must be degassed."""

    shortest_s: float
    longest_s: float
    hottest_c: float
    degas_daily: bool


def of_the_washer(typed: Typed, limits: WasherLimits) -> list[Reason]:
    """Every reason from the values of a washer, remarks included."""
    return [
        *_disinfection(typed, limits),
        *_flush(typed, limits),
        *_wash(typed, limits),
        *_detergent(typed),
    ]


def of_the_bath(typed: Typed, limits: BathLimits) -> list[Reason]:
    """Every reason from the values of an ultrasonic bath, remarks included."""
    return [*_run(typed, limits), *_warmth(typed, limits), *_gas(typed, limits), *_detergent(typed)]


def _disinfection(typed: Typed, limits: WasherLimits) -> list[Reason]:
    a0 = value(typed, "a0_shown")
    if a0 is None:
        return _pair(typed, limits)
    if a0 < _exact(limits.target_s):
        says = f"The machine shows an A0 of {_plain(a0)} s; it needs {limits.target_s:g} s."
        return [Reason("a0-shown-short", says)]
    says = f"The A0 of {_plain(a0)} s is the machine’s own figure; no readings stand behind it."
    return [Reason("a0-machines-own", says, spoils="pass")]


def _pair(typed: Typed, limits: WasherLimits) -> list[Reason]:
    """One temperature and one time: never an A0, perhaps a pair that the rule book takes."""
    lowest, held = value(typed, "disinfect_c"), value(typed, "disinfect_min")
    if lowest is None or held is None:
        says = "Neither an A0 nor a temperature with its time was read: nothing shows disinfection."
        return [Reason("disinfection-missing", says, spoils="undecided")]
    shown = f"{_plain(lowest)} °C for {exact_span(float(held))}"
    says = f"An A0 cannot be worked out from a rounded pair ({shown})."
    if not limits.pair_counts:
        return [Reason("a0-not-shown", f"{says} Hand in the log.", spoils="undecided")]
    reasons = [Reason("a0-not-shown", says, spoils="pass")]
    if lowest < _exact(limits.pair_c) or held < _exact(limits.pair_s):
        wanted = f"{limits.pair_c:g} °C for {span(limits.pair_s)}"
        says = f"The machine shows {shown}; the rule book takes {wanted}, both reached."
        reasons.append(Reason("pair-not-reached", says, spoils="undecided"))
    return reasons


def _flush(typed: Typed, limits: WasherLimits) -> list[Reason]:
    flush = value(typed, "flush_c")
    if flush is None:
        says = "The temperature of the first flush was not read, so it was not judged."
        return [Reason("flush-not-read", says, spoils="pass")]
    if flush > _exact(limits.flush_hottest_c):
        says = (
            f"The first flush was {_plain(flush)} °C; above {limits.flush_hottest_c:g} °C protein "
            "sets on the instruments."
        )
        return [Reason("flush-too-hot", says)]
    return []


def _wash(typed: Typed, limits: WasherLimits) -> list[Reason]:
    """By the machine's own limits as its log would be; by what is taught a remark, not more."""
    wash = value(typed, "wash_c")
    if wash is None:
        says = "The temperature of the wash was not read, so it was not judged."
        return [Reason("wash-not-read", says, spoils="pass")]
    low, high = limits.wash_coldest_c, limits.wash_hottest_c
    too_cold = low is not None and wash < _exact(low)
    too_hot = high is not None and wash > _exact(high)
    if not (too_cold or too_hot):
        return []
    was = f"The wash was {_plain(wash)} °C"
    if limits.own_wash:
        says = f"{was}; this machine washes at {celsius_band(low, high)}."
        return [Reason("wash-cold", says) if too_cold else Reason("wash-hot", says)]
    says = f"{was}; {celsius_band(low, high)} are taught. The detergent’s instructions decide."
    return [Reason("wash-unusual", says, spoils="pass")]


def _run(typed: Typed, limits: BathLimits) -> list[Reason]:
    ran = value(typed, "run_min")
    if ran is None:
        return [Reason("time-missing", "The time it ran is missing.", spoils="undecided")]
    if ran < _exact(limits.shortest_s):
        says = f"It ran for {exact_span(float(ran))}; it needs {span(limits.shortest_s)}."
        return [Reason("run-too-short", says)]
    if ran > _exact(limits.longest_s):
        says = (
            f"It ran for {exact_span(float(ran))}, longer than the usual {span(limits.longest_s)}: "
            "look at edges and joints."
        )
        return [Reason("run-long", says, spoils="pass")]
    return []


def _warmth(typed: Typed, limits: BathLimits) -> list[Reason]:
    warm = value(typed, "bath_c")
    if warm is None:
        says = "The temperature of the bath is missing: read it off the bath or a thermometer."
        return [Reason("temperature-missing", says, spoils="undecided")]
    if warm > _exact(limits.hottest_c):
        says = (
            f"The bath was {_plain(warm)} °C; above {limits.hottest_c:g} °C protein sets on the "
            "instruments."
        )
        return [Reason("bath-too-hot", says)]
    return []


def _gas(typed: Typed, limits: BathLimits) -> list[Reason]:
    if not limits.degas_daily or typed.get("degassed") == "yes":
        return []
    if typed.get("degassed") == "no":
        says = "The bath was not degassed today: gas in the liquid takes the force out of it."
        return [Reason("not-degassed", says)]
    says = "Nobody said whether the bath was degassed today."
    return [Reason("degassing-unknown", says, spoils="undecided")]


def _detergent(typed: Typed) -> list[Reason]:
    match typed.get("detergent"):
        case "no":
            return [Reason("no-detergent", "No detergent went in: nothing was cleaned as it must.")]
        case "yes":
            reasons = []
        case "not-shown":
            says = "The machine does not say whether it dosed its detergent."
            reasons = [Reason("detergent-not-shown", says, spoils="pass")]
        case _:
            says = "Nobody said whether detergent went in."
            return [Reason("detergent-unknown", says, spoils="undecided")]
    if not typed.get("lot"):
        says = "The detergent’s lot was not written down: a recall would not find this load."
        reasons.append(Reason("lot-not-written", says, spoils="pass"))
    return reasons


def _exact(limit: float) -> Fraction:
    return Fraction(str(limit))


def _plain(number: Fraction) -> str:
    return f"{float(number):.10g}"
