"""A second look at what one person released alone: by anybody else, within a set time.

Nobody who works alone has to share a badge for a load to be let go. Whoever looks later reads the
photo of the strip or display, or the log, without being shown what was typed first.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.desk.loads.loads import process_of
from equip.desk.loads.second_reader import compared
from equip.facts import Process
from equip.rules.cycles.typed.fields import FIELDS, Field, machine_of
from equip.rules.loads.load import Load
from equip.rules.loads.release import ONE_READER, Alone
from equip.store.readings import load_rows

_SAYS_NO_VALUE = frozenset({ONE_READER, "typed-shows-less"})


@dataclass(frozen=True, slots=True)
class SecondLook:
    """A look that a load waits for: until which day, what is asked, whether this person may."""

    load: Load
    until: date
    fields: tuple[Field, ...]
    may: bool

    def shows(self, code: str) -> bool:
        """Whether a reason may be shown now: whoever is to look does not see what was read."""
        return not (self.may and self.fields) or code in _SAYS_NO_VALUE


def alone_by_rule(clinic: Clinic, at: datetime) -> Alone | None:
    """What the rule book asks of whoever releases alone; None where it lets nobody."""
    rules = clinic.house.rules(at)
    if not rules.flag("release.alone"):
        return None
    today = clinic.house.today(at)
    waiting = load_rows.lone_releases(clinic.store)
    overdue = tuple(load.load for load in waiting if today > _until(clinic, load))
    return Alone(rules.whole("release.alone-look-days"), overdue)


def waiting(clinic: Clinic) -> list[tuple[Load, date]]:
    """Every load that somebody else has yet to look at, and until which day."""
    return [(load, _until(clinic, load)) for load in load_rows.lone_releases(clinic.store)]


def asked(clinic: Clinic, load: Load, process: Process, person: str) -> SecondLook | None:
    """The look that *load* waits for, as *person* sees it; None if it waits for none."""
    if not load.wants_look:
        return None
    member = clinic.house.staff.get(person)
    writes = member is not None and member.active and member.role in ("nurse", "manager")
    fields = tuple(field for field in FIELDS[machine_of(process)] if field.again)
    may = writes and person not in load.hands_alone
    return SecondLook(load, _until(clinic, load), fields if load.readers else (), may)


def look(act: Act, load: Load, typed: Mapping[str, str]) -> bool:
    """What somebody else read off its photo or log; whether it is the same.

    What differs stays written down, and the load still waits for somebody who agrees: whether it
    is in doubt is for a look-back to say.
    """
    asks = asked(act.clinic, load, process_of(act, act.standing(load.machine)), act.by)
    if asks is None:
        raise Refused("This load waits for nobody to look at it.")
    if not asks.may:
        raise Refused(
            "Somebody else must look at it than who read or released it: they sign in themselves."
        )
    if asks.fields and not any(typed.get(field.name) for field in asks.fields):
        raise Refused("Type what the photo of its strip or display shows.")
    _, differs = compared(act, load, asks.fields, typed)
    return not differs


def _until(clinic: Clinic, load: Load) -> date:
    """The last day for the look, by the rule in force when it was released."""
    assert load.decided is not None  # noqa: S101 — it was released
    days = clinic.house.rules(load.decided).whole("release.alone-look-days")
    return clinic.house.today(load.decided) + timedelta(days=days)
