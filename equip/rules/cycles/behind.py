"""What stands behind a reason of a judged log: few words for a picture, the rules it rests on.

A reason keeps its code and its sentence only. Which rules it rests on follows from the code and
the programme, and their values stand in the judgement.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from equip.rules.fitness.agents import agent_of


@dataclass(frozen=True, slots=True)
class Behind:
    """*short* names the trouble beside a curve; a *remark* changes no verdict.

    In *rules*, `*` stands for the programme, or for the agent that a soak is judged by.
    """

    short: str
    rules: tuple[str, ...] = ()
    remark: bool = False


_BAND = ("*.low", "*.band-width")
_HOLE = ("steam.hole-s", "steam.hole-factor")
_WET_HOLE = ("thermal.hole-s", "thermal.hole-factor", "thermal.hiding-hole-s")
_SOAK_TIME = ("*.minutes", "*.label-minutes", "*.society-minutes", "*.automated-minutes")
_SOAK_HEAT = ("*.celsius", "*.label-celsius", "*.society-celsius", "*.automated-celsius")
_WET_STAGE = ("thermal.stage-fall", "thermal.stage-swing", "thermal.fresh-water")

_BEHIND = {
    # Steam
    "hold-short": Behind("hot enough for too short a time", ("*.hold", *_BAND)),
    "dip-in-hold": Behind("fell below the band", ("*.low",)),
    "never-in-band": Behind("never in the band", _BAND),
    "hole-in-hold": Behind("no readings", _HOLE),
    "theory-gap": Behind("steam and chamber disagree", ("steam.theory-gap",)),
    "theory-gap-remark": Behind(
        "steam and chamber drift apart", ("steam.theory-gap-remark",), remark=True
    ),
    "spread-wide": Behind("probes too far apart", ("steam.spread",)),
    "equilibration-slow": Behind(
        "load too slow behind the chamber",
        ("steam.equilibration-small", "steam.equilibration-large"),
    ),
    "too-hot": Behind("above the band", (*_BAND, "*.hottest-celsius")),
    "within-uncertainty": Behind("too close to a limit to say", (*_BAND, "*.target")),
    "pressure-not-measured": Behind("no pressure in the log", ("steam.theory-gap",)),
    "pulses-few": Behind(
        "too few pulses of the air removal", ("machine.pulses", "machine.vacuum-kpa")
    ),
    "drying-shallow": Behind("drying vacuum not reached", ("machine.drying-kpa",)),
    "drying-not-in-log": Behind("drying not in the log"),
    "drying-short": Behind("dried too short", ("machine.drying-s",)),
    "drying-cut-off": Behind("log ends while drying", ("machine.drying-s",)),
    "hole-in-drying": Behind("no readings", _HOLE),
    "machine-limits-not-known": Behind("machine’s own limits not known", remark=True),
    "dip-after-hold": Behind("fell below the band after the hold", ("*.low",), remark=True),
    # Hot water
    "a0-short": Behind("A0 too low", ("*.target", "a0.floor")),
    "never-warm": Behind("never warm enough", ("thermal.stage-from",)),
    "stage-unclear": Behind("water or hot air?", _WET_STAGE),
    "hole-in-stage": Behind("no readings", _WET_HOLE),
    "hotter-than-water": Behind("hotter than water", ("thermal.hottest-water",)),
    "flush-not-found": Behind("flush not found", ("thermal.steady-k", "thermal.steady-s")),
    "flush-warm": Behind("flush too warm", ("machine.flush-high-c",)),
    "wash-not-found": Behind("wash not found", ("thermal.steady-k", "thermal.steady-s")),
    "wash-cold": Behind("wash too cold", ("machine.wash-low-c",)),
    "wash-hot": Behind("wash too hot", ("machine.wash-high-c",)),
    "dosing-not-in-log": Behind("detergent not in the log", remark=True),
    "drying-left-out": Behind("drying, not counted", ("thermal.stage-fall",), remark=True),
    # Values read off the machine
    "below-band": Behind("fell below the band", ("*.low",)),
    "above-band": Behind("rose above the band", _BAND),
    "hold-too-short": Behind("hot enough for too short a time", ("*.hold",)),
    "typed-not-accepted": Behind("no log", ("evidence.typed-supports-release",)),
    "one-reader": Behind("one reader", ("evidence.typed-two-readers",)),
    "one-reader-alone": Behind(
        "one reader, alone", ("release.alone", "release.alone-look-days"), remark=True
    ),
    "first-differed": Behind("read otherwise at first", remark=True),
    "no-photo": Behind("no photo", ("evidence.typed-photo",)),
    "typed-shows-less": Behind("typed values show less", remark=True),
    "a0-shown-short": Behind("A0 too low", ("*.target",)),
    "a0-machines-own": Behind("the machine’s own A0", remark=True),
    "a0-not-shown": Behind("no A0 shown", ("evidence.washer-pair",)),
    "pair-not-reached": Behind("too cool or too short", ("*.pair-celsius", "*.pair-s")),
    "flush-not-read": Behind("flush not read", remark=True),
    "flush-too-hot": Behind(
        "flush too hot", ("washer.flush-hottest-celsius", "machine.flush-high-c")
    ),
    "wash-not-read": Behind("wash not read", remark=True),
    "wash-unusual": Behind(
        "wash unusual", ("washer.wash-coldest-celsius", "washer.wash-hottest-celsius"), remark=True
    ),
    "run-too-short": Behind("ran too short", ("ultrasonic.shortest-minutes", "machine.run-s")),
    "run-long": Behind("ran long", ("ultrasonic.longest-minutes", "machine.run-s"), remark=True),
    "bath-too-hot": Behind("bath too hot", ("wash.hottest-celsius", "machine.bath-high-c")),
    "detergent-not-shown": Behind("detergent not shown", remark=True),
    "lot-not-written": Behind("lot not written", remark=True),
    # Soaks
    "strip-failed": Behind("strip failed", ("*.strip-percent",)),
    "strip-not-read": Behind("no strip read", ("*.strip-percent", "soak.strip-each-load")),
    "age-not-told": Behind("day of use not told", ("*.reuse-days",)),
    "too-old": Behind("solution too old", ("*.reuse-days",)),
    "basis-not-given": Behind("whose figure?", _SOAK_TIME),
    "one-figure-only": Behind("one figure only", remark=True),
    "minutes-not-told": Behind("time not told", _SOAK_TIME),
    "too-short": Behind("soaked too short", (*_SOAK_TIME, "soak.basis")),
    "celsius-not-told": Behind("temperature not told", (*_SOAK_HEAT, "soak.basis")),
    "too-cold": Behind("solution too cold", (*_SOAK_HEAT, "soak.basis")),
    "automated-not-told": Behind("by machine or by hand?", ("*.automated-minutes",)),
    "not-automated": Behind("done by hand", ("*.automated-minutes",)),
    # Any log
    "log-starts-hot": Behind("log starts hot", remark=True),
    "log-stops-hot": Behind("log stops hot", remark=True),
    "not-measured": Behind("not measured", remark=True),
    "as-read": Behind("as read", remark=True),
}


def behind(code: str) -> Behind:
    """What stands behind a reason; of a code that is not known here, only its own words."""
    return _BEHIND.get(code) or Behind(code.replace("-", " "))


def rules_behind(code: str, programme: str, used: Iterable[str]) -> list[str]:
    """Those of the *used* rules that a reason of that code rests on."""
    agent = agent_of(programme)
    stem = f"soak.{agent}" if agent else programme
    wanted = [rule.replace("*", stem) for rule in behind(code).rules]
    known = set(used)
    return [rule for rule in wanted if rule in known]
