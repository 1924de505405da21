"""Which missing answer would settle most patients: the weakest links of a look-back, ranked.

A patient is unprovable while a use on them is exposed no more surely than “no proof” or
“possible”, or is a gap. Each way from an earlier use to such a use has its weak points, and each
weak point is a question that a person can answer: was that load any good, was that step done,
which contents went into which pack, what stood before the first use that is known. The answer is
not known yet, so a question settles a patient only if it does whichever way it is answered.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Literal

Sort = Literal["verdict", "release", "steps", "contents", "before"]


@dataclass(frozen=True, slots=True, order=True)
class Question:
    """One missing answer: of a load (*item* ""), or of what was done to an item.

    *about* is the load or the entry of a step by hand; of “before” the item, or whoever
    declared it fit on going live. *at* is when what is asked about happened (µs).
    """

    at: int
    sort: Sort
    about: str
    item: str = ""


@dataclass(frozen=True, slots=True)
class Unproven:
    """A use on a patient of which nobody can say for sure. *ways* are the weak points of each way
    that leads to it from an earlier use; a gap has one way with the one question what stood before.
    """

    patient: str
    item: str
    use: str
    ways: tuple[frozenset[Question], ...]
    is_gap: bool = False

    def is_settled_by(self, question: Question) -> bool:
        """Whether it is proven, or cleared, whichever way *question* is answered.

        Answered well, each way that runs through it is cut: nothing is left if all do. Answered
        badly, a way that has no other weak point is certain, and so is the exposure.
        """
        every = all(question in way for way in self.ways)
        return every and any(way == {question} for way in self.ways)

    def bears(self, question: Question) -> bool:
        return any(question in way for way in self.ways)


@dataclass(frozen=True, slots=True)
class Link:
    """A question, how many patients it settles by itself, and on how many it bears at all."""

    question: Question
    settles: int
    bears_on: int


def ranked(unproven: Iterable[Unproven]) -> list[Link]:
    """Every question, the one that settles most patients first; always in the same order."""
    its: dict[str, list[Unproven]] = {}
    for one in unproven:
        its.setdefault(one.patient, []).append(one)
    asked = {question for every in its.values() for one in every for question in _of(one)}
    links = [_link(question, its.values()) for question in asked]
    return sorted(links, key=lambda one: (-one.settles, -one.bears_on, one.question))


def _of(one: Unproven) -> set[Question]:
    return {question for way in one.ways for question in way}


def _link(question: Question, patients: Iterable[Sequence[Unproven]]) -> Link:
    settles = bears_on = 0
    for every in patients:
        bears_on += any(one.bears(question) for one in every)
        settles += all(one.is_settled_by(question) for one in every)
    return Link(question, settles, bears_on)


def patients_in(unproven: Iterable[Unproven]) -> int:
    return len({one.patient for one in unproven})


def chosen(site: str, day: str, loads: Iterable[str]) -> str | None:
    """One of *loads* by a chance that is the same for everybody on that day; None if none is there.

    A load that comes or goes changes the choice only if it is the choice itself.
    """
    return min(
        loads,
        key=lambda load: sha256(f"{site}\n{day}\n{load}".encode()).digest(),
        default=None,
    )
