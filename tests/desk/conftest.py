"""A clinic for the tests of the desk."""

from pathlib import Path

import pytest

from equip.store.database import Store
from tests.playing import Play
from tests.stopped import StoppedClock


@pytest.fixture
def play(store: Store, clock: StoppedClock, tmp_path: Path) -> Play:
    return Play.begin(store, clock, tmp_path / "house")
