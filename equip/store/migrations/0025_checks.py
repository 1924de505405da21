"""Checks ahead of a session. Frozen copies; folded from the ledger once it is there."""

from peewee import *


class Checked(Model):
    item = TextField()
    sort = TextField()
    at = BigIntegerField()
    site = TextField()
    position = BigIntegerField()
    passed = IntegerField()
    value = TextField()
    unit = TextField()
    says = TextField()
    who = TextField()
    act = TextField()

    class Meta:
        table_name = "checked"
        primary_key = CompositeKey("site", "position", "item")
        indexes = ((("item", "at"), False), (("at",), False))


TABLES = (Checked,)


def up(migrator, db):
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
