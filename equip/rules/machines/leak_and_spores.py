"""Periodic tests of a steriliser: the vacuum leak test, and which loads a spore test puts in doubt.

Sources: EN 285 and EN 13060 for the leak rate (as printed by those who test by them); CDC
Guideline for Disinfection and Sterilization 2008, Table 12 and the recommendations beside it,
for spore tests. Limits are arguments.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from equip.rules.verdict import Reason
from equip.rules.wording import several

# --- leak ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LeakLimits:
    """The highest rate in kPa a minute, and the least seconds of settling and of timing."""

    rate_kpa_min: Decimal
    settle_s: Decimal
    timed_s: Decimal


def leak_rate(start_kpa: Decimal, end_kpa: Decimal, timed_s: Decimal) -> Fraction:
    """The rise of pressure in kPa a minute, exactly: a rate on the limit is not over it.

    Absolute or gauge, both readings alike. *timed_s* is above nought.
    """
    return (Fraction(end_kpa) - Fraction(start_kpa)) * 60 / Fraction(timed_s)


def why_leaking(
    start_kpa: Decimal,
    end_kpa: Decimal,
    timed_s: Decimal,
    settle_s: Decimal | None,
    limits: LeakLimits,
) -> list[Reason]:
    """Every reason against a leak test; one that was too short cannot fail or pass a machine."""
    if unfit := _unfit(timed_s, settle_s, limits):
        return unfit
    rate = leak_rate(start_kpa, end_kpa, timed_s)
    if rate < 0:
        says = (
            "The pressure fell while it was timed, which no leak does: "
            "let the chamber come to a steady temperature and repeat."
        )
        return [Reason("pressure-fell", says, spoils="undecided")]
    if rate > Fraction(limits.rate_kpa_min):
        says = (
            f"The pressure rose by {_rounded_up(rate, limits.rate_kpa_min)} kPa a minute; "
            f"{limits.rate_kpa_min:f} is allowed."
        )
        return [Reason("leaks", says)]
    return []


def _unfit(timed_s: Decimal, settle_s: Decimal | None, limits: LeakLimits) -> list[Reason]:
    said = []
    if settle_s is None:
        says = f"How long it settled was not told; {limits.settle_s:f} s are needed."
        said.append(Reason("settling-not-told", says, spoils="undecided"))
    elif settle_s < limits.settle_s:
        says = f"It settled for {settle_s:f} s; {limits.settle_s:f} s are needed before timing."
        said.append(Reason("settled-too-briefly", says, spoils="undecided"))
    if timed_s < limits.timed_s:
        says = f"It was timed for {timed_s:f} s; {limits.timed_s:f} s are needed."
        said.append(Reason("timed-too-briefly", says, spoils="undecided"))
    return said


def _rounded_up(rate: Fraction, limit: Decimal) -> str:
    """A rate over the limit in as few decimals as still show that it is over."""
    text = next(
        (f"{float(rate):.{places}f}" for places in range(3, 12) if _shows(rate, places, limit)),
        None,
    )
    return text or f"just over {limit:f}"


def _shows(rate: Fraction, places: int, limit: Decimal) -> bool:
    return Decimal(f"{float(rate):.{places}f}") > limit


# --- spores -------------------------------------------------------------------------------

Spore = Literal["negative", "positive", "invalid"]
Process = Literal["steam", "other"]


@dataclass(frozen=True, slots=True)
class SporeLoad:
    """A load and what its spore test showed; None where none was in it."""

    load: str | int
    spore: Spore | None


@dataclass(frozen=True, slots=True)
class Doubt:
    """Loads in doubt in the order they ran, and what becomes of machine and unused stock.

    *back_in_service* is None while nothing took the machine out of service.
    """

    in_doubt: tuple[str | int, ...]
    back_in_service: bool | None
    unused_stock_held: bool
    reasons: tuple[Reason, ...]


def scope_of_doubt(
    process: Process,
    loads: Sequence[SporeLoad],
    *,
    defect: bool,
    wrong_settings: Collection[str | int],
    repeats: Sequence[Spore],
    negatives_needed: int,
) -> Doubt:
    """The loads that spore tests put in doubt.

    Steam: one positive alone, none. A positive repeat or a *defect* confirms it: every load
    after the last negative before the first positive, whatever was negative since. Any other
    process: around each positive, from the load after the last negative up to the one before
    the next; a defect or a positive repeat opens it to the end. An invalid test closes nothing.
    Loads run with *wrong_settings* are in doubt either way.
    """
    results = [one.spore for one in loads]
    confirmed = defect or "positive" in repeats
    tested = _around_positives(results) if process == "other" else set()
    if confirmed:
        tested |= set(range(_opens_at(results, process), len(loads)))
    doubted = tested | {i for i, one in enumerate(loads) if one.load in wrong_settings}
    # Repeats are run only with a machine that was taken out of service.
    stopped = confirmed or "positive" in results or bool(repeats)
    back = enough_negatives(repeats, negatives_needed) and not defect if stopped else None
    return Doubt(
        in_doubt=tuple(one.load for i, one in enumerate(loads) if i in doubted),
        back_in_service=back,
        unused_stock_held=bool(doubted) or back is False,
        reasons=(
            *_of_the_tests(process, loads, repeats, defect=defect),
            *_of_the_settings(wrong_settings),
            *_of_the_start(tested),
            *_of_the_machine(repeats, negatives_needed, back, defect=defect),
        ),
    )


def _around_positives(results: Sequence[Spore | None]) -> set[int]:
    """Every stretch between negative tests in which one was positive."""
    found: set[int] = set()
    stretch: list[int] = []
    for index, result in enumerate([*results, "negative"]):
        if result != "negative":
            stretch.append(index)
            continue
        if any(results[i] == "positive" for i in stretch):
            found.update(stretch)
        stretch = []
    return found


def _opens_at(results: Sequence[Spore | None], process: Process) -> int:
    """Where a confirmed doubt begins; it has no end.

    For steam it takes in the loads since before the first positive, for which no window of its
    own was opened; any other process has closed its earlier windows by their next negative.
    """
    if process == "steam" and "positive" in results:
        return _after_last_negative(results[: results.index("positive")])
    return _after_last_negative(results)


def _after_last_negative(results: Sequence[Spore | None]) -> int:
    return max((i + 1 for i, result in enumerate(results) if result == "negative"), default=0)


def enough_negatives(repeats: Sequence[Spore], needed: int) -> bool:
    """Whether that many repeats in a row were negative, and none positive since."""
    run = best = 0
    for result in repeats:
        run = run + 1 if result == "negative" else 0
        best = 0 if result == "positive" else max(best, run)
    return best >= needed


def _of_the_tests(
    process: Process, loads: Sequence[SporeLoad], repeats: Sequence[Spore], *, defect: bool
) -> list[Reason]:
    said = []
    positive = [str(one.load) for one in loads if one.spore == "positive"]
    if positive:
        says = f"Spores grew in the test of {several(positive)}."
        said.append(Reason("spores-grew", says))
    if "positive" in repeats:
        says = "A repeat was positive: the loads since the last negative count as not sterile."
        said.append(Reason("repeat-positive", says))
    if defect:
        says = "The machine or its use was found at fault: loads since the last negative count."
        said.append(Reason("defect", says))
    if process == "steam" and positive and not defect and "positive" not in repeats:
        says = "For steam one positive puts no load in doubt: its repeats decide."
        said.append(Reason("positive-alone", says, spoils="pass"))
    invalid = [str(one.load) for one in loads if one.spore == "invalid"]
    if invalid:
        says = f"The test of {several(invalid)} was invalid: it counts neither way."
        said.append(Reason("invalid", says, spoils="undecided"))
    return said


def _of_the_settings(wrong_settings: Collection[str | int]) -> list[Reason]:
    if not wrong_settings:
        return []
    says = f"Run with wrong settings: {several([str(load) for load in wrong_settings])}."
    return [Reason("wrong-settings", says)]


def _of_the_start(tested: Collection[int]) -> list[Reason]:
    """A doubt that begins with the first load given may reach further back than was given."""
    if 0 not in tested:
        return []
    says = "No negative test precedes it here: loads before the first given may be in doubt too."
    return [Reason("no-negative-before", says, spoils="undecided")]


def _of_the_machine(
    repeats: Sequence[Spore], needed: int, back: bool | None, *, defect: bool
) -> list[Reason]:
    if back is not False:
        return []
    says = (
        "The machine stays out of service until the fault is mended."
        if defect
        else f"The machine stays out of service until {needed} repeats in a row are negative; "
        f"{_count(repeats)} given."
    )
    return [Reason("out-of-service", says)]


def _count(repeats: Sequence[Spore]) -> str:
    return "none was" if not repeats else "1 was" if len(repeats) == 1 else f"{len(repeats)} were"
