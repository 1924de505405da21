"""What the tests of the store share: facts to write down, and a way past the ledger's guards."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime
from pathlib import Path

import pytest

from equip.facts import Placed
from equip.store.database import Store
from equip.store.kept.keys import Keys, keys_in
from equip.store.kept.vault import Vault
from equip.store.ledger import ledger
from equip.store.ledger.ledger import Entry
from tests.support.stopped import StoppedClock

Append = Callable[..., list[Entry]]


@pytest.fixture
def keys(tmp_path: Path) -> Keys:
    return keys_in(tmp_path)


@pytest.fixture
def vault(store: Store, keys: Keys) -> Vault:
    return Vault(store, keys)


@pytest.fixture
def append(store: Store, clock: StoppedClock) -> Append:
    """Append so many facts to a site's chain in one act."""

    def append(count: int = 1, site: str = "HOME", now: datetime | None = None) -> list[Entry]:
        told = [placed(clock.now, f"E{number:08d}X") for number in range(1, count + 1)]
        with store.writing():
            return ledger.append(store, site, told, now or clock.now)

    return append


def placed(at: datetime, item: str = "E00000001X") -> Placed:
    return Placed(at=at, by="B00000001X", act="an-act", item=item, place="R00000001X")


@pytest.fixture
def unguarded(store: Store) -> Callable[[], AbstractContextManager[None]]:
    """The ledger as somebody with the database in hand finds it: its guards off, then on again."""

    @contextmanager
    def unguarded() -> Iterator[None]:
        if store.is_postgres:
            store.run("ALTER TABLE ledger DISABLE TRIGGER USER")
            yield
            for (name,) in store.rows(
                "SELECT tgname FROM pg_trigger WHERE tgrelid = to_regclass('ledger')"
            ):
                store.run(f"ALTER TABLE ledger ENABLE ALWAYS TRIGGER {name}")
        else:
            guards = store.rows("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            for name, _ in guards:
                store.run(f"DROP TRIGGER {name}")
            yield
            for _, made in guards:
                store.run(made)

    return unguarded
