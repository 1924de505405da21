"""A real server on this machine and a real Chromium in front of it."""

import threading
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from playwright.sync_api import Browser, Page, sync_playwright
from waitress.server import create_server

from equip.clock import utc_now
from equip.store.database import Store, migrate
from equip.store.kept import people
from equip.web.application import Parts, create_app
from tests.browser.chromium import FLAGS, find
from tests.support.playing import Play
from tests.support.stopped import StoppedClock

QUICK = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
PASSWORD, PIN, PEPPER = "a long password", "2468", b"pepper of the tests"


@dataclass
class Served:
    """A clinic and the address at which it is served."""

    play: Play
    address: str


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = find()
    if path is None:
        pytest.fail("No Chromium was found: install one, or leave out -m browser.")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    store = Store.open(str(tmp_path / "book.sqlite3"))
    migrate(store)
    store.connect()
    play = Play.begin(store, StoppedClock(utc_now()), tmp_path / "house")
    for tag in play.people.values():
        people.keep_secrets(store, tag, password=PASSWORD, pin=PIN, pepper=PEPPER, hasher=QUICK)
    app = create_app(Parts(play.clinic, b"secret of the tests", None, PEPPER))
    server = create_server(app, host="127.0.0.1", port=0, threads=4)

    def run() -> None:
        # Closed from here while it waits for the next request, it finds its socket gone.
        with suppress(OSError):
            server.run()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    yield Served(play, f"http://127.0.0.1:{server.effective_port}")
    server.close()
    for kept_alive in tuple(server.active_channels.values()):
        kept_alive.close()
    thread.join(timeout=5)
    store.dispose()


@pytest.fixture(params=[(1280, 900), (360, 780)], ids=["desk", "phone"])
def page(request: pytest.FixtureRequest, chromium: Browser) -> Iterator[Page]:
    """A page of either width; an error in its console or a request that leaves fails the test."""
    wide, high = request.param
    context = chromium.new_context(viewport={"width": wide, "height": high})
    page = context.new_page()
    wrong: list[str] = []
    page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on(
        "request",
        lambda asked: None if "//127.0.0.1" in asked.url else wrong.append(f"left: {asked.url}"),
    )
    yield page
    context.close()
    assert wrong == []
