"""What the record shows of a thing's decontamination, for whoever outside is to touch it.

Only what is in the book is said to be recorded, and where nothing is, that is said.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from equip.facts import ItemType
from equip.rules.fitness.gates import missing_after, missing_steps, proof
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.stopping import falls_short
from equip.rules.wording import several

NOTHING = "Nothing is recorded in this book of its being cleaned or disinfected."


@dataclass(frozen=True, slots=True)
class Recorded:
    """*shown*: an effective decontamination stands behind it. *lines* are what is recorded."""

    shown: bool
    lines: tuple[str, ...]


def recorded(
    standing: Standing, kind: ItemType, now: datetime, when: Callable[[datetime], str]
) -> Recorded:
    """What is known of *standing* at *now*; times as *when* says them. No patient is in it."""
    lines = []
    if standing.last_use is not None:
        lines.append(f"Last used on a patient on {when(standing.last_use)}.")
    else:
        lines.append("No use on a patient is recorded in this book.")
    if standing.soiling is not None and standing.soiling.how == "outside":
        lines.append(f"It came in from outside on {when(standing.soiling.at)}.")
    for done in standing.done:
        what = f"{several(list(done.steps)).capitalize()} on {when(done.at)}"
        by = f", load {done.load}" if done.load else ""
        count = done.counts and not done.wet_at(now) and not falls_short(kind, done)
        lines.append(f"{what}{by}{'' if count else '; it does not count'}.")
    if not standing.done:
        lines.append(NOTHING)
    effective = proof(standing, kind, now)
    lacks = effective is None or [
        *missing_steps(standing, kind, effective.at),
        *missing_after(standing, kind, effective),
    ]
    if effective is not None and not lacks:
        lines.append(f"An effective decontamination stands, of {when(effective.at)}.")
        return Recorded(True, tuple(lines))
    if kind.contact == "neither":
        lines.append("Its type neither touches patients nor sends water or air into them.")
    else:
        lines.append("No effective decontamination since then is shown by this record.")
    return Recorded(False, tuple(lines))
