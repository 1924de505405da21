"""What a letter that waits tells of, line by line, and letters withdrawn. Frozen copy."""

from peewee import *


class LetterLineRow(Model):
    key = TextField()
    item = TextField()
    duty = TextField()
    due = TextField()
    line = TextField()

    class Meta:
        table_name = "letter_line"
        primary_key = CompositeKey("key", "item", "duty", "due")


def up(migrator, db):
    whole = "BIGINT" if isinstance(db, PostgresqlDatabase) else "INTEGER"
    db.execute_sql(f"ALTER TABLE agenda ADD COLUMN withdrawn {whole}")
    db.execute_sql("ALTER TABLE agenda ADD COLUMN unsure INTEGER NOT NULL DEFAULT 0")
    with db.bind_ctx([LetterLineRow]):
        db.create_tables([LetterLineRow], safe=False)
