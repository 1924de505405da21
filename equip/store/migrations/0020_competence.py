"""What people were found competent for. Frozen copies; folded from the ledger once it is there."""

from peewee import *


class Competence(Model):
    site = TextField()
    position = BigIntegerField()
    person = TextField(index=True)
    task = TextField()
    outcome = TextField()
    since = TextField()
    until = TextField(null=True)
    assessor = TextField()
    outside = TextField()
    evidence = TextField()
    file = TextField()
    who = TextField()

    class Meta:
        table_name = "competence"
        primary_key = CompositeKey("site", "position")


TABLES = (Competence,)


def up(migrator, db):
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
