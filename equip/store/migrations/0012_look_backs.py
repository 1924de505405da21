"""Look-backs from alarm to close, and drills. Frozen copies.

The table of look-backs is made anew with more columns; it follows from the ledger, which is
folded again once the tables are there.
"""

from peewee import *


class Doubt(Model):
    case_id = TextField(primary_key=True)
    raised = BigIntegerField()
    loads = TextField()
    why = TextField()
    who = TextField()
    decided = BigIntegerField(null=True)
    decision = TextField(null=True)
    reason = TextField(null=True)
    unfounded = IntegerField()
    evidence = TextField()
    about = TextField()
    listed = BigIntegerField(null=True)
    closed = BigIntegerField(null=True)

    class Meta:
        table_name = "doubt"


class Drill(Model):
    site = TextField()
    position = BigIntegerField()
    at = BigIntegerField(index=True)

    class Meta:
        table_name = "drill"
        primary_key = CompositeKey("site", "position")


TABLES = (Doubt, Drill)


def up(migrator, db):
    db.execute_sql("DROP TABLE doubt")
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
