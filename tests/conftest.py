"""What every test may ask for: a clock that stands still, and a fresh database of either sort.

SQLite is always tried; PostgreSQL too if EQUIP_TEST_POSTGRES holds the URL of a server on which
databases may be made. The schema is always the one that the migrations make.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit
from uuid import uuid4

import psycopg
import pytest
from hypothesis import settings

from equip.store.database import Store, migrate
from tests.support.stopped import StoppedClock

# No law is about speed, so none has a deadline. At home each run tries new cases; in CI it tries
# the same ones every time, so that a submission fails for what it changed.
settings.register_profile("home", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") == "true" else "home")

SERVER = os.environ.get("EQUIP_TEST_POSTGRES", "")
SORTS = ["sqlite"] + ([pytest.param("postgres", marks=pytest.mark.postgres)] if SERVER else [])  # type: ignore[list-item]


@pytest.fixture
def clock() -> StoppedClock:
    return StoppedClock()


@pytest.fixture(params=SORTS)
def sort(request: pytest.FixtureRequest) -> str:
    """Which sort of database this test runs on."""
    return str(request.param)


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[[str], str]]:
    """A migrated, empty database of either sort, made once: a file's path or a name."""
    made: dict[str, str] = {}

    def of(sort: str) -> str:
        if sort not in made:
            if sort == "postgres":
                made[sort] = _make()
                _migrate(_url_of(made[sort]))
            else:
                made[sort] = str(tmp_path_factory.mktemp("template") / "book.sqlite3")
                _migrate(made[sort])
        return made[sort]

    yield of

    if "postgres" in made:
        _drop(made["postgres"])


@pytest.fixture
def database_url(sort: str, template: Callable[[str], str], tmp_path: Path) -> Iterator[str]:
    """A fresh database with every table in it."""
    if sort == "sqlite":
        path = tmp_path / "book.sqlite3"
        shutil.copyfile(template(sort), path)
        yield str(path)
    else:
        with _database(like=template(sort)) as url:
            yield url


@pytest.fixture
def empty_url(sort: str, tmp_path: Path) -> Iterator[str]:
    """A fresh database with nothing in it."""
    if sort == "sqlite":
        yield str(tmp_path / "empty.sqlite3")
    else:
        with _database(like="template1") as url:
            yield url


@pytest.fixture
def store(database_url: str) -> Iterator[Store]:
    """A fresh store, connected on this thread."""
    store = Store.open(database_url)
    store.connect()
    yield store
    store.dispose()


def _migrate(url: str) -> None:
    store = Store.open(url)
    migrate(store)
    store.dispose()


@contextmanager
def _database(like: str) -> Iterator[str]:
    name = _make(like)
    try:
        yield _url_of(name)
    finally:
        _drop(name)


def _make(like: str = "template1") -> str:
    name = f"equip_test_{uuid4().hex}"
    _on_server(f'CREATE DATABASE "{name}" TEMPLATE "{like}"')
    return name


def _drop(name: str) -> None:
    _on_server(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')


def _on_server(statement: str) -> None:
    with psycopg.connect(SERVER, autocommit=True) as server:
        server.execute(statement)  # type: ignore[call-overload]


def _url_of(name: str) -> str:
    return urlunsplit(urlsplit(SERVER)._replace(path=f"/{name}"))
