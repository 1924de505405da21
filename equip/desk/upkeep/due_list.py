"""The list of what is due, a page at a time: how many there are of each, and the lines."""

from datetime import date, timedelta
from typing import Literal

import msgspec

from equip.desk.act.act import Refused
from equip.desk.clinic import Clinic
from equip.desk.fitness.due_days import SLACK
from equip.desk.upkeep.due_line import Due
from equip.desk.upkeep.duties import between, how_many, moved_day
from equip.desk.upkeep.pace import Paces, paces
from equip.store.readings import duty_rows

SOON = timedelta(days=28)
MOST = 100
Section = Literal["overdue", "due", "soon", "later", "no day"]
_ORDER: tuple[Section, ...] = ("overdue", "due", "soon", "later", "no day")
_Spot = tuple[int, date, str, str]


class DueList(msgspec.Struct, frozen=True):
    """One page of the list. *onward* leads to the next, "" at the end; *further* is not the first.

    What is counted are all of the list, whatever page it is.
    """

    today: date
    overdue: int
    due_now: int
    soon: int
    every: int
    lines: list[Due]
    onward: str
    further: bool

    @property
    def sections(self) -> dict[Section, list[Due]]:
        """The lines of this page under what they stand under, in order."""
        found: dict[Section, list[Due]] = {name: [] for name in _ORDER}
        for line in self.lines:
            found[section(line, self.today)].append(line)
        return found


def section(line: Due, today: date) -> Section:
    """What a line stands under."""
    if line.standing != "ok":
        return line.standing
    if not line.has_day:
        return "no day"
    return "soon" if line.next_due <= today + SOON else "later"


def due_list(clinic: Clinic, on: date, onward: str = "", most: int = MOST) -> DueList:
    """The page that *onward* leads to, the first without; by the days that real use lets expect.

    Only the days of the page are read, and those near enough to be counted.
    """
    known = paces(clinic, on)
    near = between(clinic, on, None, on + SOON, known)
    spot = _spot(onward) if onward else (-1, date.min, "", "")
    lines = sorted((line for line in near if _at(line, on) > spot), key=lambda line: _at(line, on))
    if len(lines) <= most:
        lines += _later(clinic, on, known, spot, most + 1 - len(lines))
    standings = [line.standing for line in near]
    return DueList(
        today=on,
        overdue=standings.count("overdue"),
        due_now=standings.count("due"),
        soon=standings.count("ok"),
        every=how_many(clinic, on),
        lines=lines[:most],
        onward=_mark(lines[most - 1], on) if len(lines) > most else "",
        further=bool(onward),
    )


def _later(clinic: Clinic, on: date, known: Paces, spot: _Spot, least: int) -> list[Due]:
    """What comes after *spot* and is not near: *least* of them or more, if there are as many."""
    first = max(on + SOON + timedelta(days=1), spot[1])
    number = least
    while True:
        # Beyond the slack all that stands in the table lies behind *first*, wherever it is moved.
        day = duty_rows.day_of_duty(clinic.store, moved_day(first, SLACK), number)
        last = None if day is None else moved_day(day, SLACK)
        found = [line for line in between(clinic, on, first, last, known) if _at(line, on) > spot]
        if len(found) >= least or last is None:
            return found
        number *= 4


def _at(line: Due, today: date) -> _Spot:
    return (_ORDER.index(section(line, today)), line.next_due, line.item, line.duty)


def _mark(line: Due, today: date) -> str:
    order, day, item, duty = _at(line, today)
    return f"{order} {day} {item} {duty}"


def _spot(onward: str) -> _Spot:
    order, day, item, duty = (*onward.split(" ", 3), "", "", "")[:4]
    try:
        return (int(order), date.fromisoformat(day), item, duty)
    except ValueError:
        raise Refused(
            f"No page of this list begins at “{onward[:60]}”: start at its first page."
        ) from None
