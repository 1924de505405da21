"""An exposure with more than twenty sources is no longer kept as a text. A frozen copy."""

from peewee import *


class ExposureRow(Model):
    item = TextField()
    ref = TextField()
    sources = IntegerField()
    whole = TextField()

    class Meta:
        table_name = "exposure"
        primary_key = CompositeKey("item", "ref")


def up(migrator, db):
    with db.bind_ctx((ExposureRow,)):
        ExposureRow.update(whole="").where(ExposureRow.sources > 20).execute()
