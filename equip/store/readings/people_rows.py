"""People: who works here, and what each was found competent for, as it was told."""

from dataclasses import dataclass
from datetime import date

from equip.rules.people.competence import Assessment
from equip.rules.people.competence import lapsing as lapsing_of
from equip.store.database import Store


@dataclass(frozen=True, slots=True)
class StaffRow:
    tag: str
    name: str
    role: str
    rights: frozenset[str]
    active: bool


def staff(store: Store) -> dict[str, StaffRow]:
    rows = store.rows("SELECT tag, name, role, rights, active FROM staff ORDER BY tag")
    return {
        tag: StaffRow(tag, name, role, frozenset(filter(None, rights.split(","))), bool(active))
        for tag, name, role, rights, active in rows
    }


def competences(store: Store) -> tuple[Assessment, ...]:
    """Every assessment and every leave given, in the order they were told."""
    rows = store.rows(
        "SELECT person, task, outcome, since, until, assessor, outside, evidence, file, who"
        " FROM competence ORDER BY site, position"
    )
    return tuple(
        Assessment(
            row[0],
            row[1],
            row[2],
            date.fromisoformat(row[3]),
            date.fromisoformat(row[4]) if row[4] else None,
            *row[5:],
        )
        for row in rows
    )


def lapsing(store: Store, on: date, within_days: int) -> list[Assessment]:
    """What ends within some days, or has ended, of those who still work here; soonest first."""
    here = {tag for tag, person in staff(store).items() if person.active}
    found = lapsing_of(competences(store), on, within_days)
    return [assessment for assessment in found if assessment.person in here]
