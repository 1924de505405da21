"""What open look-backs hold in doubt besides loads and steps: items, machines, lots, stock."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from equip.facts import Hazard
from equip.rules.fitness.standing import Standing
from equip.rules.lookback.hazards import BIT
from equip.store.database import Store


@dataclass(frozen=True, slots=True)
class OpenCase:
    """A look-back that nobody has decided yet, and what it holds until somebody does.

    *about* is the item, machine or lot that its evidence is about; *held* are loads whose unused
    stock is kept back; *carriers* are items that met its source patient and that nothing has
    cleared since of what it asks about.
    """

    case: str
    about: str
    held: frozenset[str]
    carriers: frozenset[str]

    def holds(self, standing: Standing) -> bool:
        """Whether it holds this item in doubt."""
        return standing.item in (self.about, *self.carriers) or any(
            done.load in self.held for done in standing.done if done.load
        )


def open_cases(store: Store) -> list[OpenCase]:
    """Those that are neither decided nor closed, the oldest first."""
    rows = store.rows(
        "SELECT case_id, about, held, patient, since, until, hazard FROM doubt"
        " WHERE decided IS NULL AND closed IS NULL ORDER BY raised, case_id"
    )
    return [
        OpenCase(
            case=case,
            about=about,
            held=frozenset(filter(None, held.split(","))),
            carriers=frozenset(_carriers(store, patient, since, until, hazard)),
        )
        for case, about, held, patient, since, until, hazard in rows
    ]


def holding(cases: Sequence[OpenCase], tag: str) -> str:
    """The one of *cases* that is about *tag*, a lot for one; "" if none is."""
    return next((one.case for one in cases if one.about == tag), "")


def _carriers(
    store: Store, patient: str, since: int | None, until: int | None, hazard: Hazard
) -> Iterator[str]:
    if not patient:
        return
    rows = store.rows(
        "SELECT DISTINCT u.item FROM touch u WHERE u.patient = ? AND u.sort = 'use'"
        " AND u.at >= ? AND u.at <= ? AND NOT EXISTS (SELECT 1 FROM touch g"
        " WHERE g.item = u.item AND g.sort = 'gate' AND g.at > u.at AND g.state = 'proven'"
        f" AND g.doubt = 0 AND (g.whole & {BIT[hazard]}) <> 0)",
        patient,
        -(2**62) if since is None else since,
        2**62 if until is None else until,
    )
    for (item,) in rows:
        yield str(item)
