"""What ends by a last day of its own and is listed beside the duties: lots, competences."""

from collections.abc import Iterator
from datetime import date

from equip.desk.clinic import Clinic
from equip.desk.upkeep.due_line import Due
from equip.rules.people import competence
from equip.rules.people.competence import Held
from equip.rules.upkeep import words
from equip.rules.upkeep.due import standing
from equip.scan import show_tag
from equip.store.readings import lot_rows

EXPIRY = "stock expiry"


def endings(clinic: Clinic, on: date) -> Iterator[Due]:
    """All of it, however far ahead."""
    yield from _lots(clinic, on)
    yield from _competences(clinic, on)


def _lots(clinic: Clinic, on: date) -> Iterator[Due]:
    """Lots that are not taken out of use, by the last day on which they may serve."""
    for lot in lot_rows.lots(clinic.store, clinic.house.zone):
        last = lot.last_day
        if last is not None and not lot.finished:
            standing_now = standing(last, on)
            label = f"{lot.name}, lot {lot.number} {show_tag(lot.tag)}"
            yield Due(
                lot.tag,
                label,
                "",
                EXPIRY,
                last,
                standing_now,
                standing_now == "overdue",
                last,
                sort="lot",
            )


def _competences(clinic: Clinic, on: date) -> Iterator[Due]:
    """Competences of people who work here, by the last day on which each counts."""
    house = clinic.house
    for person, task, held in competence.ending(house.competences, on):
        staff = house.staff.get(person)
        if staff is not None and staff.active and held.until is not None:
            yield Due(
                person,
                staff.name,
                "",
                words.competence_to(task),
                held.until,
                standing(held.until, on),
                # Away from a release it only asks; leave that was given lets a release through.
                task == "release" and held.state == "lapsed",
                held.until,
                sort="competence",
                note=_leave(held),
            )


def _leave(held: Held) -> str:
    return "" if held.leave is None else f"Leave was given until {held.leave.until}."
