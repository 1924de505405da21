"""Kinds of procedure that a list may name. Frozen copies."""

from peewee import *


class Procedure(Model):
    code = TextField(primary_key=True)
    body = BlobField()

    class Meta:
        table_name = "procedure"


def up(migrator, db):
    with db.bind_ctx([Procedure]):
        db.create_tables([Procedure], safe=False)
