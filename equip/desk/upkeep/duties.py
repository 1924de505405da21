"""What falls due on a day: every duty of every thing, and what ends by a last day of its own."""

from datetime import date, timedelta
from operator import attrgetter

from equip.desk.clinic import Clinic
from equip.desk.fitness.due_days import SLACK, Calendar, calendar
from equip.desk.upkeep.due_line import Due
from equip.desk.upkeep.endings import endings
from equip.desk.upkeep.pace import Paces, paces
from equip.scan import show_tag
from equip.store.readings import duty_rows, item_rows
from equip.store.readings.duty_rows import DutyRow


def due(
    clinic: Clinic,
    on: date,
    within_days: int | None = None,
    *,
    expect: bool = False,
    known: Paces | None = None,
) -> list[Due]:
    """Duties by their day, overdue first; all of them, or those of the coming days.

    With *expect* the duties that go by a count have the day that real use lets one expect;
    without, they come once the count is reached, and last of all before. *known* are the paces
    of that day, where somebody has them already.
    """
    if expect and known is None:
        known = paces(clinic, on)
    until = None if within_days is None else on + timedelta(days=within_days)
    return between(clinic, on, None, until, known)


def between(
    clinic: Clinic, on: date, first: date | None, last: date | None, known: Paces | None = None
) -> list[Due]:
    """Those that fall due from *first* up to *last*, by their day; a bound that is None is none.

    A due day may be moved off closed days either way, so a little more is read than is kept.
    """
    when, name = calendar(clinic, on), _Labels(clinic)
    rows = duty_rows.duties(
        clinic.store,
        None if last is None else moved_day(last, SLACK),
        None if first is None else moved_day(first, -SLACK),
        watching=known is not None,
    )
    found = [_due(row, when, known, name) for row in rows]
    found += endings(clinic, on)
    if first is not None or last is not None:
        begin, end = first or date.min, last or date.max
        found = [line for line in found if begin <= line.next_due <= end]
    found.sort(key=attrgetter("next_due", "item", "duty"))
    return found


def how_many(clinic: Clinic, on: date) -> int:
    """How many there are, whenever they fall due."""
    return duty_rows.duty_count(clinic.store) + sum(1 for _ in endings(clinic, on))


def moved_day(day: date, by: timedelta) -> date:
    """*day* moved, at most to an end of the calendar."""
    ordinal = day.toordinal() + by.days
    return date.fromordinal(min(max(ordinal, 1), date.max.toordinal()))


def due_of(clinic: Clinic, item: str, on: date) -> list[Due]:
    """The duties of one thing, with the day expected of those that go by a count."""
    rows = duty_rows.duties_of(clinic.store, item)
    counted = any(row.terms.every_count for row in rows)
    when, known = calendar(clinic, on), paces(clinic, on) if counted else None
    name = _Labels(clinic)
    return sorted(
        (_due(row, when, known, name) for row in rows), key=lambda line: (line.next_due, line.duty)
    )


def label_of(clinic: Clinic, item: str) -> str:
    """What one thing is called on screen."""
    row = item_rows.item_row(clinic.store, item)
    return show_tag(item) if row is None else clinic.house.label(row)


class _Labels:
    """What things are called on screen, looked up in the house once."""

    def __init__(self, clinic: Clinic) -> None:
        house = clinic.house
        self.kinds = {code: kind.name for code, kind in house.types.items()}
        self.loads = {
            code for code, kind in house.types.items() if kind.process and kind.process.programmes
        }
        self._known: dict[str, str] = {}
        self.places = {tag: place.name for tag, place in house.places.items()}

    def of(self, row: DutyRow) -> str:
        if row.item not in self._known:
            self._known[row.item] = self._made(row)
        return self._known[row.item]

    def _made(self, row: DutyRow) -> str:
        tag = row.item
        shown = show_tag(tag)
        kind = self.kinds.get(row.type) or ("Set" if row.type else "Thing")
        return f"{kind}, {row.name} {shown}" if row.name else f"{kind} {shown}"


def _due(row: DutyRow, when: Calendar, known: Paces | None, name: _Labels) -> Due:
    falls = when.falls(row)
    expects = None
    day = falls.due_on
    if known is not None and row.goes_by.terms.every_count:
        expects = known.expected(row)
        if expects is not None and expects.day < day:
            day = expects.day
        else:
            expects = None
    return Due(
        row.item,
        name.of(row),
        name.places.get(row.place, "") if row.place else "",
        row.duty,
        day,
        falls.standing,
        row.goes_by.grounds and falls.standing == "overdue",
        falls.last_day,
        falls.brought_by,
        "duty",
        row.type in name.loads,
        row,
        expects,
    )


def may_override(clinic: Clinic) -> list[str]:
    """Who may use a thing all the same though something that grounds it is overdue."""
    staff = clinic.house.staff.values()
    return sorted(member.name for member in staff if member.active and "override" in member.rights)
