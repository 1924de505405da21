"""Where the rehearsals of the nights stand. Frozen copy; no ledger tells of one yet."""

from peewee import *


class Rehearsal(Model):
    site = TextField()
    day = TextField()
    position = BigIntegerField()

    class Meta:
        table_name = "rehearsal"
        primary_key = CompositeKey("site", "day")


def up(migrator, db):
    with db.bind_ctx([Rehearsal]):
        db.create_tables([Rehearsal], safe=False)
