"""Liquid agents: did a soak disinfect, and how is a solution mixed? In exact decimals.

Sources: CDC Guideline for Disinfection and Sterilization 2008, Table 4, for contact times and
reuse; the definition of parts per million by volume for mixing. Every limit is an argument.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import chain
from typing import Literal

from equip.rules.verdict import Reason, worst
from equip.rules.wording import several

Strip = Literal["pass", "fail", "none"]

_SOAK = "soak-"

PPM_A_PERCENT = 10_000
"""Parts per million in one per cent: a definition, not a limit."""


def agent_of(programme: str) -> str:
    """The agent by whose limits a programme of a machine is judged, "" if it is no soak.

    “soak-opa-0.55” is judged by the agent opa-0.55.
    """
    return programme.removeprefix(_SOAK) if programme.startswith(_SOAK) else ""


@dataclass(frozen=True, slots=True)
class Contact:
    """One way to disinfect: so many minutes at no less (and perhaps no more) than so many °C."""

    minutes: Decimal
    coldest_c: Decimal
    hottest_c: Decimal | None = None
    automated_only: bool = False

    def __str__(self) -> str:
        heat = f"{_plain(self.coldest_c)} °C or more"
        if self.hottest_c is not None:
            heat = f"{_plain(self.coldest_c)} to {_plain(self.hottest_c)} °C"
        place = " in an automated reprocessor" if self.automated_only else ""
        return f"{_plain(self.minutes)} min at {heat}{place}"


@dataclass(frozen=True, slots=True)
class Agent:
    """An agent's limits.

    *contacts* by whose figure it is ("label", "society"), one entry where there is no choice;
    any one contact of an entry suffices. *strip_percent* is what a test strip must show, None
    where the source asks for no strip. Day 1 is the day it was made up or opened. *reuse_loads* is
    how many loads one filling may serve, None where only its days count.
    """

    contacts: Mapping[str, Sequence[Contact]]
    reuse_days: int
    strip_percent: Decimal | None = None
    reuse_loads: int | None = None


@dataclass(frozen=True, slots=True)
class Soak:
    """What was done. None is what nobody told."""

    celsius: Decimal | None = None
    minutes: Decimal | None = None
    automated: bool | None = None
    day_of_use: int | None = None
    strip: Strip | None = None


def contacts_by(agent: Agent, basis: str) -> Sequence[Contact]:
    """The ways to disinfect that *basis* chooses, or the only figure there is."""
    only = next(iter(agent.contacts.values()))
    return agent.contacts[basis] if len(agent.contacts) > 1 else only


def minutes_by_hand(agent: Agent, basis: str) -> Decimal:
    """The shortest soak without a reprocessor that can disinfect."""
    ways = contacts_by(agent, basis)
    by_hand = [contact.minutes for contact in ways if not contact.automated_only]
    return min(by_hand or [contact.minutes for contact in ways])


def why_not_disinfected(
    soak: Soak, agent: Agent, basis: str | None = None, *, strip_needed: bool = True
) -> list[Reason]:
    """Every reason against *soak*, remarks included; without what is asked for it is undecided.

    *basis* chooses between two figures in print. Without it a soak passes only by both and
    fails only by both. *strip_needed*: each load has a strip of its own, where strips exist.
    """
    return [
        *_of_the_strip(soak, agent, strip_needed),
        *_of_the_contact(soak, agent, basis),
        *_of_the_age(soak, agent),
    ]


def _of_the_strip(soak: Soak, agent: Agent, needed: bool) -> list[Reason]:
    if soak.strip == "fail":
        says = "The strip failed: the solution is spent, whatever the time."
        if agent.strip_percent is not None:
            least = _plain(agent.strip_percent)
            says = f"The strip failed, whatever the time: below {least} % the solution is spent."
        return [Reason("strip-failed", says)]
    if agent.strip_percent is not None and soak.strip != "pass":
        says = (
            f"No strip was read; one is due, and must show {_plain(agent.strip_percent)} % or more."
        )
        return [Reason("strip-not-read", says, spoils="undecided" if needed else "pass")]
    return []


def _of_the_age(soak: Soak, agent: Agent) -> list[Reason]:
    if soak.day_of_use is None:
        says = "The day of use was not told, so the solution's age was not judged."
        return [Reason("age-not-told", says, spoils="undecided")]
    if soak.day_of_use > agent.reuse_days:
        days = "1 day" if agent.reuse_days == 1 else f"{agent.reuse_days} days"
        says = f"The solution was in use for day {soak.day_of_use}; it may serve {days}."
        return [Reason("too-old", says)]
    return []


def _of_the_contact(soak: Soak, agent: Agent, basis: str | None) -> list[Reason]:
    if len(agent.contacts) == 1:
        return [
            *_of_one_figure(soak, next(iter(agent.contacts.values()))),
            *_of_a_needless_basis(basis),
        ]
    if basis is not None:
        return _of_one_figure(soak, agent.contacts[basis])
    each = {whose: _of_one_figure(soak, contacts) for whose, contacts in agent.contacts.items()}
    if len({worst(reasons) for reasons in each.values()}) == 1:
        return next(iter(each.values()))
    figures = several([f"{whose} {_ways(ways)}" for whose, ways in agent.contacts.items()])
    says = f"Two figures are in print ({figures}) and it passes by one only: name your basis."
    return [Reason("basis-not-given", says, spoils="undecided")]


def _of_a_needless_basis(basis: str | None) -> list[Reason]:
    if basis is None:
        return []
    says = "Only one figure is known for this agent, so the basis made no difference."
    return [Reason("one-figure-only", says, spoils="pass")]


def _of_one_figure(soak: Soak, contacts: Sequence[Contact]) -> list[Reason]:
    missed = [_missed(soak, contact) for contact in contacts]
    if not all(missed):
        return []
    unknown = [faults for faults in missed if all(f.spoils == "undecided" for f in faults)]
    if unknown:
        return unknown[0]
    # The way that was missed by least is the one that was meant.
    nearest = min(missed, key=len)
    needs = f"it needs {_ways(contacts)}."
    return [replace(f, says=f"{f.says}; {needs}") for f in nearest if f.spoils == "fail"]


def _missed(soak: Soak, contact: Contact) -> list[Reason]:
    """What keeps *soak* from being this contact; empty if it is."""
    return list(
        chain(
            _of_the_time(soak.minutes, contact),
            _of_the_heat(soak.celsius, contact),
            _of_the_machine(soak.automated, contact),
        )
    )


def _of_the_time(minutes: Decimal | None, contact: Contact) -> list[Reason]:
    if minutes is None:
        says = _untold("How long it soaked", contact)
        return [Reason("minutes-not-told", says, spoils="undecided")]
    if minutes < contact.minutes:
        return [Reason("too-short", f"It soaked for {_plain(minutes)} min")]
    return []


def _of_the_heat(celsius: Decimal | None, contact: Contact) -> list[Reason]:
    if celsius is None:
        says = _untold("The temperature of the solution", contact)
        return [Reason("celsius-not-told", says, spoils="undecided")]
    if celsius < contact.coldest_c:
        return [Reason("too-cold", f"The solution was at {_plain(celsius)} °C")]
    if contact.hottest_c is not None and celsius > contact.hottest_c:
        return [Reason("too-hot", f"The solution was at {_plain(celsius)} °C")]
    return []


def _of_the_machine(automated: bool | None, contact: Contact) -> list[Reason]:
    if not contact.automated_only or automated:
        return []
    if automated is None:
        says = _untold("Whether a reprocessor did it", contact)
        return [Reason("automated-not-told", says, spoils="undecided")]
    return [Reason("not-automated", "It was done by hand")]


def _untold(what: str, contact: Contact) -> str:
    return f"{what} was not told; it needs {contact}."


def _ways(contacts: Sequence[Contact]) -> str:
    return ", or ".join(str(contact) for contact in contacts)


def _plain(number: Decimal) -> str:
    """25.0 as it is said: 25."""
    return f"{number.normalize():f}"


# --- mixing -------------------------------------------------------------------------------


class TooWeak(ValueError):
    """No amount of this stock gives what was asked for; the message says what it gives."""


def strength_ppm(stock_percent: Decimal, stock_ml: Decimal, water_ml: Decimal) -> Fraction:
    """Parts per million of stock and water mixed, exactly.

    Volumes and not a ratio, because "1 in 10" is read as 1 + 9 and as 1 + 10.
    """
    whole = Fraction(stock_ml) + Fraction(water_ml)
    return Fraction(stock_percent) * PPM_A_PERCENT * Fraction(stock_ml) / whole


def volumes_ml(
    stock_percent: Decimal, target_ppm: Decimal | Fraction, total_ml: Decimal | Fraction
) -> tuple[Fraction, Fraction]:
    """Millilitres of stock and of water for *total_ml* of *target_ppm*, exactly.

    Raises TooWeak where the stock itself is below the target.
    """
    stock_ppm = Fraction(stock_percent) * PPM_A_PERCENT
    if stock_ppm < target_ppm:
        raise TooWeak(
            f"A stock of {_plain(stock_percent)} % holds {float(stock_ppm):.12g} ppm, less than "
            f"the {float(target_ppm):.12g} ppm asked for: take a stronger stock."
        )
    stock_ml = Fraction(total_ml) * Fraction(target_ppm) / stock_ppm
    return stock_ml, Fraction(total_ml) - stock_ml
