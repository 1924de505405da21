"""What the ledger says about one subject: an item, a load, a patient token, a person, a use."""

from equip import facts
from equip.store.database import Store
from equip.store.ledger import Entry


def told_about(store: Store, subject: str) -> list[Entry]:
    """Everything the ledger says about *subject*, oldest happening first."""
    return [
        Entry(site, position, facts.moment(recorded), facts.read(bytes(body)), bytes(seal))
        for site, position, recorded, body, seal in store.rows(
            "SELECT l.site, l.position, l.recorded_at, l.body, l.seal FROM about a"
            " JOIN ledger l ON l.site = a.site AND l.position = a.position"
            " WHERE a.subject = ? ORDER BY a.at, a.site, a.position",
            subject,
        )
    ]
