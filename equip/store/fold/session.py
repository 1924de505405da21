"""Checks ahead of a session to their table."""

from equip.facts import Checked, ChecksOver, micros
from equip.store.database import Store
from equip.store.ledger.ledger import Entry

CHECK_KINDS = (Checked, ChecksOver)

_KEEP = (
    "INSERT INTO checked (item, sort, at, site, position, passed, value, unit, says, who, act)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)


def keep_checks(store: Store, entry: Entry) -> None:
    fact = entry.fact
    place = (micros(fact.at), entry.site, entry.position)
    if isinstance(fact, Checked):
        value = "" if fact.value is None else str(fact.value)
        says = " ".join(reason.says for reason in fact.reasons)
        more = (int(fact.passed), value, fact.unit, says, fact.by, fact.act)
        store.run(_KEEP, fact.item, fact.check, *place, *more)
    elif isinstance(fact, ChecksOver):
        more = (0, "", "", "", fact.by, fact.act)
        store.many(_KEEP, [(item, "", *place, *more) for item in fact.covers])
