"""Checks ahead of a session, without those that were taken back."""

from datetime import datetime
from decimal import Decimal

from equip.facts import micros, moment
from equip.rules.fitness.session import CheckMade
from equip.store.database import Store

_CHECKS = (
    "SELECT item, sort, at, passed, says, value, unit, who, site, position FROM checked"
    " WHERE at >= ? AND at <= ?{}"
    " AND NOT EXISTS (SELECT 1 FROM withdrawn WHERE withdrawn.act = checked.act)"
    " ORDER BY at, site, position"
)


def checks_between(store: Store, since: datetime, until: datetime) -> dict[str, list[CheckMade]]:
    """Every check of a time, both ends in it, by the item and in order of time."""
    found: dict[str, list[CheckMade]] = {}
    for item, *row in store.rows(_CHECKS.format(""), micros(since), micros(until)):
        found.setdefault(item, []).append(_made(*row))
    return found


def checks_of(store: Store, item: str, since: datetime, until: datetime) -> list[CheckMade]:
    """Those of one item."""
    rows = store.rows(_CHECKS.format(" AND item = ?"), micros(since), micros(until), item)
    return [_made(*row) for _, *row in rows]


def _made(
    sort: str,
    at: int,
    passed: int,
    says: str,
    value: str,
    unit: str,
    who: str,
    site: str,
    position: int,
) -> CheckMade:
    return CheckMade(
        check=sort,  # type: ignore[arg-type]
        at=moment(at),
        passed=bool(passed),
        says=says,
        value=Decimal(value) if value else None,
        unit=unit,
        by=who,
        path=f"{site}/{position}",
    )
