"""How duties stand on a day, with the clinic's own closed days; what an overdue one stops."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

from equip.desk.clinic import Clinic, House
from equip.desk.fitness.closed_days import closed_in, country_of
from equip.facts import DutyTerms, moment
from equip.rules.days import FARTHEST, Moves, working_day
from equip.rules.fitness.why_not import Why, service_overdue
from equip.rules.upkeep.due import NO_DAY, Falls, falls
from equip.store.readings import duty_rows
from equip.store.readings.duty_rows import DutyRow

_NO_TERMS = DutyTerms()
SLACK = timedelta(days=FARTHEST)
"""A due day may be moved forward by so much: what is asked for up to a day is looked up to here."""


@dataclass(frozen=True, slots=True)
class Calendar:
    """What a due day depends on besides the duty: the site's days, the rule, who is closed."""

    today: date
    house: House
    moves: Moves
    closed: Callable[[date], bool]
    _moved: dict[tuple[date, str], date] = field(default_factory=dict)
    _plain: dict[date, Falls] = field(default_factory=dict)

    def falls(self, row: DutyRow) -> Falls:
        """When a duty falls due and how it stands."""
        day, terms = row.next_due, row.goes_by.terms
        if day != NO_DAY:
            day = self.working(day, terms.shift or self.moves)
        if row.early is None and not terms.tolerance_days and terms.not_after is None:
            return self._plainly(day)
        return falls(day, self.today, terms, row.so_far, self._day_of)

    def _day_of(self, micros: int) -> date:
        return self.house.today(moment(micros))

    def _plainly(self, day: date) -> Falls:
        """Of a duty that a day alone brings round: many share a day."""
        if day not in self._plain:
            self._plain[day] = falls(day, self.today, _NO_TERMS)
        return self._plain[day]

    def working(self, day: date, moves: str) -> date:
        if moves == "none":
            return day
        key = (day, moves)
        if key not in self._moved:
            self._moved[key] = working_day(day, moves, self.closed)  # type: ignore[arg-type]
        return self._moved[key]


def calendar(clinic: Clinic, today: date) -> Calendar:
    """By the rules in force on *today*."""
    house = clinic.house
    moves = house.rules_on(today).text("due.closed-day")
    closed = closed_in(country_of(clinic.settings))
    return Calendar(today, house, moves, closed)  # type: ignore[arg-type]


def grounded(clinic: Clinic, item: str, today: date) -> list[Why]:
    """Why a thing may not be used because something is overdue: never a fault of the thing."""
    rows = [row for row in duty_rows.duties_of(clinic.store, item) if row.goes_by.grounds]
    return list(_stopping(clinic, rows, today)) if rows else []


def overdue(clinic: Clinic, item: str, today: date) -> list[tuple[DutyRow, Why]]:
    """Whatever of a thing is overdue, and its sentence; what does not stop it, too."""
    rows = duty_rows.duties_of(clinic.store, item)
    when = calendar(clinic, today)
    return [(row, why) for row in rows for why in _of(row, when)]


def all_grounded(clinic: Clinic, today: date) -> dict[str, tuple[Why, ...]]:
    """The same of everything, by tag."""
    found: dict[str, tuple[Why, ...]] = {}
    rows = [row for row in duty_rows.duties(clinic.store, today + SLACK) if row.goes_by.grounds]
    when = calendar(clinic, today)
    for row in rows:
        for why in _of(row, when):
            found[row.item] = (*found.get(row.item, ()), why)
    return found


def _stopping(clinic: Clinic, rows: Iterable[DutyRow], today: date) -> Iterable[Why]:
    when = calendar(clinic, today)
    for row in rows:
        yield from _of(row, when)


def _of(row: DutyRow, when: Calendar) -> list[Why]:
    falls_due = when.falls(row)
    if falls_due.standing != "overdue":
        return []
    return [Why("service-overdue", service_overdue(row.duty, falls_due.due_on))]
