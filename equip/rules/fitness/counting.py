"""Counts of sets: which is due, what has to be there, what is searched for.

A set is counted after use, at its wash and when it is packed. A later full count answers for the
earlier ones: whatever lacked then is there now. Whether an uncounted set may go on is a rule.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from equip.facts import CountMoment, FoundWhere, ItemType
from equip.rules.fitness.contents import Contents, Made, Search
from equip.rules.fitness.standing import Standing
from equip.scan import show_tag

MOMENTS: Mapping[CountMoment, str] = {
    "after-use": "after use",
    "wash": "at the wash",
    "packing": "at packing",
}
"""When a set is counted, in the order of its round, as it is said."""

FOUND: Mapping[FoundWhere, str] = {
    "ear": "in the ear",
    "room": "in the room",
    "bin": "in a bin",
    "linen": "in the linen",
    "soiled": "among soiled instruments",
    "machine": "in a machine",
    "other-set": "in another set",
    "store": "in the store",
    "elsewhere": "somewhere else",
}
"""Where a missing piece was found. A list, so that no name of a patient gets into the book."""


def contents_of(standing: Standing) -> Contents:
    """What is kept of its contents; nothing of what is no set."""
    return standing.contents or Contents()


def has_contents(standing: Standing) -> bool:
    """Whether there is anything to count: a set to which something belongs."""
    return standing.made is None and bool(standing.members or contents_of(standing).pieces)


def due(standing: Standing) -> CountMoment | Literal[""]:
    """The count that was not made and is asked for, the latest one; "" if none is."""
    if not has_contents(standing):
        return ""
    if standing.pack:
        return "" if contents_of(standing).sealed else "packing"
    washes = [at for at, done in enumerate(standing.done) if "clean" in done.steps]
    if washes:
        before = standing.done[: washes[-1]]
        floor = before[-1].at if before else _soiled(standing)
        return "" if _counted(standing, ("wash", "packing"), floor) else "wash"
    soiling = standing.soiling
    if soiling is None or not soiling.use or _counted(standing, tuple(MOMENTS), soiling.at):
        return ""
    return "after-use"


@dataclass(frozen=True, slots=True)
class Counts:
    """How a set stands with its counts: the last of each moment, and what lacks."""

    made: tuple[Made, ...]
    due: CountMoment | Literal[""]
    sealed: bool


def counts_of(standing: Standing) -> Counts | None:
    """The same of one set; None of what is not counted."""
    if not has_contents(standing):
        return None
    its = contents_of(standing)
    return Counts(its.made, due(standing), its.sealed and bool(standing.pack))


def _soiled(standing: Standing) -> datetime | None:
    return standing.soiling.at if standing.soiling is not None else None


def _counted(standing: Standing, moments: Sequence[str], since: datetime | None) -> bool:
    return any(
        one.moment in moments and (since is None or one.at >= since)
        for one in contents_of(standing).made
    )


def moment_of(standing: Standing) -> CountMoment:
    """What a count made now is: the one that is due, else that of where the set has got to."""
    if asked := due(standing):
        return asked
    return "wash" if any("clean" in done.steps for done in standing.done) else "after-use"


# --- what is searched for ---------------------------------------------------------------------


def searches(standing: Standing, members: Sequence[tuple[Standing, ItemType]]) -> list[Search]:
    """Open searches of a set or a piece, and of what lies in a pack, each once."""
    found = {one.search: one for one in contents_of(standing).searches}
    for member, _ in members:
        found |= {one.search: one for one in contents_of(member).searches}
    return list(found.values())


def searched_for(
    standing: Standing,
    members: Sequence[tuple[Standing, ItemType]],
    when: Callable[[datetime], str],
) -> Iterator[str]:
    """A sentence for each piece that is missing."""
    for one in searches(standing, members):
        if one.item == standing.item:
            yield f"It has been missing from set {show_tag(one.set)} since {when(one.at)}."
        else:
            yield f"{called(one)} has been missing since {when(one.at)}; nobody has found it yet."


def called(search: Search) -> str:
    """The piece that is searched for."""
    if search.item:
        return f"{search.piece} {show_tag(search.item)}".strip()
    return f"{search.count} × {search.piece}"
