"""What was used while a duty of it was overdue: now, and every time before."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from equip.desk.clinic import Clinic
from equip.desk.upkeep.due_line import Due
from equip.desk.upkeep.duties import due_of
from equip.store.readings import duty_rows


@dataclass(frozen=True, slots=True)
class LateUse:
    """A time in which a duty was overdue, and how often the thing was used in it."""

    duty: str
    since: datetime
    until: datetime | None
    uses: int
    cycles: int

    @property
    def worked(self) -> bool:
        return bool(self.uses or self.cycles)


def late_use(clinic: Clinic, line: Due, now: datetime) -> LateUse | None:
    """How a thing was used since a duty of it is overdue; None where it is not."""
    if line.standing != "overdue" or line.sort != "duty":
        return None
    since = end_of_day(clinic, line.last_day)
    return _used(clinic, line.item, line.duty, since, None, now)


def end_of_day(clinic: Clinic, day: date) -> datetime:
    """The moment at which a day of the site is over, whichever way its clocks go that night."""
    return datetime.combine(day + timedelta(days=1), time(), clinic.house.zone)


def _used(
    clinic: Clinic, item: str, duty: str, since: datetime, until: datetime | None, now: datetime
) -> LateUse:
    end = until or now
    # From the first moment on that it was overdue, that moment included.
    begin = since - timedelta(microseconds=1)
    uses, cycles = (
        duty_rows.worked_between(clinic.store, item, sort, begin, end)
        for sort in ("uses", "cycles")
    )
    return LateUse(duty, since, until, uses, cycles)


def been_late(clinic: Clinic, item: str, now: datetime) -> list[LateUse]:
    """Every time, newest first, in which a thing was used though a duty of it was overdue.

    Times that are over are told by the entries that met the duty late: from the due day that
    was met, with the days it may run over today, up to the moment of being done.
    """
    rows = {row.duty: row for row in duty_rows.duties_of(clinic.store, item)}
    today = clinic.house.today(now)
    found = [late for line in due_of(clinic, item, today) if (late := late_use(clinic, line, now))]
    for fact in duty_rows.duties_met(clinic.store, item):
        row = rows.get(fact.duty)
        last = fact.due + timedelta(days=row.terms.tolerance_days if row else 0)
        if fact.done > last:
            until = min(fact.counts_from or fact.at, end_of_day(clinic, fact.done))
            since = end_of_day(clinic, last)
            found.append(_used(clinic, item, fact.duty, since, until, now))
    return sorted(
        (late for late in found if late.worked), key=lambda late: late.since, reverse=True
    )
