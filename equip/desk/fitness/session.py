"""How the checks ahead of a session stand: of one thing, of all; what may not be used for it."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from equip.desk.clinic import Clinic
from equip.facts import ItemType
from equip.rulebook.fitness import check_hours, checks_each_use, checks_not_asked
from equip.rules.fitness.gates import Member
from equip.rules.fitness.session import CheckLine, CheckMade, day_began, lines, why_not
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import Why
from equip.scan import show_tag
from equip.store.readings import check_rows, item_rows


def lines_of(
    clinic: Clinic, item: str, kind: ItemType, at: datetime, more: Iterable[CheckMade] = ()
) -> list[CheckLine]:
    """How each check of a thing stands at *at*; *more* are some that are being written down."""
    if not kind.checks:
        return []
    made = check_rows.checks_of(clinic.store, item, day_began(at, clinic.house.zone), at)
    standing = item_rows.standing_of(clinic.store, item)
    return _lines(clinic, kind, [*made, *more], at, standing.last_use if standing else None)


def lines_today(
    clinic: Clinic, standings: Iterable[Standing], at: datetime
) -> dict[str, list[CheckLine]]:
    """The same of each of *standings* that is checked at all, by tag."""
    made = check_rows.checks_between(clinic.store, day_began(at, clinic.house.zone), at)
    found = {}
    for standing in standings:
        kind = clinic.house.kind(standing.type)
        if kind.checks:
            its = made.get(standing.item, ())
            found[standing.item] = _lines(clinic, kind, its, at, standing.last_use)
    return found


def _lines(
    clinic: Clinic,
    kind: ItemType,
    made: Iterable[CheckMade],
    at: datetime,
    used: datetime | None,
) -> list[CheckLine]:
    rules, zone = clinic.house.rules(at), clinic.house.zone
    each_use, not_asked = checks_each_use(rules), checks_not_asked(rules)
    asked = [one for one in kind.checks if one.check not in not_asked]
    return lines(asked, made, at, check_hours(rules), zone, used=used, each_use=each_use)


def unchecked(
    clinic: Clinic,
    standing: Standing,
    kind: ItemType,
    members: Sequence[Member],
    at: datetime,
    found: Mapping[str, Sequence[CheckLine]] | None = None,
) -> list[Why]:
    """Why a thing may not be used at *at* for want of a check: its own, or one of its set's.

    What is sealed in a pack cannot be looked at, so nothing in it is asked for. *found* is how
    the checks of all things stand, where that was read already.
    """
    asked = [("Its", standing, kind)]
    if _shows_members(standing, kind):
        asked += [
            (f"{own.name} {show_tag(member.item)}: its", member, own) for member, own in members
        ]
    reasons = []
    for whose, checked, its_kind in asked:
        if not checked.pack:
            checks = (
                lines_of(clinic, checked.item, its_kind, at)
                if found is None
                else found.get(checked.item, ())
            )
            reasons += why_not(checks, at, clinic.house.zone, whose)
    return reasons


def _shows_members(standing: Standing, kind: ItemType) -> bool:
    """Whether what belongs to it lies open: a set that is in no pack, a pack that was opened."""
    if standing.made is not None:
        return standing.opened is not None
    return kind.sort == "set" and not standing.pack
