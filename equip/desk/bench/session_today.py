"""The checks of today: each thing that is asked for any, how they stand, what is allowed."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from equip.desk.clinic import Clinic, House
from equip.desk.fitness.out_of_use import out_of_use
from equip.desk.fitness.session import lines_today
from equip.facts import AskedCheck
from equip.rulebook.fitness import check_band
from equip.rules.fitness.session import CheckLine, band_of
from equip.rules.fitness.standing import Standing
from equip.store.readings import item_rows


@dataclass(frozen=True, slots=True)
class CheckAsked:
    """One check of one thing, with the limits of its reading in words, "" if it has none."""

    line: CheckLine
    allowed: str

    @property
    def unit(self) -> str:
        """The unit that a reading is in where none is typed."""
        kind = self.line.kind
        return self.line.asked.unit or (kind.units[0] if kind.units else "")


@dataclass(frozen=True, slots=True)
class ItemChecks:
    """One item, all that is checked of it, and what is used with it, by name.

    *against* is what stands against it whatever its checks say.
    """

    tag: str
    type: str
    name: str
    place: str
    checks: tuple[CheckAsked, ...]
    serves: tuple[str, ...] = ()
    against: tuple[str, ...] = ()

    @property
    def ready(self) -> bool:
        """Whether every check is in force."""
        return all(check.line.state == "in force" for check in self.checks)

    @property
    def until(self) -> datetime | None:
        """When the first of them runs out; None while not all are in force."""
        ends = [check.line.until for check in self.checks if check.line.until is not None]
        return min(ends) if self.ready and ends else None

    @property
    def begun(self) -> bool:
        """Whether any is in force, so that a session's end means something to it."""
        return any(check.line.state == "in force" for check in self.checks)


def checks_today(clinic: Clinic, now: datetime, place: str = "") -> list[ItemChecks]:
    """Everything that is checked ahead of a session and is here; what is still to do first."""
    here = [
        standing
        for standing in item_rows.standings(clinic.store)
        if standing.where == "here" and (not place or standing.place == place)
    ]
    names = {row.tag: row.name for row in item_rows.items(clinic.store)}
    found = list(_shown(clinic, here, names, now))
    return sorted(found, key=lambda item: (item.ready, item.place, item.type, item.name, item.tag))


def checks_of(clinic: Clinic, tag: str, now: datetime) -> ItemChecks | None:
    """Those of one thing; None where nothing of it is checked."""
    standing = item_rows.standing_of(clinic.store, tag)
    if standing is None:
        return None
    row = item_rows.item_row(clinic.store, tag)
    return next(_shown(clinic, [standing], {tag: row.name if row else ""}, now), None)


def _shown(
    clinic: Clinic, standings: Iterable[Standing], names: Mapping[str, str], now: datetime
) -> Iterator[ItemChecks]:
    house = clinic.house
    by_tag = {standing.item: standing for standing in standings}
    for tag, lines in lines_today(clinic, by_tag.values(), now).items():
        standing = by_tag[tag]
        yield ItemChecks(
            tag=tag,
            type=house.kind(standing.type).name,
            name=names.get(tag, ""),
            place=house.place_name(standing.place),
            checks=tuple(CheckAsked(line, _allowed(house, line.asked, now)) for line in lines),
            serves=house.served_with(standing.type),
            against=tuple(why.says for why in out_of_use(clinic, standing, now)),
        )


def _allowed(house: House, asked: AskedCheck, now: datetime) -> str:
    band = band_of(asked, check_band(house.rules(now), asked.check))
    return "" if band is None else band.says
