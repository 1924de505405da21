"""Lots of what is used up on the way. Frozen copy; no ledger before this one tells of any."""

from peewee import *


class LotRow(Model):
    tag = TextField(primary_key=True)
    sort = TextField()
    name = TextField()
    number = TextField()
    body = BlobField()
    opened = BigIntegerField(null=True)
    finished = TextField(default="")

    class Meta:
        table_name = "lot"


def up(migrator, db):
    with db.bind_ctx([LotRow]):
        db.create_tables([LotRow], safe=False)
