"""A clinic for the tests of the desk."""

import shutil
from collections.abc import Callable
from pathlib import Path
from uuid import uuid4

import pytest

from equip.store.database import Store
from tests.playing import Play
from tests.stopped import StoppedClock


@pytest.fixture
def play(store: Store, clock: StoppedClock, tmp_path: Path) -> Play:
    return Play.begin(store, clock, tmp_path / "house")


@pytest.fixture
def fresh_play(store: Store, template: Callable[[str], str], tmp_path: Path) -> Callable[[], Play]:
    """A new clinic each time it is called, on SQLite: for laws that need many."""

    def fresh() -> Play:
        folder = tmp_path / uuid4().hex
        folder.mkdir()
        path = folder / "book.sqlite3"
        shutil.copyfile(template("sqlite"), path)
        made = Store.open(str(path))
        made.connect()
        return Play.begin(made, StoppedClock(), folder / "house")

    return fresh
