"""What the rules in force let values read off a machine support: its limits, and the rules used."""

from decimal import Decimal
from typing import Literal, cast

from equip.facts import Limits as Own
from equip.facts import Process
from equip.rulebook.book import Rules
from equip.rulebook.rule import Rule
from equip.rules.cycles.typed.fields import machine_of, proves
from equip.rules.cycles.typed.judge import Limits, NothingShown, Policy, SteamLimits
from equip.rules.cycles.typed.water import BathLimits, WasherLimits

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
    alone = two and rules.flag("release.alone")
    if two:
        used.append("evidence.second-reading-tries")
    if alone:
        used += ["release.alone", "release.alone-look-days"]
    policy = Policy(
        supports_release=rules.flag("evidence.typed-supports-release"),
        two_readers=two,
        photo=cast(Literal["not-asked", "asked", "needed"], photo),
        alone_days=rules.whole("release.alone-look-days") if alone else None,
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
    book = {name: rules.number(name) for name in _BATH[:3]}
    shortest, longest, hottest = book[_BATH[0]] * 60, book[_BATH[1]] * 60, book[_BATH[2]]
    unused = set()
    if own.run_s is not None:
        unused |= {_BATH[0], *(_BATH[1:2] if own.run_s > longest else ())}
        shortest, longest = own.run_s, max(longest, own.run_s)
    if own.bath_high_c is not None:
        unused.add(_BATH[2])
        hottest = float(own.bath_high_c)
    limits = BathLimits(
        shortest_s=shortest,
        longest_s=longest,
        hottest_c=hottest,
        degas_daily=rules.flag(_BATH[3]),
    )
    return limits, tuple(rules[name] for name in _BATH if name not in unused)


def _washer(rules: Rules, programme: str, maker: Own) -> tuple[Limits, tuple[Rule, ...]]:
    """A washer by its own flush and wash where they are known, else by the book's.

    A wash of which the maker says one end only stays open at the other: what is taught there
    belongs to another wash.
    """
    thermal = rules.thermal_programme(programme)
    own = [f"{programme}.{part}" for part in ("target", "pair-celsius", "pair-s")]
    flush, wash = _float(maker.flush_high_c), (_float(maker.wash_low_c), _float(maker.wash_high_c))
    own_wash = wash != (None, None)
    unused = {*(() if flush is None else _WASHER[1:2]), *(_WASHER[2:] if own_wash else ())}
    coldest, hottest = wash if own_wash else (rules.number(_WASHER[2]), rules.number(_WASHER[3]))
    limits = WasherLimits(
        target_s=thermal.target_s,
        pair_c=rules.number(own[1]),
        pair_s=rules.number(own[2]),
        pair_counts=rules.flag(_WASHER[0]),
        flush_hottest_c=rules.number(_WASHER[1]) if flush is None else flush,
        wash_coldest_c=coldest,
        wash_hottest_c=hottest,
        own_wash=own_wash,
    )
    return limits, tuple(rules[name] for name in (*own, *_WASHER) if name not in unused)


def _float(own: Decimal | None) -> float | None:
    return None if own is None else float(own)
