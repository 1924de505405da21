"""What the ledger adds up to. Frozen copies: never import the application's own tables here."""

from peewee import *


class About(Model):
    subject = TextField()
    at = BigIntegerField()
    site = TextField()
    position = BigIntegerField()

    class Meta:
        table_name = "about"
        primary_key = CompositeKey("subject", "at", "site", "position")


class Site(Model):
    code = TextField(primary_key=True)
    name = TextField()
    zone = TextField()
    book = TextField()

    class Meta:
        table_name = "site"


class Itemtype(Model):
    code = TextField(primary_key=True)
    body = BlobField()

    class Meta:
        table_name = "itemtype"


class Item(Model):
    tag = TextField(primary_key=True)
    site = TextField()
    type = TextField(index=True)
    name = TextField()
    serial = TextField()
    added = BigIntegerField()

    class Meta:
        table_name = "item"


class Alias(Model):
    text = TextField(primary_key=True)
    item = TextField(index=True)

    class Meta:
        table_name = "alias"


class Place(Model):
    tag = TextField(primary_key=True)
    name = TextField()
    sort = TextField()

    class Meta:
        table_name = "place"


class Staff(Model):
    tag = TextField(primary_key=True)
    name = TextField()
    role = TextField()
    rights = TextField()
    active = IntegerField()

    class Meta:
        table_name = "staff"


class RuleOverride(Model):
    site = TextField()
    position = BigIntegerField()
    rule = TextField()
    value = TextField()
    reason = TextField()
    since = TextField()
    who = TextField()

    class Meta:
        table_name = "rule_override"
        primary_key = CompositeKey("site", "position")


class Revision(Model):
    name = TextField(primary_key=True)
    number = BigIntegerField()

    class Meta:
        table_name = "revision"


class StandingRow(Model):
    item = TextField(primary_key=True)
    type = TextField(index=True)
    at = BigIntegerField(null=True)
    whereabouts = TextField()
    place = TextField()
    load = TextField(index=True)
    pack = TextField(index=True)
    held = IntegerField()
    state = BlobField()

    class Meta:
        table_name = "standing"


class LoadRow(Model):
    tag = TextField(primary_key=True)
    machine = TextField()
    cycle_no = TextField()
    at = BigIntegerField(null=True)
    stage = TextField(index=True)
    verdict = TextField()
    state = BlobField()

    class Meta:
        table_name = "load"
        indexes = ((("machine", "at"), False),)


class Touch(Model):
    item = TextField()
    use_id = TextField()
    at = BigIntegerField(index=True)
    site = TextField()
    position = BigIntegerField()
    what = TextField()
    patient = TextField(index=True)
    gate = TextField(index=True)
    gap = TextField()

    class Meta:
        table_name = "touch"
        primary_key = CompositeKey("item", "use_id")
        indexes = ((("use_id",), False),)


class UseRow(Model):
    id = TextField(primary_key=True)
    site = TextField()
    patient = TextField(index=True)
    at = BigIntegerField(index=True)
    finished = BigIntegerField(null=True)
    who = TextField()
    place = TextField()
    ear = TextField()
    soil = TextField()

    class Meta:
        table_name = "use"


class DutyRow(Model):
    item = TextField()
    duty = TextField()
    anchor = TextField()
    months = IntegerField()
    days = IntegerField()
    grounds = IntegerField()
    last_met = TextField(null=True)
    done = TextField(null=True)
    next_due = TextField(index=True)

    class Meta:
        table_name = "duty"
        primary_key = CompositeKey("item", "duty")


class Doubt(Model):
    case_id = TextField(primary_key=True)
    raised = BigIntegerField()
    loads = TextField()
    why = TextField()
    who = TextField()
    decided = BigIntegerField(null=True)
    decision = TextField(null=True)
    reason = TextField(null=True)

    class Meta:
        table_name = "doubt"


class MachineTest(Model):
    machine = TextField()
    test = TextField()
    at = BigIntegerField()
    site = TextField()
    position = BigIntegerField()
    verdict = TextField()
    who = TextField()
    cycle_no = TextField()

    class Meta:
        table_name = "machine_test"
        primary_key = CompositeKey("site", "position")
        indexes = ((("machine", "test", "at"), False),)


class Sheet(Model):
    machine = TextField()
    day = TextField()
    who = TextField()

    class Meta:
        table_name = "sheet"
        primary_key = CompositeKey("machine", "day")


class WithdrawnAct(Model):
    act = TextField(primary_key=True)

    class Meta:
        table_name = "withdrawn"


class Counter(Model):
    letter = TextField(primary_key=True)
    last = BigIntegerField()

    class Meta:
        table_name = "counter"


TABLES = (
    About,
    Site,
    Itemtype,
    Item,
    Alias,
    Place,
    Staff,
    RuleOverride,
    Revision,
    StandingRow,
    LoadRow,
    Touch,
    UseRow,
    DutyRow,
    Doubt,
    MachineTest,
    Sheet,
    WithdrawnAct,
    Counter,
)


def up(migrator, db):
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
