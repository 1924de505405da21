"""What is coming in twelve months: every duty played forward, by day, by month, with its cost."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from equip.desk.clinic import Clinic
from equip.desk.fitness.due_days import Calendar, calendar
from equip.desk.upkeep.due_line import Due
from equip.desk.upkeep.duties import due
from equip.desk.upkeep.pace import Paces, paces
from equip.rules.upkeep import forecast, words
from equip.rules.upkeep.due import NO_DAY, Falls
from equip.rules.upkeep.forecast import By, Coming, Month, Plan
from equip.rules.upkeep.pace import Expected
from equip.store.readings.duty_rows import DutyRow


@dataclass(frozen=True, slots=True)
class Ahead:
    """One time that one duty falls due."""

    due: Due
    day: date
    by: By
    cost: Decimal | None
    expected: Expected | None = None

    @property
    def says(self) -> str:
        """Why that day, where it is not the day of its interval."""
        if self.by == "overdue":
            return f"overdue since {self.due.next_due}"
        if self.by == "count" and self.expected is not None:
            latest = self.expected.latest
            return f"expected between {self.expected.earliest} and {latest or 'no end'}"
        return words.BROUGHT[self.by].ahead


@dataclass(frozen=True, slots=True)
class Outlook:
    """Twelve months: what falls due on which day, the load of each month, what has no day."""

    today: date
    months: tuple[Month, ...]
    ahead: tuple[Ahead, ...]
    no_day: tuple[Due, ...]

    def of_month(self, first: date) -> list[Ahead]:
        return [one for one in self.ahead if one.day.replace(day=1) == first]

    def rows(self) -> list[tuple[Due, list[list[date]]]]:
        """Each duty with the days of each month on which it falls due."""
        firsts = {month.first: n for n, month in enumerate(self.months)}
        found: dict[tuple[str, str], tuple[Due, list[list[date]]]] = {}
        for one in self.ahead:
            key = (one.due.item, one.due.duty)
            _, days = found.setdefault(key, (one.due, [[] for _ in self.months]))
            days[firsts[one.day.replace(day=1)]].append(one.day)
        return list(found.values())

    @property
    def busiest(self) -> int:
        return max((month.times for month in self.months), default=0)


def outlook(clinic: Clinic, today: date) -> Outlook:
    """By the duties, the real use and the rules of *today*."""
    when, known = calendar(clinic, today), paces(clinic, today)
    played = _Played(when, known, forecast.until(today))
    every = due(clinic, today, known=known)
    ahead: list[Ahead] = []
    costs: list[tuple[list[Coming], Decimal | None]] = []
    for one in every:
        found = played.coming(one)
        cost = one.row.terms.cost if one.row is not None else None
        costs.append((found, cost))
        ahead += [Ahead(one, each.day, each.by, cost, each.expected) for each in found]
    ahead.sort(key=lambda one: (one.day, one.due.label, one.due.duty))
    return Outlook(
        today,
        tuple(forecast.by_month(today, costs)),
        tuple(ahead),
        tuple(one for one in every if not one.has_day),
    )


@dataclass
class _Played:
    """Duties played forward. Those that days alone bring round come to the same whatever thing
    they are of, so each of the same days is played once."""

    when: Calendar
    known: Paces
    end: date
    _played: dict[tuple[object, ...], list[Coming]] = field(default_factory=dict)

    def coming(self, one: Due) -> list[Coming]:
        row = one.row
        if row is None:
            plain: By = "overdue" if one.next_due < self.when.today else "day"
            day = max(one.next_due, self.when.today)
            return [Coming(day, plain)] if day < self.end else []
        falls = self.when.falls(row)
        terms = row.goes_by.terms
        if terms.every_count or terms.not_after is not None or terms.certificate:
            return self._play(row, falls)
        key = (row.goes_by.timing, row.last_met, falls)
        if key not in self._played:
            self._played[key] = self._play(row, falls)
        return self._played[key]

    def _play(self, row: DutyRow, falls: Falls) -> list[Coming]:
        every_count = row.terms.every_count
        plan = Plan(
            duty=row.goes_by,
            last_met=row.last_met,
            due_on=falls.due_on,
            by=falls.brought_by,
            left=every_count - row.so_far.counted if every_count else None,
            pace=self.known.of(row) if every_count else None,
        )
        moves = row.terms.shift or self.when.moves
        return forecast.coming(
            plan,
            self.when.today,
            self.end,
            lambda day: day if day == NO_DAY else self.when.working(day, moves),
        )


def weeks_of(first: date) -> list[date]:
    """Every day of the weeks, Monday first, that a month is in."""
    begins = first - timedelta(days=first.weekday())
    after = forecast.until(first, 1)
    count = (after - begins).days
    return [begins + timedelta(days=n) for n in range(count + -count % 7)]


def by_day(ahead: list[Ahead]) -> dict[date, list[Ahead]]:
    found: dict[date, list[Ahead]] = {}
    for one in ahead:
        found.setdefault(one.day, []).append(one)
    return found
