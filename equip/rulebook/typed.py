"""What the rules in force let values read off a machine support: its limits, and the rules used."""

from decimal import Decimal
from typing import Literal, cast

from equip.facts import Limits as Own
from equip.facts import Process
from equip.rulebook.book import Rules
from equip.rulebook.rule import Rule
from equip.rules.evidence import Limits, NothingShown, Policy, SteamLimits
from equip.rules.evidence_water import BathLimits, WasherLimits
from equip.rules.typed_fields import machine_of, proves

_WASHER = (
    "evidence.washer-pair",
    "washer.flush-hottest-celsius",
    "washer.wash-coldest-celsius",
    "washer.wash-hottest-celsius",
)
_BATH = (
    "ultrasonic.shortest-minutes",
    "ultrasonic.longest-minutes",
    "wash.hottest-celsius",
    "ultrasonic.degassed-daily",
)


def typed_policy(rules: Rules, process: Process) -> tuple[Policy, tuple[Rule, ...]]:
    """What stands beside the values: who must read them, and whether a photo is asked for.

    A machine that only cleans is asked for less, unless the clinic decides otherwise.
    """
    used = ["evidence.typed-supports-release", "evidence.typed-two-readers"]
    two = rules.flag("evidence.typed-two-readers")
    photo = "not-asked"
    if proves(process):
        used.append("evidence.typed-photo")
        photo = rules.text("evidence.typed-photo")
    elif two:
        used.append("evidence.cleaning-two-readers")
        two = rules.flag("evidence.cleaning-two-readers")
    if two:
        used.append("evidence.second-reading-tries")
    policy = Policy(
        supports_release=rules.flag("evidence.typed-supports-release"),
        two_readers=two,
        photo=cast(Literal["not-asked", "asked", "needed"], photo),
    )
    return policy, tuple(rules[name] for name in used)


def typed_limits(rules: Rules, process: Process, programme: str) -> tuple[Limits, tuple[Rule, ...]]:
    """What the values are judged against. UnknownProgramme if the book has no such programme."""
    match machine_of(process):
        case "steriliser":
            steam = rules.programme(programme)
            behind = [rules[f"{programme}.{part}"] for part in ("low", "band-width", "hold")]
            return SteamLimits(steam.low_c, steam.high_c, steam.hold_s), tuple(behind)
        case "washer":
            return _washer(rules, programme, process.limits or Own())
        case "bath":
            return _bath(rules, process.limits or Own())
        case "other":
            return NothingShown(proves(process)), ()


def _bath(rules: Rules, own: Own) -> tuple[Limits, tuple[Rule, ...]]:
    """A bath by its own least run and hottest water where they are known, else by the book's."""
    shortest, longest = rules.number(_BATH[0]) * 60, rules.number(_BATH[1]) * 60
    hottest = rules.number(_BATH[2])
    if own.run_s is not None:
        shortest, longest = own.run_s, max(longest, own.run_s)
    if own.bath_high_c is not None:
        hottest = float(own.bath_high_c)
    known = {_BATH[0]: own.run_s, _BATH[2]: own.bath_high_c}
    limits = BathLimits(
        shortest_s=shortest,
        longest_s=longest,
        hottest_c=hottest,
        degas_daily=rules.flag(_BATH[3]),
    )
    return limits, tuple(rules[name] for name in _BATH if known.get(name) is None)


def _washer(rules: Rules, programme: str, maker: Own) -> tuple[Limits, tuple[Rule, ...]]:
    thermal = rules.thermal_programme(programme)
    own = [f"{programme}.{part}" for part in ("target", "pair-celsius", "pair-s")]
    limits = WasherLimits(
        target_s=thermal.target_s,
        pair_c=rules.number(own[1]),
        pair_s=rules.number(own[2]),
        pair_counts=rules.flag(_WASHER[0]),
        flush_hottest_c=_first(maker.flush_high_c, rules.number(_WASHER[1])),
        wash_coldest_c=_first(maker.wash_low_c, rules.number(_WASHER[2])),
        wash_hottest_c=_first(maker.wash_high_c, rules.number(_WASHER[3])),
    )
    known = dict(
        zip(_WASHER[1:], (maker.flush_high_c, maker.wash_low_c, maker.wash_high_c), strict=True)
    )
    return limits, tuple(rules[name] for name in (*own, *_WASHER) if known.get(name) is None)


def _first(own: Decimal | None, otherwise: float) -> float:
    """The machine's own limit where it is known."""
    return otherwise if own is None else float(own)
