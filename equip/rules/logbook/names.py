"""What the lines of the logbook share: how they name types and places, and why."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from equip.facts import Fact, Told


@dataclass(frozen=True, slots=True)
class Names:
    """How a line names types and places."""

    kind: Callable[[str], str]
    place: Callable[[str], str]


Tellers = Mapping[type[Fact], Callable[[Any, Names], str]]
"""How each of some kinds of fact is told."""


def because(reasons: Sequence[Told]) -> str:
    return "".join(f" {reason.says}" for reason in reasons if reason.code != "remark")


def done_by(lapses: Sequence[Told], supervisor: str) -> str:
    """Whether whoever did it was competent, if that was in question, and who stood beside them."""
    return because(lapses) + (f" Supervised by {supervisor}." if supervisor else "")
