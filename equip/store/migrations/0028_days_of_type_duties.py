"""The duties of a type begin on the clinic's own day, no longer on that of Greenwich.

No table changes: the ledger is folded again.
"""


def up(migrator, db):
    pass
