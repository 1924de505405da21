"""A load whose opening was taken back is no load. A frozen copy."""

from peewee import *


class LoadRow(Model):
    tag = TextField(primary_key=True)
    machine = TextField()
    stage = TextField()

    class Meta:
        table_name = "load"


def up(migrator, db):
    with db.bind_ctx((LoadRow,)):
        LoadRow.delete().where(LoadRow.stage == "filling", LoadRow.machine == "").execute()
