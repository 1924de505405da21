"""What soak baths were filled with. Frozen copy; no ledger before this one tells of any."""

from peewee import *


class FillingRow(Model):
    machine = TextField()
    at = BigIntegerField()
    site = TextField()
    position = BigIntegerField()
    lot = TextField()
    who = TextField()
    note = TextField()
    act = TextField()

    class Meta:
        table_name = "filling"
        primary_key = CompositeKey("site", "position")
        indexes = ((("machine", "at"), False),)


def up(migrator, db):
    with db.bind_ctx([FillingRow]):
        db.create_tables([FillingRow], safe=False)
