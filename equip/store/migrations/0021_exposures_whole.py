"""An exposure is kept whole, with its sources and paths. A frozen copy.

The table is made anew with one column more; it follows from the ledger, which is folded again once
the table is there.
"""

from peewee import *


class ExposureRow(Model):
    item = TextField()
    ref = TextField()
    at = BigIntegerField()
    patient = TextField(index=True)
    site = TextField()
    position = BigIntegerField()
    certainty = IntegerField()
    sources = IntegerField()
    open = IntegerField()
    whole = TextField()

    class Meta:
        table_name = "exposure"
        primary_key = CompositeKey("item", "ref")
        indexes = ((("item", "at"), False), (("open", "at"), False))


TABLES = (ExposureRow,)


def up(migrator, db):
    db.execute_sql("DROP TABLE exposure")
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
