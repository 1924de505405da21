"""The application over a small clinic, and people signed in to it."""

from collections.abc import Callable
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from flask import Flask
from flask.testing import FlaskClient

from equip.store.database import Store
from equip.store.kept import devices, people
from equip.web.application import Parts, create_app
from tests.support.playing import Play
from tests.support.stopped import StoppedClock

QUICK = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
PASSWORD, PIN = "a long password", "2468"
PEPPER = b"pepper of the tests"


@pytest.fixture
def play(store: Store, clock: StoppedClock, tmp_path: Path) -> Play:
    play = Play.begin(store, clock, tmp_path / "house")
    for tag in play.people.values():
        people.keep_secrets(store, tag, password=PASSWORD, pin=PIN, pepper=PEPPER, hasher=QUICK)
    return play


@pytest.fixture
def app(play: Play) -> Flask:
    app = create_app(Parts(play.clinic, b"secret of the tests", None, PEPPER))
    app.config.update(TESTING=True, WTF_CSRF_ENABLED=False)
    return app


@pytest.fixture
def signed_in(app: Flask, play: Play) -> Callable[[str], FlaskClient]:
    """A browser in which somebody of that role is signed in, on a device that is bench 1."""
    client_ids: list[str] = []

    def sign_in(role: str) -> FlaskClient:
        client = app.test_client()
        answer = client.post(
            "/sign-in", data={"who": play.people[role], "secret": PASSWORD, "next": "/"}
        )
        assert answer.status_code == 303
        device = f"{len(client_ids):032x}"
        client_ids.append(device)
        client.set_cookie("bench-device", device)
        person = play.people[role]
        devices.named(play.clinic.store, device, "bench 1", "", person, play.clock.now)
        return client

    return sign_in
