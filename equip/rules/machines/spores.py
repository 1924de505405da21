"""Spore tests of one machine over time: what a positive one opens, what closes it, what to do next.

A positive test takes the machine out of use until enough repeats in a row are negative. A repeat
is a test whose cycle ran after the positive was known; what ran before it is history.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from equip.rules.fitness.lots import Lot, why_not_serve
from equip.rules.machines.leak_and_spores import Process, Spore, enough_negatives
from equip.rules.verdict import Reason


@dataclass(frozen=True, slots=True)
class Outcome:
    """One spore test that was read: when its cycle ran, when it was read."""

    ran: datetime
    read: datetime
    result: Spore


@dataclass(frozen=True, slots=True)
class Episode:
    """What began with a positive test. *ended* is when the last negative needed was read."""

    first: Outcome
    began: datetime
    repeats: tuple[Spore, ...] = ()
    ended: datetime | None = None

    @property
    def in_a_row(self) -> int:
        """How many of the last repeats were negative, one after the other."""
        count = 0
        for result in reversed(self.repeats):
            if result != "negative":
                break
            count += 1
        return count


def episodes(tests: Iterable[Outcome], needed: int) -> list[Episode]:
    """Every episode in order; only the last one can be open."""
    found: list[Episode] = []
    for test in sorted(tests, key=lambda one: (one.read, one.ran)):
        now = found[-1] if found and found[-1].ended is None else None
        if now is None:
            if test.result == "positive":
                found.append(Episode(test, test.ran))
        elif test.ran > now.first.read:
            found[-1] = _repeated(now, test, needed)
        elif test.result == "positive":
            found[-1] = Episode(now.first, min(now.began, test.ran), now.repeats)
    return found


def _repeated(now: Episode, test: Outcome, needed: int) -> Episode:
    repeats = (*now.repeats, test.result)
    ended = test.read if enough_negatives(repeats, needed) else None
    return Episode(now.first, now.began, repeats, ended)


def last_negative(tests: Iterable[Outcome], before: datetime | None) -> datetime | None:
    """When the last test ran that was negative, of those that ran ahead of *before*."""
    return max(
        (
            test.ran
            for test in tests
            if test.result == "negative" and (before is None or test.ran < before)
        ),
        default=None,
    )


# --- reading one ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Look:
    """What a person sees: growth or none in the test, growth or none in its control."""

    grew: bool
    control_grew: bool | None
    incubated_h: Decimal | None


def result_of(
    look: Look, lot: Lot, ran: date, *, control_needed: bool
) -> tuple[Spore, list[Reason]]:
    """What a spore test comes to. An invalid one is neither: it clears nothing."""
    against = [
        Reason(told.code, told.says, spoils="undecided")
        for told in why_not_serve(lot, ran)
        if told.code != "lot-finished"  # used up since, which harms no test that ran before
    ]
    if look.control_grew is False:
        says = "Its control did not grow: nothing shows that its spores were alive."
        against.append(Reason("control-did-not-grow", says, spoils="undecided"))
    if not look.grew:
        against += _too_soon(look, lot)
        if look.control_grew is None and control_needed:
            says = "No control of its lot was grown beside it: nothing shows that it was alive."
            against.append(Reason("no-control", says, spoils="undecided"))
    if against:
        if look.grew:
            says = "Spores grew in it all the same: put another test in the next cycle."
            against.append(Reason("grew-all-the-same", says, spoils="undecided"))
        return "invalid", against
    if look.grew:
        where = "in it and in its control" if look.control_grew else "in it"
        return "positive", [Reason("spores-grew", f"Spores grew {where}.")]
    return "negative", []


def _too_soon(look: Look, lot: Lot) -> list[Reason]:
    stated = lot.stated.incubate_h
    if stated is None or look.incubated_h is None or look.incubated_h >= stated:
        return []
    says = f"It was read after {look.incubated_h} h; its packet states {stated} h. Read it again."
    return [Reason("read-too-soon", says, spoils="undecided")]


def to_be_read(ran: datetime, lot: Lot | None, usual_h: int) -> datetime:
    """From when a result is waited for: the incubation that the packet states, or the usual one."""
    stated = lot.stated.incubate_h if lot is not None else None
    return ran + timedelta(hours=usual_h if stated is None else stated)


# --- what to do next ------------------------------------------------------------------------


def what_next(
    process: Process, now: Episode | None, in_doubt: int, needed: int, *, defect: bool
) -> list[str]:
    """What a practice manager does next, in order, one step a sentence or two."""
    is_open = now is not None and now.ended is None
    says = []
    if defect:
        says.append("Take the machine out of use now, and have the fault found and mended.")
    elif now is not None:
        says.append(_of_the_machine(now, needed))
    if is_open and not in_doubt and process == "steam":
        says.append(
            "Nothing is recalled yet: for steam one positive test alone puts no load in doubt. "
            "Look at the machine and at the settings of each load; if anything was wrong, say so "
            "below."
        )
    if is_open:
        says.append(
            "Use nothing that came out of the machine since its last negative test, until this is "
            "settled."
        )
    if in_doubt:
        loads, them = ("1 load counts", "it")
        if in_doubt > 1:
            loads, them = f"{in_doubt} loads count", "them"
        says.append(
            f"{loads} as not sterile. Open a look-back on {them}: it lists who was treated with "
            "what came out. What was not used goes round again."
        )
    return says


def _of_the_machine(now: Episode, needed: int) -> str:
    if now.ended is not None:
        return f"{_repeats(needed)} in a row {_were(needed)} negative: the machine may run again."
    if not now.repeats:
        return (
            f"Take the machine out of use now. Run the spore test again in {_cycles(needed)}, one "
            "after the other, with nothing in them that is meant for a patient, and write each "
            "result on the machine's sheet of the day."
        )
    if "positive" in now.repeats and now.in_a_row == 0:
        return (
            "Leave the machine out of use: a repeat was positive. Have it mended, then repeat the "
            f"spore test until {_cycles(needed)} in a row {_were(needed)} negative."
        )
    return (
        f"Leave the machine out of use: {now.in_a_row} of {needed} repeats in a row so far "
        f"{_were(now.in_a_row)} negative, {needed - now.in_a_row} more to go."
    )


def _repeats(count: int) -> str:
    return "1 repeat" if count == 1 else f"{count} repeats"


def _cycles(count: int) -> str:
    return "1 cycle" if count == 1 else f"{count} cycles"


def _were(count: int) -> str:
    return "was" if count == 1 else "were"
