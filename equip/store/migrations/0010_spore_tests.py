"""Spore tests of machines. Frozen copy; those in cycles of their own follow from what is there."""

from peewee import *


class SporeTest(Model):
    id = TextField(primary_key=True)
    machine = TextField()
    load = TextField()
    lot = TextField()
    put = BigIntegerField()
    ran = BigIntegerField(null=True)
    read = BigIntegerField(null=True)
    result = TextField(index=True)

    class Meta:
        table_name = "spore_test"
        indexes = ((("machine", "ran"), False), (("load",), False))


def up(migrator, db):
    with db.bind_ctx([SporeTest]):
        db.create_tables([SporeTest], safe=False)
    db.execute_sql(
        "INSERT INTO spore_test (id, machine, load, lot, put, ran, read, result)"
        " SELECT site || '/' || position, machine, '', '', at, at, at, CASE verdict"
        " WHEN 'pass' THEN 'negative' WHEN 'fail' THEN 'positive' ELSE 'invalid' END"
        " FROM machine_test WHERE test = 'spore'"
    )
