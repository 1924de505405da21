"""Duties by count, certificate and type; what brings them on. Frozen copies.

The table of duties is made anew with more columns; it follows from the ledger, which is folded
again once the tables are there.
"""

from peewee import *


class DutyRow(Model):
    item = TextField()
    duty = TextField()
    anchor = TextField()
    months = IntegerField()
    days = IntegerField()
    grounds = IntegerField()
    last_met = TextField(null=True)
    done = TextField(null=True)
    next_due = TextField(index=True)
    of_type = IntegerField()
    every_count = IntegerField()
    counts = TextField()
    already = IntegerField()
    tolerance = IntegerField()
    shift = TextField()
    certificate = IntegerField()
    not_after = TextField(null=True)
    after_move = IntegerField(null=True)
    cost = TextField(null=True)
    source = TextField()
    since = BigIntegerField()
    counted = IntegerField()
    reached = BigIntegerField(null=True, index=True)
    moved = BigIntegerField(null=True, index=True)

    class Meta:
        table_name = "duty"
        primary_key = CompositeKey("item", "duty")


class TypeDutyRow(Model):
    type = TextField()
    duty = TextField()
    body = BlobField()

    class Meta:
        table_name = "type_duty"
        primary_key = CompositeKey("type", "duty")


class Worked(Model):
    item = TextField()
    sort = TextField()
    at = BigIntegerField()
    n = IntegerField()

    class Meta:
        table_name = "worked"
        primary_key = CompositeKey("item", "sort", "at")
        indexes = ((("sort", "at"), False),)


TABLES = (DutyRow, TypeDutyRow, Worked)


def up(migrator, db):
    db.execute_sql("DROP TABLE duty")
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
