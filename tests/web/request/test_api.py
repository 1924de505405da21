"""POST /api/scans: JSON in and out, idempotent, errors as application/problem+json."""

import json
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from equip.store.kept import people
from equip.store.readings import use_rows
from tests.support.playing import Play


@pytest.fixture
def key(play: Play) -> str:
    return people.open_session(
        play.clinic.store, play.people["nurse"], "key", play.clock.now, label="bench 9"
    )


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


def post(client: FlaskClient, key: str, body: Any, **headers: str) -> TestResponse:
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    sent = {"Authorization": f"Bearer {key}", **headers}
    return client.post("/api/scans", data=data, headers=sent, content_type="application/json")


def scan(text: str, number: int = 1, **more: Any) -> dict[str, Any]:
    return {"id": f"scan-{number:08d}", "bench": "bench 9", "text": text, **more}


def test_a_scan_is_answered_with_word_reasons_and_context(
    client: FlaskClient, key: str, play: Play
) -> None:
    hook = play.add("hook")

    answer = post(client, key, scan(hook))

    body = answer.get_json()
    assert answer.status_code == 200
    assert body["answer"]["tone"] == "no"
    assert body["answer"]["item"] == hook
    assert body["answer"]["reasons"][0]["code"] == "never-processed"
    assert body["context"]["who"] == "Nell Ash"
    assert body["seq"] == 1


def test_the_same_id_again_gives_the_same_answer(client: FlaskClient, key: str, play: Play) -> None:
    hook = play.add("hook", "go-live")
    post(client, key, scan("123456"))
    first = post(client, key, scan(hook, 2)).get_json()
    play.clock.passes(days=30)

    again = post(client, key, scan(hook, 2), **{"Idempotency-Key": '"scan-00000002"'}).get_json()

    assert again["replayed"] is True
    assert again["answer"] == first["answer"]
    assert len(use_rows.touches_of(play.clinic.store, hook)) == 1


def test_the_same_id_with_other_text_is_422(client: FlaskClient, key: str) -> None:
    post(client, key, scan("123456"))

    answer = post(client, key, scan("654321"))

    assert answer.status_code == 422
    assert answer.mimetype == "application/problem+json"


def test_a_place_in_the_stream_is_taken_once(client: FlaskClient, key: str) -> None:
    post(client, key, scan("lay up", 1, seq=5))

    answer = post(client, key, scan("lay up", 2, seq=5))

    assert answer.status_code == 409


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"", 400),
        (b"{", 400),
        (b"[]", 400),
        ({"id": "scan-00000001"}, 400),
        (scan("lay up", bench="b" * 100), 400),
        (scan("x" * 3000), 400),
        (scan("lay up", at="2026-03-04T12:00:00"), 400),
        (scan("lay up", seq=0), 400),
        (scan("lay up", extra=1), 400),
        ({"id": "scan-00000001\n", "bench": "b", "text": "lay up"}, 400),
    ],
)
def test_what_is_no_scan_is_a_problem_in_one_sentence(
    client: FlaskClient, key: str, play: Play, body: Any, status: int
) -> None:
    before = play.clinic.store.rows("SELECT COUNT(*) FROM act")

    answer = post(client, key, body)

    assert answer.status_code == status
    assert answer.mimetype == "application/problem+json"
    assert set(answer.get_json()) == {"type", "title", "status", "detail"}
    assert play.clinic.store.rows("SELECT COUNT(*) FROM act") == before


def test_without_a_key_or_a_signed_in_person_it_is_401(client: FlaskClient) -> None:
    answer = client.post("/api/scans", json=scan("lay up"))

    assert answer.status_code == 401
    assert answer.mimetype == "application/problem+json"


def test_an_auditor_scans_nothing(client: FlaskClient, play: Play) -> None:
    key = people.open_session(
        play.clinic.store, play.people["auditor"], "key", play.clock.now, label="x"
    )

    assert post(client, key, scan("lay up")).status_code == 403


def test_a_cookie_alone_is_not_enough_where_tokens_are_asked(app: Flask, play: Play) -> None:
    client = app.test_client()
    client.post("/sign-in", data={"who": "Nell Ash", "secret": "a long password"})
    app.config["WTF_CSRF_ENABLED"] = True

    answer = client.post("/api/scans", json=scan("lay up"))

    assert answer.status_code == 400
    assert "X-CSRFToken" in answer.get_json()["detail"]


def test_a_reference_stands_in_no_reply_but_by_its_end(
    client: FlaskClient, key: str, play: Play
) -> None:
    answer = post(client, key, scan("REF-7731905"))

    assert b"7731905" not in answer.data
    assert answer.get_json()["context"]["patient_ends"] == "1905"


def test_undo_names_first_and_a_line_of_its_list_may_be_sent_as_text(
    client: FlaskClient, key: str, play: Play
) -> None:
    hooks = [play.add("hook", "go-live") for _ in range(3)]
    for number, text in enumerate(["123456", *hooks], start=1):
        play.clock.passes(seconds=3)
        post(client, key, scan(text, number))

    named = post(client, key, scan("undo", 11)).get_json()["answer"]
    down = next(word for word in named["options"] if word.startswith("undo down to"))
    done = post(client, key, scan(down, 12)).get_json()["answer"]

    assert (named["tone"], named["word"], done["word"]) == ("note", "Undo?", "Taken back")
    assert "123456" not in json.dumps(named)
    left = [len(use_rows.touches_of(play.clinic.store, hook)) for hook in hooks]
    assert left == [1, 0, 0]
