"""How fast things are used, from the ledger: the pace behind every duty that goes by a count."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from equip.desk.clinic import Clinic
from equip.rules.upkeep.meters import TENTHS
from equip.rules.upkeep.pace import Expected, Pace, expected, pace, weights
from equip.store.readings import duty_rows
from equip.store.readings.duty_rows import DutyRow

_METERED = ("hours", "counter")


@dataclass
class UseSeen:
    """What one thing did of one sort: how many, on which weekdays, first and last day."""

    count: int
    weekdays: list[float]
    first: date
    last: date
    at_first: int


@dataclass
class Paces:
    """Real use of late, by thing and sort."""

    today: date
    since: date
    seen: dict[tuple[str, str], UseSeen]
    clinic: tuple[float, ...]
    fewest: int
    fewest_for_weekdays: int

    def of(self, row: DutyRow) -> Pace | None:
        """How fast a duty's count grows; None where too little was seen to say."""
        counts = row.terms.counts
        seen = self.seen.get((row.item, counts))
        if seen is None or not counts:
            return None
        if counts in _METERED:
            # A reading tells what was gained since the one before it, so the first tells nothing.
            count, days = (seen.count - seen.at_first) / TENTHS, (seen.last - seen.first).days
            return pace(count, days) if count >= self.fewest else None
        if seen.count < self.fewest:
            return None
        own = seen.count >= self.fewest_for_weekdays
        begun = max(self.since, row.added.date()) if row.added else self.since
        days = max((self.today - begun).days, (self.today - seen.first).days, 1)
        return pace(seen.count, days, weights(seen.weekdays) if own else self.clinic)

    def expected(self, row: DutyRow) -> Expected | None:
        """When a duty's count is expected to be reached."""
        every_count, so_far = row.terms.every_count, row.so_far
        if not every_count or so_far.reached is not None:
            return None
        known = self.of(row)
        if known is None:
            return None
        return expected(every_count - so_far.counted, known, self.today)


def paces(clinic: Clinic, today: date) -> Paces:
    """By the rules in force on *today*; today itself is not over and does not count."""
    rules = clinic.house.rules_on(today)
    since = today - timedelta(days=rules.whole("forecast.look-back-days"))
    begins, ends = (_midnight(clinic, day) for day in (since, today))
    day_of = _days(clinic)
    seen: dict[tuple[str, str], UseSeen] = {}
    whole = [0.0] * 7
    for item, sort, began, n in duty_rows.worked_by_quarter(clinic.store, begins, ends):
        day = day_of(began)
        use = seen.get((item, sort))
        if use is None:
            use = seen[item, sort] = UseSeen(0, [0.0] * 7, day, day, n)
        elif day < use.first:
            use.first, use.at_first = day, n
        elif day > use.last:
            use.last = day
        use.count += n
        use.weekdays[day.weekday()] += n
        if sort not in _METERED:
            whole[day.weekday()] += n
    return Paces(
        today,
        since,
        seen,
        weights(whole),
        rules.whole("forecast.fewest"),
        rules.whole("forecast.fewest-for-weekdays"),
    )


def _midnight(clinic: Clinic, day: date) -> datetime:
    """The first moment of a day at the site, whichever way its clocks go that night."""
    return datetime.combine(day, time(), clinic.house.zone)


def _days(clinic: Clinic) -> Callable[[datetime], date]:
    known: dict[datetime, date] = {}
    zone = clinic.house.zone

    def day_of(began: datetime) -> date:
        if began not in known:
            known[began] = began.astimezone(zone).date()
        return known[began]

    return day_of
