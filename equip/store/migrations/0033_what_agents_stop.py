"""What a step by hand or a cycle stops follows from its agent or programme. No table changes.

Where items stand and what their gates stop are other than before, so the ledger is folded again.
"""


def up(migrator, db):
    pass
