"""Photos and second readings on a load's page, by role; and what nasty uploads come to."""

from collections.abc import Callable
from io import BytesIO

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from equip.demo.cycles import steam_log
from equip.rules.loads.load import Load
from equip.store.kept import people
from equip.store.readings import load_rows
from tests.support import pictures
from tests.support.playing import Play
from tests.web.conftest import PIN

SignIn = Callable[[str], FlaskClient]

STEAM = {"lowest_c": "134.4", "highest_c": "135.1", "hold_min": "3.5", "completed": "yes"}
JPEG = pictures.jpeg()


@pytest.fixture
def running(play: Play) -> str:
    """A load that runs; its tag."""
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.scan(steriliser, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, steriliser)
    assert load is not None
    return load.load


def load_of(play: Play, tag: str) -> Load:
    load = load_rows.load_of(play.clinic.store, tag)
    assert load is not None
    return load


def end(
    client: FlaskClient, load: str, photo: bytes | None = JPEG, name: str = "strip.jpg"
) -> TestResponse:
    form: dict[str, object] = {"cycle_no": "77", **STEAM}
    if photo is not None:
        form["photo"] = (BytesIO(photo), name)
    return client.post(f"/loads/{load}/end", data=form, content_type="multipart/form-data")


def page(client: FlaskClient, load: str) -> str:
    return client.get(f"/loads/{load}").data.decode()


