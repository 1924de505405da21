"""The tables of the house that no ledger can rebuild. Frozen copies."""

from peewee import *


class ActRow(Model):
    id = TextField(primary_key=True)
    site = TextField()
    bench = TextField(null=True)
    seq = BigIntegerField(null=True)
    at = BigIntegerField()
    payload_hash = BlobField()
    reading = TextField()
    answer = TextField()
    context = TextField()
    first = BigIntegerField(null=True)
    last = BigIntegerField(null=True)

    class Meta:
        table_name = "act"
        indexes = ((("bench", "seq"), True),)


class VaultRow(Model):
    token = TextField(primary_key=True)
    lookup = BlobField(unique=True)
    sealed = BlobField()

    class Meta:
        table_name = "vault"


class AgendaRow(Model):
    key = TextField(primary_key=True)
    due = BigIntegerField()
    what = TextField()
    payload = TextField()
    tries = IntegerField()
    claimed_until = BigIntegerField()
    claimed_by = TextField()
    sent = BigIntegerField(null=True)
    error = TextField()

    class Meta:
        table_name = "agenda"
        indexes = ((("sent", "due"), False),)


class FileRow(Model):
    sha256 = TextField(primary_key=True)
    name = TextField()
    bytes = BlobField()

    class Meta:
        table_name = "file"


class PersonRow(Model):
    tag = TextField(primary_key=True)
    password_hash = TextField()
    pin_hash = TextField()
    wrong_pins = IntegerField()
    wrong_passwords = IntegerField()
    held_until = BigIntegerField()

    class Meta:
        table_name = "person"


class SessionRow(Model):
    key_hash = BlobField(primary_key=True)
    person = TextField()
    how = TextField()
    label = TextField()
    opened = BigIntegerField()
    seen = BigIntegerField()

    class Meta:
        table_name = "session"


HOUSE = (ActRow, VaultRow, AgendaRow, FileRow, PersonRow, SessionRow)


def up(migrator, db):
    with db.bind_ctx(HOUSE):
        db.create_tables(HOUSE, safe=False)
