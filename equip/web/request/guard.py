"""Who is asking, and may they. A view has no person without calling this."""

from dataclasses import dataclass
from datetime import timedelta

from flask import g, request, session

from equip.desk.clinic import Clinic
from equip.store.kept import people


class SignInFirst(Exception):
    """Nobody is signed in on this device."""


class NotAllowed(Exception):
    """Somebody is, and may not do this; the message says what it needs."""


@dataclass(frozen=True, slots=True)
class Person:
    """Whoever is signed in: badge, name, role, rights."""

    tag: str
    name: str
    role: str
    rights: frozenset[str]

    @property
    def writes(self) -> bool:
        return self.role in ("nurse", "manager")

    @property
    def manages(self) -> bool:
        return self.role == "manager"


def current() -> Person | None:
    """Whoever is signed in on this request, or None; looked up once."""
    if "person" not in g:
        g.person = _look_up(g.clinic)
    found: Person | None = g.person
    return found


def anybody() -> Person:
    """Somebody signed in, whoever it is."""
    person = current()
    if person is None:
        raise SignInFirst
    return person


def writer() -> Person:
    """Somebody who may change things: an auditor reads everything and changes nothing."""
    person = anybody()
    if not person.writes:
        raise NotAllowed("An auditor reads everything and changes nothing.")
    return person


def manager() -> Person:
    person = anybody()
    if not person.manages:
        raise NotAllowed("This is for the practice manager.")
    return person


def _look_up(clinic: Clinic) -> Person | None:
    key = _key()
    if not key:
        return None
    house = clinic.house
    rules = house.rules(g.now)
    found = people.session(
        clinic.store,
        key,
        g.now,
        idle=timedelta(minutes=rules.number("session.idle-minutes")),
        longest=timedelta(hours=rules.number("session.longest-hours")),
    )
    if found is None:
        return None
    member = house.staff.get(found.person)
    if member is None or not member.active:
        return None
    g.session_how = found.how
    return Person(member.tag, member.name, member.role, member.rights)


def _key() -> str:
    """The key of this device: a bench key in the header, or the one in its signed cookie."""
    header = request.headers.get("Authorization", "")
    if header.startswith("Bearer "):
        return header.removeprefix("Bearer ").strip()
    return str(session.get("key", ""))
