"""Where a machine stands no longer lists its loads: they were done to others, and never ended.

Only what was done to the machine itself stays, as the fold has it from now on. A frozen copy.
"""

import msgspec
from peewee import *


class StandingRow(Model):
    item = TextField(primary_key=True)
    state = BlobField()

    class Meta:
        table_name = "standing"


def up(migrator, db):
    spell = msgspec.json.Encoder(order="sorted").encode
    with db.bind_ctx((StandingRow,)):
        machines = list(StandingRow.select().where(StandingRow.item.startswith("D")).tuples())
        for item, state in machines:
            told = msgspec.json.decode(bytes(state))
            own = [done for done in told.pop("done", []) if not done.get("load")]
            if own:
                told["done"] = own
            StandingRow.update(state=spell(told)).where(StandingRow.item == item).execute()
