"""Whom an irrigator met since its waterline was last disinfected: its patients, newest first."""

from dataclasses import dataclass
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.facts import micros, moment
from equip.rules.fitness.day_gate import in_force, last_one
from equip.rules.fitness.standing import Done
from equip.store.fold.met import Contacts, clears
from equip.store.readings import item_rows, use_rows
from equip.store.readings.use_rows import TouchRow


@dataclass(frozen=True, slots=True)
class WaterPath:
    """The last disinfection as far as it is known, whether it holds, and the uses since."""

    last: Done | None
    since: datetime | None
    holds: bool
    uses: tuple[TouchRow, ...]

    @property
    def patients(self) -> int:
        return len({one.patient for one in self.uses})


def water_path(clinic: Clinic, tag: str, now: datetime) -> WaterPath | None:
    """The water path of one machine; None of what holds no gate for a day."""
    standing = item_rows.standing_of(clinic.store, tag)
    kind = clinic.house.kind(standing.type) if standing is not None else None
    if standing is None or kind is None or kind.holds != "day":
        return None
    gates = [one.at for one in Contacts(clinic.store).of(tag) if clears(one)]
    last = max((at for at in gates if at <= micros(now)), default=None)
    uses = [one for one in use_rows.touches_of(clinic.store, tag) if _after(one, last)]
    return WaterPath(
        last=last_one(standing, kind, now),
        since=None if last is None else moment(last),
        holds=in_force(standing, kind, now, clinic.house.zone) is not None,
        uses=tuple(reversed(uses)),
    )


def _after(use: TouchRow, gate: int | None) -> bool:
    return gate is None or use.micros >= gate
