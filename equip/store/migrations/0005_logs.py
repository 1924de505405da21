"""How machines write their logs, which load has which log, and logs of no load. Frozen copies."""

import json

from peewee import *


class LogLayoutRow(Model):
    site = TextField()
    position = BigIntegerField()
    machine = TextField()
    at = BigIntegerField()
    layout = TextField()
    reason = TextField()
    who = TextField()

    class Meta:
        table_name = "log_layout"
        primary_key = CompositeKey("site", "position")
        indexes = ((("machine", "at"), False),)


class LoadLog(Model):
    load = TextField(primary_key=True)
    log = TextField(index=True)

    class Meta:
        table_name = "load_log"


class StrayLog(Model):
    log = TextField(primary_key=True)
    machine = TextField(index=True)
    name = TextField()
    cycle_no = TextField()
    why = TextField()
    layout = TextField()
    at = BigIntegerField()
    explained = TextField()

    class Meta:
        table_name = "stray_log"


TABLES = (LogLayoutRow, LoadLog, StrayLog)


def up(migrator, db):
    with db.bind_ctx(TABLES):
        db.create_tables(TABLES, safe=False)
        # The kinds behind the other two are new with this version: no entry of theirs is older.
        # A load already keeps which log it was judged by, so nothing need be folded again.
        loads = db.execute_sql("SELECT tag, state FROM load ORDER BY tag").fetchall()
        for tag, state in loads:
            if log := json.loads(bytes(state)).get("log", ""):
                LoadLog.insert(load=tag, log=log).execute()
