"""What values read off a machine can support when there is no log: less, and it says so.

A display or a printed strip shows a few figures, rounded, of one place. What it cannot show is
named with every judgement, by kind of machine. Nothing is worked out from such values: no F0, no
A0; a figure that the machine shows is the machine's own.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from equip.rules.cycles.typed import water
from equip.rules.cycles.typed.fields import shown_name, value
from equip.rules.cycles.typed.water import BathLimits, WasherLimits
from equip.rules.verdict import GRAVITY, Reason, Verdict, judgement, worst
from equip.rules.wording import exact_span, several, span

Typed = Mapping[str, str]
"""Values as they were typed, by name of the field; what nobody typed is not in it."""

NOT_SHOWN = "typed-shows-less"
"""The code of the remark that says what such values cannot show."""


@dataclass(frozen=True, slots=True)
class SteamLimits:
    """Band and time of the programme."""

    low_c: float
    high_c: float
    hold_s: float


@dataclass(frozen=True, slots=True)
class NothingShown:
    """A machine that shows no more than that it finished; *proves* if more rests on it than that.

    Its finishing alone never stands for a disinfection.
    """

    proves: bool = False


Limits = SteamLimits | WasherLimits | BathLimits | NothingShown


@dataclass(frozen=True, slots=True)
class Policy:
    """What the rule book lets typed values do.

    With *alone_days*, one reader and a photo are enough for whoever works alone: somebody else
    looks at the photo within so many days.
    """

    supports_release: bool = True
    two_readers: bool = False
    photo: Literal["not-asked", "asked", "needed"] = "not-asked"
    alone_days: int | None = None


@dataclass(frozen=True, slots=True)
class Backing:
    """What stands beside the values: a photo, and what a second person read.

    *second* are the second reader's own values, None before anybody read again or if they differ;
    *differs* names what a second reader read otherwise, and *tries_left* how often one may still
    read again.
    """

    photo: bool = False
    second: Typed | None = None
    differs: tuple[str, ...] = ()
    tries_left: int = 0


def judge_typed(
    typed: Typed, limits: Limits, policy: Policy, backing: Backing
) -> tuple[Verdict, list[Reason]]:
    """The verdict that typed values can support, with every reason and what they cannot show.

    Where two people read, each reading must support it: rounding never decides for a pass. A
    second person is asked only where their reading could still make it one.
    """
    reasons = _of_one_reading(typed, limits)
    if backing.second is not None:
        other = _of_one_reading({**typed, **backing.second}, limits)
        reasons = min(reasons, other, key=lambda one: GRAVITY.index(worst(one)))
    if not policy.supports_release:
        says = "The rule book does not let typed values support a release: hand in the log."
        reasons.append(Reason("typed-not-accepted", says, spoils="undecided"))
    if worst(reasons) == "pass":
        reasons += _of_the_readers(policy, backing)
    reasons += _of_the_photo(policy, backing)
    judged = judgement(reasons, {})
    return judged.verdict, list(judged.reasons)


def _of_one_reading(typed: Typed, limits: Limits) -> list[Reason]:
    return [*_said_by_machine(typed), *_by_kind(typed, limits)]


def _by_kind(typed: Typed, limits: Limits) -> list[Reason]:
    match limits:
        case SteamLimits():
            says = (
                "Not shown by values read off a steriliser: that the steam was saturated (all air "
                "removed, temperature and pressure agreeing), the equilibration time, the spread "
                "between places in the chamber, and whether it left its band between two readings. "
                "No F0 is claimed."
            )
            return [*_band(typed, limits), *_time(typed, limits), _not_shown(says)]
        case WasherLimits():
            says = (
                "Not shown by values read off a washer: the coldest place in the load, that it "
                "stayed hot throughout, that water reached every surface and lumen, and that the "
                "load came out clean: inspect each thing. No A0 is worked out from such values."
            )
            return [*water.of_the_washer(typed, limits), _not_shown(says)]
        case BathLimits():
            says = (
                "Not shown by values read off a bath: that it worked with its full force "
                "everywhere, that every lumen was filled, and that the load came out clean: "
                "inspect each thing. It disinfects nothing."
            )
            return [*water.of_the_bath(typed, limits), _not_shown(says)]
        case NothingShown():
            return _nothing(limits)


def _nothing(limits: NothingShown) -> list[Reason]:
    says = "Shown is only that the machine finished: no temperature, no time, no strength."
    reasons = [_not_shown(says)]
    if limits.proves:
        says = "That a machine finished does not show that anything was disinfected or sterilised."
        reasons.append(Reason("finishing-proves-nothing", says, spoils="undecided"))
    return reasons


def _not_shown(says: str) -> Reason:
    return Reason(NOT_SHOWN, says, spoils="pass")


def _said_by_machine(typed: Typed) -> list[Reason]:
    reasons = []
    completed = typed.get("completed")
    if completed == "no":
        reasons.append(Reason("not-completed", "The machine did not finish its cycle."))
    elif completed is None:
        says = "Nobody said whether the machine finished without a fault."
        reasons.append(Reason("completion-unknown", says, spoils="undecided"))
    if typed.get("indicator") == "fail":
        reasons.append(Reason("indicator-failed", "The indicator did not turn as it should."))
    return reasons


def _band(typed: Typed, limits: SteamLimits) -> list[Reason]:
    lowest, highest = value(typed, "lowest_c"), value(typed, "highest_c")
    if lowest is None or highest is None:
        says = "The lowest and the highest temperature of the hold are missing."
        return [Reason("temperature-missing", says, spoils="undecided")]
    reasons = []
    if lowest < _exact(limits.low_c):
        says = f"It fell to {float(lowest):g} °C; it must not fall below {limits.low_c:g} °C."
        reasons.append(Reason("below-band", says))
    if highest > _exact(limits.high_c):
        says = f"It rose to {float(highest):g} °C; it must not rise above {limits.high_c:g} °C."
        reasons.append(Reason("above-band", says))
    if highest < lowest:
        says = "The highest temperature is below the lowest: they were read wrongly."
        reasons.append(Reason("temperatures-swapped", says, spoils="undecided"))
    return reasons


def _time(typed: Typed, limits: SteamLimits) -> list[Reason]:
    held = value(typed, "hold_min")
    if held is None:
        return [Reason("time-missing", "The holding time is missing.", spoils="undecided")]
    if held < _exact(limits.hold_s):
        says = f"It held for {exact_span(float(held))}; it needs {span(limits.hold_s)}."
        return [Reason("hold-too-short", says)]
    return []


def _of_the_readers(policy: Policy, backing: Backing) -> list[Reason]:
    differs = several([shown_name(name) for name in backing.differs])
    if backing.second is not None:
        if not differs:
            return []
        says = f"A second reader first read another value of {differs}; read again, it agreed."
        return [Reason("first-differed", says, spoils="pass")]
    if not policy.two_readers:
        return []
    if not differs and policy.alone_days is not None and backing.photo:
        says = (
            "One person read it, by the rule for whoever works alone: somebody else looks at its "
            f"photo within {policy.alone_days} days of its release."
        )
        return [Reason("one-reader-alone", says, spoils="pass")]
    if not differs:
        says = "A second person must read the same display or strip, signed in as themselves."
        return [Reason("one-reader", says, spoils="undecided")]
    says = f"A second reader read another value of {differs}."
    if backing.tries_left:
        return [Reason("readers-differ", f"{says} One may read it again.", spoils="undecided")]
    says += " Nobody can say which is right: reject it and run its contents again."
    return [Reason("readers-disagree", says, spoils="undecided")]


def _of_the_photo(policy: Policy, backing: Backing) -> list[Reason]:
    if backing.photo or policy.photo == "not-asked":
        return []
    says = "No photo of the strip or display was kept: nobody can read it again later."
    needed = policy.photo == "needed"
    return [Reason("no-photo", says, spoils="undecided" if needed else "pass")]


def _exact(limit: float) -> Fraction:
    """The limit as the rule book writes it, not its nearest binary fraction."""
    return Fraction(str(limit))
