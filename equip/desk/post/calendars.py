"""What falls due as a calendar, for a person or for a site, behind an address that is secret."""

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from equip.deliver.post.calendar import CalendarEvent, calendar
from equip.desk.act.act import Refused
from equip.desk.act.links import Links
from equip.desk.clinic import Clinic
from equip.desk.upkeep.due_line import Due
from equip.desk.upkeep.duties import due
from equip.store.post import calendars, recipients
from equip.store.post.calendars import DueEvent
from equip.store.readings import clinic_rows, item_rows

AHEAD_DAYS = 400
_SITE = "site-"


@dataclass(frozen=True, slots=True)
class CalendarAddress:
    """A calendar as it is listed: whose, and where it is read; "" while it is closed."""

    subject: str
    name: str
    link: str


def addresses(clinic: Clinic, links: Links, person: str) -> list[CalendarAddress]:
    """The calendars that *person* may see the address of: their own, and those of the sites."""
    subjects = {person: "What I answer for"}
    subjects |= {f"{_SITE}{site.code}": site.name for site in clinic_rows.sites(clinic.store)}
    found = []
    for subject, name in subjects.items():
        number = calendars.number(clinic.store, subject)
        found.append(
            CalendarAddress(subject, name, links.calendar(subject, number) if number > 0 else "")
        )
    return found


def change(clinic: Clinic, subject: str, *, is_open: bool) -> None:
    """A new address for a calendar, or none."""
    if _sites(clinic, subject) is None:
        raise Refused("There is no such calendar.")
    if is_open:
        calendars.renew(clinic.store, subject)
    else:
        calendars.close(clinic.store, subject)


def read(clinic: Clinic, links: Links, subject: str, signature: str, now: datetime) -> bytes | None:
    """The calendar behind an address, None if the address is not valid (any more)."""
    number = calendars.number(clinic.store, subject)
    sites = _sites(clinic, subject)
    if number <= 0 or sites is None or not links.may_read(subject, number, signature):
        return None
    found = due(clinic, clinic.house.today(now), within_days=AHEAD_DAYS)
    where, here = item_rows.sites_of_things(clinic.store), clinic.house.site
    told_of = _people_of(clinic, subject)
    mine = [
        duty
        for duty in found
        if (
            duty.item in told_of
            if duty.sort == "competence"
            else not sites or where.get(duty.item, here) in sites
        )
    ]
    return calendar(f"{clinic.house.name}: due", _events(clinic, mine, now))


def _people_of(clinic: Clinic, subject: str) -> set[str]:
    """Whose competences a calendar tells of: a person's own, or a manager's all; a site's none."""
    staff = clinic.house.staff
    if subject in staff and staff[subject].role == "manager":
        return set(staff)
    return {subject}


def _events(clinic: Clinic, mine: list[Due], now: datetime) -> list[CalendarEvent]:
    told = [
        DueEvent(
            duty.item,
            duty.duty,
            duty.next_due,
            "\n".join((_summary(duty), duty.place, _says(duty))),
        )
        for duty in mine
    ]
    changed = calendars.changes(clinic.store, told, now)
    return [
        CalendarEvent(
            _uid(duty.item, duty.duty),
            duty.next_due,
            _summary(duty),
            _says(duty),
            duty.place,
            *changed[duty.item, duty.duty],
        )
        for duty in mine
    ]


def _summary(duty: Due) -> str:
    return f"{duty.duty.capitalize()}: {duty.label}"


def _says(duty: Due) -> str:
    if duty.sort == "competence":
        return "After this day it has lapsed, until it is assessed again."
    stops = duty.sort == "lot" or (duty.row is not None and duty.row.grounds)
    after = "it may not be used until this is done." if stops else "it may still be used."
    return f"After this day {after}"


def _uid(item: str, duty: str) -> str:
    """The same for a thing and its duty for good, whatever day it falls on."""
    return f"{sha256(f'{item} {duty}'.encode()).hexdigest()[:32]}@instrument-book"


def _sites(clinic: Clinic, subject: str) -> tuple[str, ...] | None:
    """The sites that a calendar is about (none are all); None if there is no such calendar."""
    if subject.startswith(_SITE):
        code = subject.removeprefix(_SITE)
        return (code,) if code in {s.code for s in clinic_rows.sites(clinic.store)} else None
    person = clinic.house.staff.get(subject)
    if person is None or not person.active:
        return None
    known = {told.person: told.sites for told in recipients.recipients(clinic.store)}
    return known.get(subject, ())
