"""GET /api/exposed and /api/look-back: the same as the command line, page by page."""

from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from equip.desk.lookback import exposure_answer, exposure_json
from equip.desk.lookback.exposure_json import AnswerNames
from equip.store.kept import people
from tests.support import pasts
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
Ask = Callable[..., Any]


@pytest.fixture
def ask(app: Flask, play: Play) -> Ask:
    """Ask with a bench key; the body, once its status was looked at."""
    pasts.shared(play, 12)
    pasts.mixed(play)
    key = people.open_session(
        play.clinic.store, play.people["nurse"], "key", play.clock.now, label="bench 9"
    )
    client = app.test_client()

    def get(path: str, status: int = 200, **query: object) -> Any:
        answer = client.get(path, query_string=query, headers={"Authorization": f"Bearer {key}"})
        assert answer.status_code == status, answer.get_data(as_text=True)
        return answer.get_json(force=True)

    return get


def paged(ask: Ask, path: str, list_name: str, limit: int, **query: object) -> list[Any]:
    found: list[Any] = []
    body = ask(path, limit=limit, **query)
    while True:
        assert len(body[list_name]) <= limit
        found += body[list_name]
        if body["next"] is None:
            return found
        body = ask(path, limit=limit, after=body["next"], **query)


@pytest.mark.parametrize("limit", [1, 5, 11, 12, 100])
def test_all_pages_of_exposed_now_are_what_the_command_line_says_in_order(
    ask: Ask, play: Play, limit: int
) -> None:
    whole = exposure_json.exposed_now(play.clinic)
    body = ask("/api/exposed")

    assert paged(ask, "/api/exposed", "open", limit) == whole["open"]
    assert len(whole["open"]) == 12
    assert {**body, "next": None} == {**whole, "next": None}


@pytest.mark.parametrize("limit", [1, 4, 100])
def test_all_pages_of_a_look_back_are_the_whole_answer_in_order(
    ask: Ask, play: Play, limit: int
) -> None:
    token = play.clinic.vault.find("900000")
    answer = exposure_answer.look_back(play.clinic, exposure_answer.Scope(patient=str(token)))
    whole = exposure_json.of_answer(answer, AnswerNames(play.clinic), {})

    found = paged(ask, "/api/look-back", "exposures", limit, patient=token)

    assert found == whole["exposures"]
    assert len(found) == 11
    body = ask("/api/look-back", patient=token, limit=limit)
    assert (body["patients"], body["uses"]) == (11, 11)
    assert body["asked"] == {"patient": token, "hazard": "bacteria-viruses", "generations": 1}


def test_a_load_is_asked_by_its_old_name_and_may_be_repeated(ask: Ask) -> None:
    body = ask("/api/look-back", load=["L-1", "L-2"])

    assert body["loads_in_doubt"] == ["L-1", "L-2"]


def test_a_page_goes_on_after_its_mark_although_a_row_was_added_before_it(
    ask: Ask, play: Play
) -> None:
    first = ask("/api/exposed", limit=6)
    pasts.bring(
        play,
        f"{pasts.days_ago(40)},use,older hook,700001,,,,,Nell Ash,,hook",
        f"{pasts.days_ago(39)},use,older hook,700002,,,,,Nell Ash,,hook",
    )

    second = ask("/api/exposed", limit=6, after=first["next"])

    assert not [one for one in second["open"] if one in first["open"]]
    assert len(first["open"]) + len(second["open"]) == 12


@pytest.mark.parametrize(
    "query",
    [
        {},
        {"load": "L-1", "lot": "9"},
        {"load": "no such load"},
        {"patient": "900000"},
        {"patient": "taaaaaaaaaaa2"},
        {"machine": "Steriliser old", "from": "2026-02-01T00:00:00+00:00"},
        {"machine": "Steriliser old", "from": "2026-02-01", "to": "2026-02-03"},
        {"item": "old hook"},
        {"item": "old hook", "from": "yesterday"},
        {"load": "L-1", "hazard": "dust"},
        {"load": "L-1", "hazard": "prions"},
        {"load": "L-1", "generations": "0"},
        {"load": "L-1", "generations": "many"},
        {"load": "L-1", "limit": "0"},
        {"load": "L-1", "limit": "501"},
        {"load": "L-1", "after": "nonsense"},
        {"load": "L-1", "form": "2026-02-01T00:00:00+00:00"},
    ],
)
def test_what_makes_no_sense_is_a_problem_in_the_shape_of_the_api(
    ask: Ask, query: dict[str, str]
) -> None:
    body = ask("/api/look-back", 400, **query)

    assert body["status"] == 400
    assert body["detail"].endswith(".")
    assert "900000" not in body["detail"]


def test_who_has_neither_a_key_nor_a_session_is_told_so(app: Flask, play: Play) -> None:
    client = app.test_client()

    for path in ("/api/exposed", "/api/look-back?load=L-1"):
        answer = client.get(path)
        assert (answer.status_code, answer.mimetype) == (401, "application/problem+json")


@pytest.mark.parametrize("role", ["nurse", "manager", "auditor"])
def test_whoever_is_signed_in_may_ask_and_sees_tokens_only(
    signed_in: SignIn, ask: Ask, role: str
) -> None:
    client = signed_in(role)

    for path in ("/api/exposed", "/api/look-back?load=L-1"):
        answer = client.get(path)
        assert answer.status_code == 200
        assert not any(ref in answer.data for ref in (b'"9000', b'"8000'))
