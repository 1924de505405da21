"""The tables of the house that no ledger can rebuild; their columns only, never a query."""

from peewee import BigIntegerField, BlobField, IntegerField, Model, TextField


class Table(Model):
    """A table of the store. Times are microseconds since 1970 in UTC."""


class ActRow(Table):
    """One act: what was read (patients as tokens), what was answered, what it wrote."""

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


class VaultRow(Table):
    token = TextField(primary_key=True)
    lookup = BlobField(unique=True)
    sealed = BlobField()

    class Meta:
        table_name = "vault"


class AgendaRow(Table):
    """Word that leaves the house later: claimed by one conditional update, then marked as sent."""

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


class FileRow(Table):
    sha256 = TextField(primary_key=True)
    name = TextField()
    bytes = BlobField()

    class Meta:
        table_name = "file"


class PersonRow(Table):
    """What a person signs in with; who they are is told in the ledger."""

    tag = TextField(primary_key=True)
    password_hash = TextField()
    pin_hash = TextField()
    wrong_pins = IntegerField()
    wrong_passwords = IntegerField()
    held_until = BigIntegerField()

    class Meta:
        table_name = "person"


class SessionRow(Table):
    """A signed-in device or a bench key; only the hash of its key is kept."""

    key_hash = BlobField(primary_key=True)
    person = TextField()
    how = TextField()
    label = TextField()
    opened = BigIntegerField()
    seen = BigIntegerField()

    class Meta:
        table_name = "session"


HOUSE = (ActRow, VaultRow, AgendaRow, FileRow, PersonRow, SessionRow)
