"""Scans that were moved to another patient: they stand on the page of the one they belong to.

On the page of the one they left they stay as they were written down, marked with where they went.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache

import msgspec

from equip import facts
from equip.facts import Fact
from equip.rules.fitness.standing import settled
from equip.store.database import Store
from equip.store.ledger.about import in_time, told_about
from equip.store.ledger.ledger import Entry

OF_A_USE = (
    facts.UseBegun,
    facts.Used,
    facts.UseNoted,
    facts.UseFinished,
    facts.PieceMissing,
)


@dataclass(frozen=True, slots=True)
class Moved:
    """Where a line went, or where it came from; patients by their tokens, "" for nowhere."""

    to: str = ""
    out_of: str = ""


NOT_MOVED = Moved()


def moved_here(store: Store, patient: str) -> tuple[list[Entry], dict[str, Moved]]:
    """What was told of somebody else and belongs to *patient* now, told of *patient*; and of whom
    it was told, by the path of the entry."""
    found: list[Entry] = []
    came: dict[str, Moved] = {}
    told = (entry.fact for entry in told_about(store, patient))
    uses = {fact.use for fact in told if isinstance(fact, facts.MovedToPatient)}
    for use in sorted(uses):
        if _belongs_to(store, use) != patient:
            continue
        for entry in told_about(store, use):
            was = _told_of(entry.fact)
            if was not in ("", patient):
                fact = msgspec.structs.replace(entry.fact, patient=patient)
                found.append(replace(entry, fact=fact))
                came[entry.path] = Moved(out_of=was)
    return sorted(found, key=in_time), came


def moved_away(store: Store, entries: Iterable[Entry]) -> dict[str, Moved]:
    """Those of *entries* that belong to another patient by now than they were told of."""
    now = cache(lambda use: _belongs_to(store, use))
    went: dict[str, Moved] = {}
    for entry in entries:
        was = _told_of(entry.fact)
        if not was or not isinstance(entry.fact, OF_A_USE):
            continue
        if (its := now(entry.fact.use)) not in ("", was):
            went[entry.path] = Moved(to=its)
    return went


def _told_of(fact: Fact) -> str:
    """The patient whom a fact of a use names; "" for any other fact."""
    return fact.patient if isinstance(fact, OF_A_USE) and fact.use else ""


def _belongs_to(store: Store, use: str) -> str:
    """The patient whom a use was moved to last; "" if it was not moved, or not any more."""
    told = [entry.fact for entry in told_about(store, use)]
    moves = [fact for _, fact in settled(told) if isinstance(fact, facts.MovedToPatient)]
    return moves[-1].patient if moves else ""
