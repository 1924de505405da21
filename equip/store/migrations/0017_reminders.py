"""Letters on the agenda, who gets them, what each was told, and the last beat. Frozen copies."""

from peewee import *


class RecipientRow(Model):
    person = TextField(primary_key=True)
    address = TextField()
    sites = TextField()
    told_first = IntegerField()
    stopped = BigIntegerField(null=True)

    class Meta:
        table_name = "recipient"


class ReminderRow(Model):
    reader = TextField()
    item = TextField()
    duty = TextField()
    due = TextField()
    sort = TextField()
    step = IntegerField()

    class Meta:
        table_name = "reminder"
        primary_key = CompositeKey("reader", "item", "duty", "due", "sort")


class BeatRow(Model):
    process = TextField(primary_key=True)
    at = BigIntegerField()
    sent = IntegerField()
    error = TextField()
    error_at = BigIntegerField(null=True)

    class Meta:
        table_name = "beat"


TABLES = (RecipientRow, ReminderRow, BeatRow)


def up(migrator, db):
    for column in ("person", "address", "subject"):
        db.execute_sql(f"ALTER TABLE agenda ADD COLUMN {column} TEXT NOT NULL DEFAULT ''")
    whole = "BIGINT" if isinstance(db, PostgresqlDatabase) else "INTEGER"
    db.execute_sql(f"ALTER TABLE agenda ADD COLUMN stopped {whole}")
    # A digest that never left held only its day; each morning's letter has all that is still due.
    db.execute_sql(
        "UPDATE agenda SET what = 'nothing', sent = due WHERE what = 'digest' AND sent IS NULL"
    )
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
