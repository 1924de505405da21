"""Pieces of work. Frozen copy; no ledger before this one tells of any."""

from peewee import *


class WorkRow(Model):
    id = TextField(primary_key=True)
    item = TextField(index=True)
    raised = BigIntegerField()
    closed = BigIntegerField(null=True, index=True)

    class Meta:
        table_name = "work"


def up(migrator, db):
    with db.bind_ctx([WorkRow]):
        db.create_tables([WorkRow], safe=False)
