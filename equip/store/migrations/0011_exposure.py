"""Who met whom, and who was exposed. Frozen copies.

The table of touches is made anew: it knew uses only. All of it follows from the ledger, which is
folded again once the tables are there.
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
    gap = IntegerField()

    class Meta:
        table_name = "touch"
        primary_key = CompositeKey("item", "sort", "ref")
        indexes = ((("item", "at"), False), (("gap", "at"), False))


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

    class Meta:
        table_name = "exposure"
        primary_key = CompositeKey("item", "ref")
        indexes = ((("item", "at"), False), (("open", "at"), False))


class InDoubt(Model):
    case_id = TextField()
    item = TextField()
    ref = TextField(index=True)

    class Meta:
        table_name = "in_doubt"
        primary_key = CompositeKey("case_id", "item", "ref")


class Decided(Model):
    item = TextField()
    ref = TextField()
    source = TextField()
    case_id = TextField()

    class Meta:
        table_name = "decided"
        primary_key = CompositeKey("item", "ref", "source")


class OldName(Model):
    sort = TextField()
    text = TextField()
    tag = TextField(index=True)

    class Meta:
        table_name = "old_name"
        primary_key = CompositeKey("sort", "text")


class Past(Model):
    digest = TextField(primary_key=True)
    name = TextField()
    line = IntegerField()
    rows_in = IntegerField()

    class Meta:
        table_name = "past"


class Tally(Model):
    name = TextField(primary_key=True)
    number = BigIntegerField()

    class Meta:
        table_name = "tally"


TABLES = (Touch, ExposureRow, InDoubt, Decided, OldName, Past, Tally)


def up(migrator, db):
    db.execute_sql("DROP TABLE touch")
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
