"""The duties that some reminder may reach today: how each stands, when people are told of it."""

from dataclasses import dataclass, replace
from datetime import date, datetime

from equip.deliver.post.digest import DueLine
from equip.desk.clinic import Clinic
from equip.desk.upkeep.due_line import Due
from equip.desk.upkeep.duties import due
from equip.rules.upkeep.reminders import Timing, step_reached
from equip.store.readings import duty_rows, item_rows

Key = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class DutyInReach:
    """A duty within reach of a reminder: how it stands, whether it stops, when it is told.

    *person* is whose competence it is; "" for a duty of a thing.
    """

    due: Due
    stops: bool
    site: str
    timing: Timing
    person: str = ""

    @property
    def key(self) -> Key:
        return (self.due.item, self.due.duty, self.due.next_due.isoformat())

    @property
    def line(self) -> DueLine:
        return due_line(self.due)

    def step(self, today: date, *, first: bool) -> int | None:
        """The last step that *today* reaches, for a reader who is told first or one who is not."""
        due = self.due
        return step_reached(due.next_due, today, self.timing, due.standing, first=first)


def due_line(duty: Due) -> DueLine:
    """One duty as a letter tells it."""
    if duty.sort == "competence":
        return DueLine(duty.label, duty.duty, duty.next_due, duty.standing, says=duty.says)
    return DueLine(duty.label, duty.duty, duty.next_due, duty.standing, duty.stops, duty.place)


def reach(clinic: Clinic, now: datetime) -> list[DutyInReach]:
    """The duties that some reminder may reach today."""
    today = clinic.house.today(now)
    rules = clinic.house.rules(now)
    usual = Timing(
        rules.whole("remind.lead-days"),
        rules.whole("remind.again-days"),
        rules.whole("remind.escalate-days"),
    )
    own = {
        key: Timing(
            usual.lead_days if lead is None else lead,
            usual.again_days,
            usual.escalate_days if late is None else late,
        )
        for key, (lead, late) in duty_rows.own_timings(clinic.store).items()
    }
    people = replace(usual, lead_days=rules.whole("competence.soon-days"))
    # A week-end and a string of holidays lie between the last working day and the day itself.
    farthest = max(31, *(timing.lead_days for timing in (usual, people, *own.values())))
    found = due(clinic, today, within_days=farthest)
    sites = item_rows.sites_of_things(clinic.store)
    return [
        DutyInReach(
            duty,
            duty.row is not None and duty.row.grounds,
            sites.get(duty.item, clinic.house.site),
            own.get((duty.item, duty.duty), people if duty.sort == "competence" else usual),
            duty.item if duty.sort == "competence" else "",
        )
        for duty in found
    ]
