"""A device is the bench of a place, picked once; a second one that takes it is told."""

import re
from collections.abc import Callable

import pytest
from flask import Flask
from flask.testing import FlaskClient

from equip.store.kept import devices
from equip.store.readings import use_rows
from tests.support.playing import Play
from tests.web.conftest import PASSWORD

ONE, TWO = "12345601", "12345602"


@pytest.fixture
def tablet(app: Flask, play: Play) -> Callable[[str], FlaskClient]:
    """A device that was never here, on which somebody of that role signs in."""

    def sign_in(role: str) -> FlaskClient:
        client = app.test_client()
        client.post("/sign-in", data={"who": play.people[role], "secret": PASSWORD, "next": "/"})
        return client

    return sign_in


def bench_of(client: FlaskClient) -> str:
    found = re.search(r"<dt>Bench</dt><dd>([^<]+)", client.get("/bench").text)
    assert found
    return found[1].strip()


def scan(client: FlaskClient, text: str) -> None:
    client.post("/bench", data={"text": text})


def test_two_devices_that_nobody_named_are_two_benches(
    tablet: Callable[[str], FlaskClient], play: Play
) -> None:
    one, two = tablet("nurse"), tablet("manager")
    hook = play.add("hook", "go-live")
    scan(one, ONE)
    scan(two, TWO)

    scan(one, hook)

    assert bench_of(one) != bench_of(two)
    touched = use_rows.touches_of(play.clinic.store, hook)
    assert [play.clinic.vault.reveal(each.patient) for each in touched] == [ONE]
    assert "Where does this device stand?" in one.get("/bench").text


def test_a_device_is_named_by_its_place_and_keeps_it_over_a_sign_out(
    tablet: Callable[[str], FlaskClient], play: Play
) -> None:
    client = tablet("nurse")

    client.post("/bench/name", data={"place": play.places["room"]})
    client.post("/sign-out")
    client.post("/sign-in", data={"who": play.people["manager"], "secret": PASSWORD, "next": "/"})

    assert bench_of(client) == "Room 1"
    assert "Where does this device stand?" not in client.get("/bench").text


def test_whoever_takes_a_bench_in_use_is_told_and_may_have_one_beside_it(
    tablet: Callable[[str], FlaskClient], play: Play
) -> None:
    one, two, three = tablet("nurse"), tablet("manager"), tablet("nurse")
    one.post("/bench/name", data={"place": play.places["room"]})

    told = two.post("/bench/name", data={"place": play.places["room"]})

    assert told.status_code == 409
    assert "Another device is “Room 1”. Nell Ash named it" in told.text
    assert bench_of(two) != "Room 1"
    two.post("/bench/name", data={"place": play.places["room"], "how": "beside"})
    assert bench_of(two) == "Room 1 bench 2"
    three.post("/bench/name", data={"place": play.places["room"], "how": "share"})
    assert bench_of(three) == "Room 1"
    assert "shared by 2 devices" in one.get("/bench").text


def test_a_device_that_was_not_seen_for_a_month_stands_in_nobodys_way(
    tablet: Callable[[str], FlaskClient], play: Play
) -> None:
    tablet("nurse").post("/bench/name", data={"place": play.places["room"]})
    play.clock.passes(days=31)
    two = tablet("manager")

    assert two.post("/bench/name", data={"place": play.places["room"]}).status_code == 303
    assert bench_of(two) == "Room 1"


def test_a_name_is_picked_and_not_typed(tablet: Callable[[str], FlaskClient]) -> None:
    client = tablet("nurse")

    assert client.post("/bench/name", data={"place": "My corner"}).status_code == 400


def test_a_manager_forgets_a_device_that_was_lost(
    tablet: Callable[[str], FlaskClient], play: Play
) -> None:
    nurse, manager = tablet("nurse"), tablet("manager")
    nurse.post("/bench/name", data={"place": play.places["room"]})
    (lost,) = devices.devices(play.clinic.store)

    assert "Room 1" in manager.get("/setup/benches").text
    assert nurse.post(f"/setup/devices/{lost.id}/forget").status_code == 403
    manager.post(f"/setup/devices/{lost.id}/forget")

    assert devices.devices(play.clinic.store) == []
