"""The loads that a decontamination rests on stand beside it. A frozen copy.

The table is made anew with one column more; it follows from the ledger, which is folded again once
the table is there.
"""

from peewee import *


class Touch(Model):
    item = TextField()
    sort = TextField()
    ref = TextField(index=True)
    at = BigIntegerField()
    site = TextField()
    position = BigIntegerField()
    what = TextField()
    patient = TextField(index=True)
    gate = TextField(index=True)
    why_not = TextField()
    whole = IntegerField()
    short = IntegerField()
    state = TextField()
    contents = IntegerField()
    doubt = IntegerField()
    rests = TextField()
    gap = IntegerField()

    class Meta:
        table_name = "touch"
        primary_key = CompositeKey("item", "sort", "ref")
        indexes = ((("item", "at"), False), (("gap", "at"), False))


TABLES = (Touch,)


def up(migrator, db):
    db.execute_sql("DROP TABLE touch")
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
