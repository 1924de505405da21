"""A clinic for the tests of the desk."""

import shutil
import socket
from collections.abc import Callable, Iterator
from pathlib import Path
from uuid import uuid4

import pytest
from aiosmtpd.controller import Controller

from equip.deliver.post.mail import Mailer
from equip.settings.values import HostPort
from equip.store.database import Store
from tests.support.playing import Play
from tests.support.post_office import PostOffice
from tests.support.stopped import StoppedClock


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


@pytest.fixture
def office() -> Iterator[PostOffice]:
    yield PostOffice()


@pytest.fixture
def mailer(office: PostOffice) -> Iterator[Mailer]:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = int(free.getsockname()[1])
    controller = Controller(office, hostname="127.0.0.1", port=port)
    controller.start()
    yield Mailer(HostPort("127.0.0.1", port), "book@clinic.example", tls="none")
    controller.stop()
