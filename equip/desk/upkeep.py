"""What is due, and what was done about it."""

from dataclasses import dataclass
from datetime import date, timedelta

from equip import facts
from equip.desk.acting import Act, Refused
from equip.desk.clinic import Clinic
from equip.desk.items import known
from equip.rules import due as rules_due
from equip.rules.due import Duty, Standing
from equip.scan import show_tag
from equip.store import readings
from equip.store.readings import DutyRow


@dataclass(frozen=True, slots=True)
class Due:
    """One duty as it stands on a day."""

    item: str
    label: str
    place: str
    duty: str
    next_due: date
    standing: Standing
    stops: bool

    @property
    def says(self) -> str:
        return "It may not be used until this is done." if self.stops else "It may still be used."


def due(clinic: Clinic, on: date, within_days: int | None = None) -> list[Due]:
    """Duties by their day, overdue first; all of them, or those of the coming days."""
    until = None if within_days is None else on + timedelta(days=within_days)
    return [_due(clinic, row, on) for row in readings.duties(clinic.store, until)]


def _due(clinic: Clinic, row: DutyRow, on: date) -> Due:
    item = readings.item_row(clinic.store, row.item)
    stands = readings.standing_of(clinic.store, row.item)
    kind = clinic.house.kind(item.type).name if item else "Thing"
    own = f", {item.name}" if item and item.name else ""
    standing = rules_due.standing(row.next_due, on)
    return Due(
        item=row.item,
        label=f"{kind}{own} {show_tag(row.item)}",
        place=clinic.house.place_name(stands.place) if stands else "",
        duty=row.duty,
        next_due=row.next_due,
        standing=standing,
        stops=row.grounds and standing == "overdue",
    )


def set_duty(
    act: Act,
    tag: str,
    duty: str,
    anchor: date,
    *,
    every_months: int = 0,
    every_days: int = 0,
    grounds: bool = False,
) -> None:
    """A duty that comes round, counted from *anchor*, so that month-ends never drift."""
    known(act, tag)
    if not duty.strip():
        raise Refused("A duty needs a name: service, calibration, electrical safety test …")
    try:
        Duty(duty, anchor, every_months or None, every_days or None, grounds=grounds)
    except ValueError as problem:
        raise Refused(f"Say how often, in months or in days. {problem}") from None
    act.tell(
        facts.DutySet,
        item=tag,
        duty=duty.strip().lower(),
        anchor=anchor,
        every_months=every_months,
        every_days=every_days,
        grounds=grounds,
    )


def meet_duty(act: Act, tag: str, duty: str, done: date, note: str = "") -> date:
    """The duty that is due next was done; the due day it satisfied."""
    row = next((d for d in readings.duties_of(act.store, tag) if d.duty == duty), None)
    if row is None:
        raise Refused(f"{show_tag(tag)} has no duty “{duty}”.")
    if done > act.house.today(act.now):
        raise Refused("That day has not come yet: give the day on which it was done.")
    met = rules_due.day_met(_rule(row), row.last_met, done)
    act.tell(facts.DutyMet, item=tag, duty=duty, due=met, done=done, note=note)
    return met


def _rule(row: DutyRow) -> Duty:
    return Duty(
        duty=row.duty,
        anchor=row.anchor,
        every_months=row.months or None,
        every_days=row.days or None,
    )
