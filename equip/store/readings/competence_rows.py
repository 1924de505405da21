"""What people were found competent for, as it was told."""

from datetime import date

from equip.rules.people.competence import Assessment
from equip.rules.people.competence import lapsing as of_these
from equip.store.database import Store
from equip.store.readings.clinic_rows import staff


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
    return [one for one in of_these(competences(store), on, within_days) if one.person in here]
