"""Who is written to: the addresses of the settings, and people with an address of their own."""

from dataclasses import dataclass
from datetime import date, datetime

from equip.desk.act.act import Refused
from equip.desk.clinic import Clinic
from equip.desk.fitness.closed_days import country_of, is_holiday
from equip.rules.upkeep.reminders import Works, working_days
from equip.settings.values import is_mail_address
from equip.store.post import recipients
from equip.store.post.recipients import Recipient
from equip.store.readings import clinic_rows


@dataclass(frozen=True, slots=True)
class Reader:
    """Somebody who is written to. *person* is "" for an address of the settings."""

    address: str
    person: str = ""
    role: str = ""
    sites: tuple[str, ...] = ()
    first: bool = True
    stopped: datetime | None = None

    @property
    def name(self) -> str:
        """What tells readers apart, for good."""
        return self.person or self.address

    def is_told_of(self, site: str, person: str = "") -> bool:
        """Of what is at a site; or of a person's competence, who is told of it and managers are."""
        if person:
            return self.person in ("", person) or self.role == "manager"
        return not self.sites or site in self.sites


def clinic_readers(clinic: Clinic) -> list[Reader]:
    """The addresses of the settings: everything, and the seals, every day."""
    return [Reader(address) for address in clinic.settings.mail_to]


def people_readers(clinic: Clinic) -> list[Reader]:
    """People who work here and have an address that is not the clinic's already."""
    taken = {address.lower() for address in clinic.settings.mail_to}
    staff = clinic.house.staff
    return [
        Reader(
            told.address,
            told.person,
            staff[told.person].role,
            told.sites,
            told.told_first,
            told.stopped,
        )
        for told in recipients.recipients(clinic.store)
        if told.person in staff and staff[told.person].active
        if told.address.lower() not in taken
    ]


def alert_readers(clinic: Clinic) -> list[Reader]:
    """Who hears at once of what concerns a patient: the clinic and managers; nobody can stop it."""
    managers = [reader for reader in people_readers(clinic) if reader.role == "manager"]
    return clinic_readers(clinic) + managers


def keep(clinic: Clinic, person: str, address: str, sites: tuple[str, ...], *, first: bool) -> None:
    """Where a person's mail goes; an empty address ends it."""
    if person not in clinic.house.staff:
        raise Refused("Choose somebody who works here.")
    if not address:
        recipients.forget(clinic.store, person)
        return
    if not is_mail_address(address):
        raise Refused(f"“{address}” is no mail address: write one such as nell@clinic.example.")
    known = {site.code for site in clinic_rows.sites(clinic.store)}
    if unknown := [site for site in sites if site not in known]:
        raise Refused(f"“{unknown[0]}” is no site: {', '.join(sorted(known))}.")
    recipients.keep(clinic.store, Recipient(person, address, sites, first))


def works(clinic: Clinic, now: datetime) -> Works:
    """Whether the clinic works on a day: the rule of the week, and no public holiday."""
    rules = clinic.house.rules(now)
    week = working_days(rules.text("remind.working-days"))
    country = country_of(clinic.settings)

    def is_working(day: date) -> bool:
        return day.weekday() in week and not is_holiday(country, day)

    return is_working
