"""Chemical indicators, types 1 to 6: can this one say anything of that steam programme?

An indicator that does not suit a programme is not a failed load: one that needs longer than the
programme holds stays unturned in a perfect cycle. Its verdict is therefore undecided.
Sources: ISO 11140-1 for the types (as its users summarise it); that a stated value must not
exceed the programme's own follows from what a stated value is.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from equip.rules.verdict import Reason
from equip.rules.wording import span

TYPES = (1, 2, 3, 4, 5, 6)

_NOT_OF_THE_LOAD = {
    1: "A process indicator (type 1) shows that a pack went through, not that it was enough.",
    2: "A test of its own (type 2, as for air removal) says nothing of a load's exposure.",
}


@dataclass(frozen=True, slots=True)
class Indicator:
    """An indicator as its packet states it: heat in °C, time in seconds, None if not told."""

    type: int
    stated_celsius: Decimal | None = None
    stated_s: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Promised:
    """What a programme promises at least: its lowest temperature in °C for its hold in seconds."""

    name: str
    celsius: Decimal
    hold_s: Decimal


def suits(indicator: Indicator, programme: Promised) -> tuple[bool | None, list[Reason]]:
    """Whether it turns in every good cycle of *programme* and can judge one; and why not.

    None where too little was told to say.
    """
    if indicator.type in _NOT_OF_THE_LOAD:
        says = _NOT_OF_THE_LOAD[indicator.type]
        return False, [Reason("no-judge-of-exposure", says, spoils="undecided")]
    against = [*_of_the_heat(indicator, programme), *_of_the_time(indicator, programme)]
    if against:
        return False, against
    if unknown := _untold(indicator):
        return None, unknown
    return True, _remarks(indicator, programme)


def of_the_result(
    suited: bool | None, result: Literal["pass", "fail", "unclear"] | None
) -> list[Reason]:
    """What the indicator's own *result* adds: only one that suits can fail a load."""
    if result is None:
        return []
    if suited:
        return _OF_ONE_THAT_SUITS[result]
    says = "Its result was not counted either way."
    return [Reason("result-not-counted", says, spoils="undecided")]


_OF_ONE_THAT_SUITS: dict[str, list[Reason]] = {
    "pass": [],
    "fail": [
        Reason(
            "indicator-failed", "The indicator did not turn as it should: the load may not be used."
        )
    ],
    "unclear": [
        Reason(
            "indicator-unclear",
            "Whether it turned is unclear: the load counts as not passed until it is read again.",
            spoils="undecided",
        )
    ],
}


def _of_the_heat(indicator: Indicator, programme: Promised) -> list[Reason]:
    stated = indicator.stated_celsius
    if stated is None:
        return []
    if indicator.type == 6 and stated != programme.celsius:
        says = (
            f"A type 6 stands for one cycle: this one for {_plain(stated)} °C, "
            f"{programme.name} runs at {_plain(programme.celsius)} °C. Take one made for it."
        )
        return [Reason("another-temperature", says, spoils="undecided")]
    if stated > programme.celsius:
        says = (
            f"It is stated for {_plain(stated)} °C; {programme.name} promises "
            f"{_plain(programme.celsius)} °C only. Give the value it states for that, "
            "or take another."
        )
        return [Reason("needs-more-heat", says, spoils="undecided")]
    return []


def _of_the_time(indicator: Indicator, programme: Promised) -> list[Reason]:
    stated = indicator.stated_s
    if stated is None or stated <= programme.hold_s:
        return []
    says = (
        f"It needs {_span(stated)}; {programme.name} holds for {_span(programme.hold_s)}. "
        "It can stay unturned in a good cycle: take one made for this programme."
    )
    return [Reason("needs-longer", says, spoils="undecided")]


def _untold(indicator: Indicator) -> list[Reason]:
    told = [indicator.stated_celsius is not None, indicator.stated_s is not None]
    # A type 3 reacts to one variable, so it may state one value only.
    if all(told) or (indicator.type == 3 and any(told)):
        return []
    says = "Its stated temperature and time were not both told; they stand on the packet."
    return [Reason("stated-value-not-told", says, spoils="undecided")]


def _remarks(indicator: Indicator, programme: Promised) -> list[Reason]:
    said: list[Reason] = []
    if indicator.type == 3:
        says = "A type 3 shows one variable only; time and heat together it cannot show."
        said.append(Reason("one-variable-only", says, spoils="pass"))
    cooler = (indicator.stated_celsius or programme.celsius) < programme.celsius
    shorter = (indicator.stated_s or programme.hold_s) < programme.hold_s
    if cooler or shorter:
        says = "It turns with less than the programme asks: turned, it does not prove all of it."
        said.append(Reason("turns-with-less", says, spoils="pass"))
    return said


def _span(seconds: Decimal) -> str:
    whole = seconds == seconds.to_integral_value()
    return span(float(seconds)) if whole else f"{_plain(seconds)} s"


def _plain(number: Decimal) -> str:
    """134.0 as it is said: 134."""
    return f"{number.normalize():f}"
