"""How the checks ahead of a session stand: of one thing, of all; what may not be used for it."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.facts import ItemType
from equip.rulebook.fitness import check_hours
from equip.rules.fitness.gates import Member
from equip.rules.fitness.session import Line, Made, day_began, lines, why_not
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import Why
from equip.scan import show_tag
from equip.store.readings import check_rows


def lines_of(
    clinic: Clinic, item: str, kind: ItemType, at: datetime, more: Iterable[Made] = ()
) -> list[Line]:
    """How each check of a thing stands at *at*; *more* are some that are being written down."""
    if not kind.checks:
        return []
    made = check_rows.checks_of(clinic.store, item, day_began(at, clinic.house.zone), at)
    return _lines(clinic, kind, [*made, *more], at)


def lines_today(
    clinic: Clinic, standings: Iterable[Standing], at: datetime
) -> dict[str, list[Line]]:
    """The same of each of *standings* that is checked at all, by tag."""
    made = check_rows.checks_between(clinic.store, day_began(at, clinic.house.zone), at)
    found = {}
    for stands in standings:
        kind = clinic.house.kind(stands.type)
        if kind.checks:
            found[stands.item] = _lines(clinic, kind, made.get(stands.item, ()), at)
    return found


def _lines(clinic: Clinic, kind: ItemType, made: Iterable[Made], at: datetime) -> list[Line]:
    house = clinic.house
    return lines(kind.checks, made, at, check_hours(house.rules(at)), house.zone)


def unchecked(
    clinic: Clinic,
    stands: Standing,
    kind: ItemType,
    members: Sequence[Member],
    at: datetime,
    found: Mapping[str, Sequence[Line]] | None = None,
) -> list[Why]:
    """Why a thing may not be used at *at* for want of a check: its own, or one of its set's.

    What is sealed in a pack cannot be looked at, so nothing in it is asked for. *found* is how
    the checks of all things stand, where that was read already.
    """
    asked = [("Its", stands, kind)]
    if _shows_members(stands, kind):
        asked += [(f"{its.name} {show_tag(one.item)}: its", one, its) for one, its in members]
    reasons = []
    for whose, one, its in asked:
        if not one.pack:
            of_it = (
                lines_of(clinic, one.item, its, at) if found is None else found.get(one.item, ())
            )
            reasons += why_not(of_it, at, clinic.house.zone, whose)
    return reasons


def _shows_members(stands: Standing, kind: ItemType) -> bool:
    """Whether what belongs to it lies open: a set that is in no pack, a pack that was opened."""
    if stands.made is not None:
        return stands.opened is not None
    return kind.sort == "set" and not stands.pack