# --- the form ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "asked", "not_asked"),
    [
        ("steriliser-vacuum", {"lowest_c", "highest_c", "hold_min", "indicator"}, {"bath_c"}),
        ("washer", {"a0_shown", "flush_c", "wash_c", "detergent", "lot"}, {"highest_c", "run_min"}),
        ("ultrasonic-bath", {"run_min", "bath_c", "degassed", "lot"}, {"a0_shown", "lowest_c"}),
    ],
)
def test_the_form_asks_for_what_the_machine_shows(
    signed_in: SignIn, play: Play, code: str, asked: set[str], not_asked: set[str]
) -> None:
    machine, hook = play.add(code), play.add("hook")
    play.scan(machine, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None

    shown = page(signed_in("nurse"), load.load)

    assert all(f'name="{name}"' in shown for name in (*asked, "completed", "photo"))
    assert not any(f'name="{name}"' in shown for name in (*not_asked, "second_reader"))


def test_a_machine_without_a_log_is_not_asked_for_one(signed_in: SignIn, play: Play) -> None:
    bath, hook = play.add("ultrasonic-bath"), play.add("hook")
    play.scan(bath, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, bath)
    assert load is not None

    assert 'name="log"' not in page(signed_in("nurse"), load.load)


def test_a_log_may_follow_undecided_values_on_the_page(
    signed_in: SignIn, play: Play, running: str
) -> None:
    client = signed_in("nurse")
    end(client, running)
    before = page(client, running)

    client.post(
        f"/loads/{running}/end",
        data={"log": (BytesIO(steam_log(3)), "cycle.csv")},
        content_type="multipart/form-data",
    )

    assert "A log may follow" in before
    assert "Type what the display" not in before
    assert load_of(play, running).verdict == "pass"
    assert load_of(play, running).judge == "steam-2"


# --- the photo -----------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["nurse", "manager", "auditor"])
def test_everybody_signed_in_sees_the_photo_and_the_bytes_as_they_came(
    signed_in: SignIn, play: Play, running: str, role: str
) -> None:
    end(signed_in("nurse"), running)
    client = signed_in(role)

    full = client.get(f"/loads/{running}/photo")
    small = client.get(f"/loads/{running}/photo/small")

    assert f'src="/loads/{running}/photo/small"' in page(client, running)
    assert full.data == JPEG
    assert small.data != JPEG
    for answer in (full, small):
        assert answer.mimetype == "image/jpeg"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"


def test_nobody_sees_a_photo_without_signing_in(
    app: Flask, signed_in: SignIn, running: str
) -> None:
    end(signed_in("nurse"), running)

    for address in ("photo", "photo/small"):
        answer = app.test_client().get(f"/loads/{running}/{address}")

        assert b'name="secret"' in answer.data
        assert JPEG[:50] not in answer.data


def test_a_load_without_a_photo_has_no_picture_and_says_so(signed_in: SignIn, running: str) -> None:
    client = signed_in("nurse")
    end(client, running, None)

    assert client.get(f"/loads/{running}/photo").status_code == 404
    assert client.get(f"/loads/{running}/photo/small").status_code == 404
    assert "No photo of the strip or display was kept" in page(client, running)


def test_a_page_hidden_behind_a_photo_is_served_as_a_picture_and_nothing_else(
    signed_in: SignIn, running: str
) -> None:
    both = JPEG + b"<html><script>alert(1)</script></html>"
    client = signed_in("nurse")

    end(client, running, both, "page.html")

    answer = client.get(f"/loads/{running}/photo")
    assert answer.data == both
    assert answer.mimetype == "image/jpeg"
    assert "page.html" not in answer.headers["Content-Disposition"]
    assert b"script" not in client.get(f"/loads/{running}/photo/small").data


@pytest.mark.parametrize(
    ("data", "name", "says"),
    [
        (b"", "strip.jpg", "empty"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "strip.svg", "neither JPEG nor PNG"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "strip.jpg", "neither JPEG nor PNG"),
        (b"<html></html>", "strip.png", "neither JPEG nor PNG"),
        (pictures.other("GIF"), "strip.gif", "neither JPEG nor PNG"),
        (b"\0\0\0\x24ftypheic" + bytes(99), "IMG.HEIC", "set the camera to JPEG"),
        (JPEG[: len(JPEG) // 2], "strip.jpg", "cut off or damaged"),
        (pictures.headed(1_000_000, 1_000_000), "strip.png", "more than 50 million points"),
        (pictures.swollen(), "strip.png", "take it again"),
    ],
)
def test_a_nasty_upload_is_one_sentence_and_the_load_stays_as_it_was(
    signed_in: SignIn, play: Play, running: str, data: bytes, name: str, says: str
) -> None:
    answer = end(signed_in("nurse"), running, data, name)

    assert answer.status_code == 400
    assert says in answer.data.decode()
    assert load_of(play, running).state == "running"
    assert play.clinic.store.rows("SELECT COUNT(*) FROM file") == [(0,)]


def test_a_photo_that_was_missing_is_added_on_the_page(
    signed_in: SignIn, play: Play, running: str
) -> None:
    client = signed_in("nurse")
    end(client, running, None)

    none = client.post(f"/loads/{running}/photo", data={}, content_type="multipart/form-data")
    added = client.post(
        f"/loads/{running}/photo",
        data={"photo": (BytesIO(pictures.png()), "strip.png")},
        content_type="multipart/form-data",
    )

    assert none.status_code == 400
    assert added.status_code == 303
    assert client.get(f"/loads/{running}/photo").mimetype == "image/png"


# --- the second reader ---------------------------------------------------------------------------


def test_the_second_reader_signs_in_is_shown_nothing_and_types_the_same(
    signed_in: SignIn, play: Play, running: str
) -> None:
    end(signed_in("nurse"), running)
    manager = signed_in("manager")
    before = page(manager, running)

    answer = manager.post(f"/loads/{running}/read-again", data=STEAM)

    assert "Read it a second time" in before
    assert not any(value in before for value in ("134.4", "135.1", ">3.5"))
    assert answer.status_code == 303
    after = page(manager, running)
    assert "134.4" in after
    assert "There is no log." in after
    assert "Nell Ash and Mo Reed" in after
    assert "No F0 is claimed" in after
    assert load_of(play, running).verdict == "pass"


def test_the_first_reader_and_an_auditor_see_the_values_and_no_form(
    signed_in: SignIn, running: str
) -> None:
    end(signed_in("nurse"), running)

    nurse, auditor = (page(signed_in(role), running) for role in ("nurse", "auditor"))

    for shown in (nurse, auditor):
        assert "134.4" in shown
        assert "/read-again" not in shown
    assert "A second reader is needed" in nurse
    assert "waits for a second reader" in signed_in("manager").get("/loads").data.decode()


@pytest.mark.parametrize(("role", "status"), [("nurse", 400), ("auditor", 403)])
def test_the_first_reader_and_an_auditor_are_refused_as_second_readers(
    signed_in: SignIn, play: Play, running: str, role: str, status: int
) -> None:
    end(signed_in("nurse"), running)

    answer = signed_in(role).post(f"/loads/{running}/read-again", data=STEAM)

    assert answer.status_code == status
    assert load_of(play, running).verdict == "undecided"


@pytest.mark.parametrize("address", ["photo", "read-again"])
def test_an_auditor_adds_nothing(signed_in: SignIn, running: str, address: str) -> None:
    assert signed_in("auditor").post(f"/loads/{running}/{address}").status_code == 403


def test_a_second_reader_may_sign_in_by_badge_and_pin(
    app: Flask, signed_in: SignIn, play: Play, running: str
) -> None:
    end(signed_in("nurse"), running)
    client = app.test_client()
    client.post("/sign-in", data={"who": play.people["manager"], "secret": PIN})

    client.post(f"/loads/{running}/read-again", data=STEAM)

    assert load_of(play, running).verdict == "pass"


def test_the_key_of_a_bench_is_no_second_reader(
    app: Flask, signed_in: SignIn, play: Play, running: str
) -> None:
    end(signed_in("nurse"), running)
    key = people.open_session(
        play.clinic.store, play.people["manager"], "key", play.clock.now, label="bench 1"
    )

    answer = app.test_client().post(
        f"/loads/{running}/read-again", data=STEAM, headers={"Authorization": f"Bearer {key}"}
    )

    assert answer.status_code == 403
    assert load_of(play, running).verdict == "undecided"


def test_a_reading_that_differs_names_the_value_and_does_not_say_it(
    signed_in: SignIn, play: Play, running: str
) -> None:
    end(signed_in("nurse"), running)
    manager = signed_in("manager")

    manager.post(f"/loads/{running}/read-again", data={**STEAM, "lowest_c": "133.4"})

    shown = page(manager, running)
    assert "another value of “Lowest temperature in the hold”" in shown
    assert "134.4" not in shown
    assert "This reading is the last" in shown
    assert "133.4" in page(signed_in("auditor"), running)


def test_what_is_no_load_has_no_photo_and_no_reading(signed_in: SignIn) -> None:
    client = signed_in("nurse")

    assert client.get("/loads/L999999999/photo").status_code == 404
    assert client.post("/loads/L999999999/photo").status_code == 404
    assert client.post("/loads/L999999999/read-again", data=STEAM).status_code == 404
