"""The tables that no ledger can rebuild; their columns only, never a query."""

from peewee import BigIntegerField, BlobField, CompositeKey, IntegerField, Model, TextField


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
    """Word that leaves the clinic later: claimed by one conditional update, then marked as sent.

    Without an *address* it is an event that no letter was written about yet. *stopped* is when we
    gave up, below nought once a person put it away; a person may start it again. *withdrawn* is
    when what it told of was found overtaken; *unsure* is 1 once a try may have arrived.
    """

    key = TextField(primary_key=True)
    due = BigIntegerField()
    what = TextField()
    payload = TextField()
    tries = IntegerField()
    claimed_until = BigIntegerField()
    claimed_by = TextField()
    sent = BigIntegerField(null=True)
    error = TextField()
    person = TextField()
    address = TextField()
    subject = TextField()
    stopped = BigIntegerField(null=True)
    withdrawn = BigIntegerField(null=True)
    unsure = IntegerField()

    class Meta:
        table_name = "agenda"
        indexes = ((("sent", "due"), False),)


class LetterLineRow(Table):
    """One duty that a letter tells of which has not left yet."""

    key = TextField()
    item = TextField()
    duty = TextField()
    due = TextField()
    line = TextField()

    class Meta:
        table_name = "letter_line"
        primary_key = CompositeKey("key", "item", "duty", "due")


class RecipientRow(Table):
    """Where a person's mail goes: personal, so it stays out of the ledger.

    *sites* are codes with commas, empty for all; without *told_first* they hear only of what
    stops and of what is late for too long; *stopped* is when they stopped their reminders.
    """

    person = TextField(primary_key=True)
    address = TextField()
    sites = TextField()
    told_first = IntegerField()
    stopped = BigIntegerField(null=True)

    class Meta:
        table_name = "recipient"


class ReminderRow(Table):
    """The last step of reminding that a reader was told of one due day; it only rises."""

    reader = TextField()
    item = TextField()
    duty = TextField()
    due = TextField()
    sort = TextField()
    step = IntegerField()

    class Meta:
        table_name = "reminder"
        primary_key = CompositeKey("reader", "item", "duty", "due", "sort")


class BeatRow(Table):
    """How the last beat of each process went."""

    process = TextField(primary_key=True)
    at = BigIntegerField()
    sent = IntegerField()
    error = TextField()
    error_at = BigIntegerField(null=True)

    class Meta:
        table_name = "beat"


class CalendarRow(Table):
    """Which address of a calendar is valid: *number* rises when it is renewed."""

    subject = TextField(primary_key=True)
    number = IntegerField()

    class Meta:
        table_name = "calendar"


class CalendarEventRow(Table):
    """An event as it was last told, and how often its day has changed."""

    item = TextField()
    duty = TextField()
    due = TextField()
    says = TextField()
    sequence = IntegerField()
    stamp = BigIntegerField()

    class Meta:
        table_name = "calendar_event"
        primary_key = CompositeKey("item", "duty")


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


class DeviceRow(Table):
    """A device that is a bench: which, at what *place*, named by whom; *seen* within the hour."""

    id = TextField(primary_key=True)
    bench = TextField(index=True)
    place = TextField()
    person = TextField()
    named = BigIntegerField()
    seen = BigIntegerField()

    class Meta:
        table_name = "device"


KEPT = (
    DeviceRow,
    ActRow,
    VaultRow,
    AgendaRow,
    LetterLineRow,
    RecipientRow,
    ReminderRow,
    BeatRow,
    CalendarRow,
    CalendarEventRow,
    FileRow,
    PersonRow,
    SessionRow,
)
