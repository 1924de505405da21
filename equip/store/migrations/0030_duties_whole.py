"""A duty keeps its terms whole, as the rules have them. A frozen copy.

The table is made anew; it follows from the ledger, which is folded again once it is there.
"""

from peewee import *


class DutyRow(Model):
    item = TextField()
    duty = TextField()
    goes_by = BlobField()
    so_far = BlobField()
    last_met = TextField(null=True)
    done = TextField(null=True)
    next_due = TextField(index=True)
    of_type = IntegerField()
    since = BigIntegerField()
    watches = IntegerField()
    early = BigIntegerField(null=True, index=True)

    class Meta:
        table_name = "duty"
        primary_key = CompositeKey("item", "duty")


def up(migrator, db):
    db.execute_sql("DROP TABLE duty")
    with db.bind_ctx((DutyRow,)):
        db.create_tables((DutyRow,), safe=False)
