"""Whom a thing may carry at a moment, by the same sweep that answers a look-back."""

from collections.abc import Collection, Iterable, Mapping
from fractions import Fraction
from itertools import groupby
from operator import attrgetter
from typing import NamedTuple

from equip.facts import Arrival
from equip.rules.lookback.sweep import Certainty, Contact, Sweep


class Carried(NamedTuple):
    """An earlier use, or a coming from outside (*patient* ""), that something may still carry."""

    use: str
    patient: str
    at: int
    item: str
    certainty: Certainty
    share: Fraction


def carried(contacts: Iterable[Contact], items: Collection[str]) -> list[Carried]:
    """What *items* carry once *contacts*, in order of time, have happened; the newest first.

    Asked of several things at once, each earlier use stands once, by its surest way.
    """
    state = Sweep(since=_NEVER)
    for _, together in groupby(contacts, key=attrgetter("at")):
        state.meet(list(together))
    found: dict[str, Carried] = {}
    for item in sorted(items):
        for source in state.carried(item):
            one = Carried(
                source.use, source.patient or "", source.at, item, source.certainty, source.share
            )
            best = found.get(one.use)
            if best is None or (one.certainty, one.share) > (best.certainty, best.share):
                found[one.use] = one
    return sorted(found.values(), key=lambda one: (-one.at, one.use))


def last_gate(contacts: Iterable[Contact], item: str) -> Contact | None:
    """The last effective decontamination of *item* among *contacts*; None if there is none."""
    its = [one for one in contacts if one.item == item and one.effect == "clears"]
    return max(its, default=None, key=attrgetter("at"))


def not_known(
    contacts: Collection[Contact], items: Iterable[str], arrivals: Mapping[str, Arrival | str]
) -> list[str]:
    """Things of which nobody knows whom they met before the book knew them.

    A thing is known from a decontamination that cleared it on, from its coming in from outside
    (which is a source of its own), or from the beginning if it was new; a pack of untagged
    contents if it was made out of a load of which that much is told.
    """
    reached = {*items, *(one.item for one in contacts)}
    return sorted(item for item in reached if not _is_known(contacts, item, arrivals.get(item, "")))


def _is_known(contacts: Iterable[Contact], item: str, arrival: str) -> bool:
    its = [one for one in contacts if one.item == item]
    made = [one for one in its if one.what == "made"]
    if any(one.effect == "clears" or one.what == "outside" for one in its):
        return True
    if made:
        into = {one.ref for one in contacts if one.what == "gate" and one.contents}
        return all(one.ref in into for one in made)
    return arrival == "factory-new"


_NEVER = 2**62
