"""A machine of a book from before lists its loads where it stands; once migrated, it does not."""

from datetime import timedelta

import msgspec

from equip import facts
from equip.rules.fitness.standing import Done, Standing
from equip.store.database import Store, migrate
from equip.store.fold.items import _encode
from equip.store.fold.project import project
from equip.store.ledger import ledger
from equip.store.readings import item_rows
from tests.support.stopped import NOON

MACHINE, HOOK = "D000000013", "E000000019"


def _ago(minutes: int) -> dict[str, object]:
    return {"at": NOON - timedelta(minutes=minutes), "by": "", "act": f"act-{minutes}"}


def _as_before(store: Store, stands: Standing) -> None:
    loads = [Done(steps=("sterilise",), at=NOON, load=f"L00000000{n}") for n in range(3)]
    old = msgspec.structs.replace(stands, done=(loads[0], *stands.done, *loads[1:]))
    store.run("UPDATE standing SET state = ? WHERE item = ?", _encode(old), stands.item)


def test_its_loads_go_what_was_done_to_it_stays_and_nothing_else_changes(empty_url: str) -> None:
    store = Store.open(empty_url)
    store.connect()
    migrate(store)
    told = [
        facts.ItemAdded(**_ago(5), item=MACHINE, type="washer", arrival="factory-new"),
        facts.ItemAdded(**_ago(5), item=HOOK, type="hook", arrival="factory-new"),
        facts.Stepped(**_ago(4), item=MACHINE, step="clean", passed=True),
        facts.LoadEnded(
            **_ago(3), load="L00000001E", machine=MACHINE, steps=("clean",), covers=(HOOK,)
        ),
    ]
    with store.writing():
        project(store, ledger.append(store, "TEST", told, NOON))
    folded = {tag: item_rows.standing_of(store, tag) for tag in (MACHINE, HOOK)}
    rows = store.rows("SELECT * FROM standing ORDER BY item")
    machine = folded[MACHINE]
    assert machine is not None and [one.load for one in machine.done] == [""]
    with store.writing():
        _as_before(store, machine)
        store.run("DELETE FROM schema_migration WHERE name = '0026_loads_of_machines'")

    done = migrate(store)

    assert done[0] == "0026_loads_of_machines"
    assert store.rows("SELECT * FROM standing ORDER BY item") == rows
    hook = item_rows.standing_of(store, HOOK)
    assert hook is not None and [one.load for one in hook.done] == ["L00000001E"]
    store.dispose()
