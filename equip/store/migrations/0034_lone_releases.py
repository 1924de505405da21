"""Loads that one person released alone and nobody else has looked at. Frozen copy.

No ledger tells of one yet, so nothing is folded again.
"""

from peewee import *


class LoneRelease(Model):
    load = TextField(primary_key=True)

    class Meta:
        table_name = "lone_release"


def up(migrator, db):
    with db.bind_ctx([LoneRelease]):
        db.create_tables([LoneRelease], safe=False)
