"""What else an open look-back holds stands with it: unused stock, a source patient. A frozen copy.

The table is made anew with five columns more. It follows from the ledger, which is folded again
once the table is there; so do the uses that happened before their item came on the register.
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
    held = TextField()
    patient = TextField()
    since = BigIntegerField(null=True)
    until = BigIntegerField(null=True)
    hazard = TextField()

    class Meta:
        table_name = "doubt"


TABLES = (Doubt,)


def up(migrator, db):
    db.execute_sql("DROP TABLE doubt")
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
