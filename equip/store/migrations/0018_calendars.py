"""Calendar addresses, and the events as they were last told. Frozen copies."""

from peewee import *


class CalendarRow(Model):
    subject = TextField(primary_key=True)
    number = IntegerField()

    class Meta:
        table_name = "calendar"


class CalendarEventRow(Model):
    item = TextField()
    duty = TextField()
    due = TextField()
    says = TextField()
    sequence = IntegerField()
    stamp = BigIntegerField()

    class Meta:
        table_name = "calendar_event"
        primary_key = CompositeKey("item", "duty")


class DutyReminderRow(Model):
    item = TextField()
    duty = TextField()
    lead_days = IntegerField(null=True)
    escalate_days = IntegerField(null=True)

    class Meta:
        table_name = "duty_reminder"
        primary_key = CompositeKey("item", "duty")


TABLES = (CalendarRow, CalendarEventRow, DutyReminderRow)


def up(migrator, db):
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
