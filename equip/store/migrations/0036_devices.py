"""Which bench each device is. Frozen copy."""

from peewee import *


class DeviceRow(Model):
    id = TextField(primary_key=True)
    bench = TextField(index=True)
    place = TextField()
    person = TextField()
    named = BigIntegerField()
    seen = BigIntegerField()

    class Meta:
        table_name = "device"


def up(migrator, db):
    with db.bind_ctx([DeviceRow]):
        db.create_tables([DeviceRow], safe=False)
