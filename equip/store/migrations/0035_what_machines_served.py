"""What was done to a machine before it was used stands with it, for those that a day shares.

No table changes: the ledger is folded again.
"""


def up(migrator, db):
    pass
