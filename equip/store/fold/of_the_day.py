"""A use whose gate is that of the day: its machine is shared by all who were used on that day."""

from datetime import UTC
from zoneinfo import ZoneInfo

from equip.facts import ItemType, micros
from equip.rules.fitness.day_gate import in_force
from equip.rules.fitness.standing import Standing
from equip.store.database import Store
from equip.store.ledger.ledger import Entry

_OF_THE_DAY = "of the day"
"""The gate of a use, as its row names it, that its machine shares with all of its day."""


def over_at(gate: str) -> int | None:
    """When the gate of the day was over that a use names; None if it names another, or none."""
    named = gate.startswith(_OF_THE_DAY)
    return int(gate.removeprefix(_OF_THE_DAY)) if named else None


def proven_today(store: Store, standing: Standing, kind: ItemType, entry: Entry) -> tuple[str, str]:
    """The gate that stands before a use of such a machine, or why none does.

    The day is that of the clock of the site where the use was written down.
    """
    row = store.one("SELECT zone FROM site WHERE code = ?", entry.site)
    zone = ZoneInfo(str(row[0])) if row is not None else UTC
    done = in_force(standing, kind, entry.fact.at, zone)
    if done is not None:
        return f"{_OF_THE_DAY} {micros(done.wet_until)}", ""
    return "", "it was not disinfected on that day before it"
