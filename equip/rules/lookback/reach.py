"""Which contacts a question of exposure must look at: back to where a thing was last cleared,
and on to where it is cleared again, also through the mixing of untagged contents.

The history is asked piece by piece, so a question costs what it touches and not what there is.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Protocol

from equip.rules.lookback.sweep import Contact

Clears = Callable[[Contact], bool]


class History(Protocol):
    """What happened to each item, in order of time."""

    def after(self, item: str, at: int) -> Iterable[Contact]:
        """Contacts of *item* at or after *at*, oldest first."""

    def before(self, item: str, at: int) -> Iterable[Contact]:
        """Contacts of *item* at or before *at*, newest first."""

    def into(self, load: str) -> Sequence[Contact]:
        """The gates that packs with untagged contents met in *load*."""

    def out_of(self, load: str) -> Sequence[Contact]:
        """The packs made out of *load*."""


def upstream(history: History, starts: Iterable[tuple[str, int]], clears: Clears) -> set[Contact]:
    """Everything from which each (item, moment) may carry something, ties included."""
    found: set[Contact] = set()
    walked: dict[str, list[tuple[int, int]]] = {}
    waiting = sorted(starts)
    while waiting:
        item, at = waiting.pop()
        spans = walked.setdefault(item, [])
        if any(edge < at <= last for edge, last in spans):
            continue
        edge = _NEVER
        for contact in _to_clear(history.before(item, at), at, clears):
            found.add(contact)
            if contact.what == "made" and contact.ref:
                waiting += [(gate.item, gate.at) for gate in history.into(contact.ref)]
            if contact.what == "gate" and contact.at < at and clears(contact):
                edge = contact.at
        spans.append((edge, at))
    return found


def downstream(history: History, starts: Iterable[tuple[str, int]], clears: Clears) -> set[Contact]:
    """Everything that what each item carries at a moment may meet, until it is cleared."""
    found: set[Contact] = set()
    walked: dict[str, list[tuple[int, int]]] = {}
    waiting = sorted(starts, reverse=True)
    while waiting:
        item, at = waiting.pop()
        spans = walked.setdefault(item, [])
        if any(first <= at < edge for first, edge in spans):
            continue
        edge = -_NEVER
        for contact in _to_clear(history.after(item, at), at, clears):
            found.add(contact)
            if contact.what == "gate" and contact.contents:
                waiting += [(made.item, made.at) for made in history.out_of(contact.ref)]
            if contact.what == "gate" and contact.at > at and clears(contact):
                edge = contact.at
        spans.append((at, edge))
    return found


_NEVER = -(2**62)


def _to_clear(contacts: Iterable[Contact], start: int, clears: Clears) -> Iterator[Contact]:
    """Contacts to the first gate that clears away from *start*, with all of that instant."""
    edge = None
    for contact in contacts:
        if edge is not None and contact.at != edge:
            return
        yield contact
        if contact.what == "gate" and contact.at != start and clears(contact):
            edge = contact.at


def around(history: History, starts: Iterable[tuple[str, int]], clears: Clears) -> list[Contact]:
    """All that bears on what each item carries at a moment and on whom that reaches, in order.

    Wherever untagged contents mix, what the other packs of the load carried belongs to it too.
    """
    begun = list(starts)
    found = downstream(history, begun, clears)
    mixed = {contact.ref for contact in found if contact.what == "made"}
    beside = [(gate.item, gate.at) for load in mixed for gate in history.into(load)]
    found |= upstream(history, [*begun, *beside], clears)
    return sorted(found)
