"""The pages of what is always on, as each person sees them."""

import re
from collections.abc import Callable

import pytest
from flask import Flask
from flask.testing import FlaskClient

from equip.store.readings import exposure_rows
from tests.support import pasts
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]


@pytest.fixture
def lived(play: Play) -> Play:
    pasts.shared(play, 30)
    pasts.mixed(play)
    return play


def pages(play: Play) -> list[str]:
    rows = exposure_rows.exposures(play.clinic.store, is_open=True, most=99)
    one = next(row for row in rows if row.certainty.word == "possible")
    return [
        "/history",
        "/history/exposed",
        "/history/gaps",
        f"/history/exposed/{one.item}/{one.use}",
    ]


@pytest.mark.parametrize("role", ["nurse", "manager", "auditor"])
def test_everybody_signed_in_reads_what_is_always_on(
    signed_in: SignIn, lived: Play, role: str
) -> None:
    client = signed_in(role)

    for page in pages(lived):
        answer = client.get(page)
        assert answer.status_code == 200
        assert not re.search(rb"\b(9000|8000)\d\d\b", answer.data), page


def test_nobody_reads_it_without_signing_in(app: Flask, lived: Play) -> None:
    client = app.test_client()

    assert all(b"Exposed" not in client.get(page).data for page in pages(lived))


def test_history_begins_with_the_three_numbers(signed_in: SignIn, lived: Play) -> None:
    text = signed_in("auditor").get("/history").get_data(as_text=True)

    numbers = re.findall(r'<strong class="at">([^<]+)</strong>', text)
    assert numbers == ["30", "30", "97.1 %"]
    assert "33 of 34 uses traceable" in text
    assert text.index("Exposed now") < text.index("Look it up")


def test_each_exposure_says_what_kind_of_thing_it_was(signed_in: SignIn, lived: Play) -> None:
    text = signed_in("auditor").get("/history/exposed").get_data(as_text=True)

    kinds = re.findall(r"<span class=\"says\">[^<]*: ([A-Z][a-z ]+) <a class=\"mono\"", text)
    assert len(kinds) == 25
    assert set(kinds) == {"Hook"}


def test_an_empty_book_says_so_in_words(signed_in: SignIn) -> None:
    client = signed_in("nurse")

    assert "No use is known that may have exposed" in client.get("/history").get_data(as_text=True)
    assert "No use is recorded yet" in client.get("/history/gaps").get_data(as_text=True)
    assert "None." in client.get("/history/exposed").get_data(as_text=True)


def test_page_by_page_every_open_exposure_is_listed_once(signed_in: SignIn, lived: Play) -> None:
    client = signed_in("manager")
    at: str | None = "/history/exposed"
    found: list[str] = []
    while at is not None:
        text = client.get(at).get_data(as_text=True)
        found += re.findall(r'href="(/history/exposed/[^"]+)"', text)
        onward = re.search(r'href="(/history/exposed\?onward=[^"#]+)', text)
        at = onward.group(1) if onward else None

    assert len(found) == len(set(found)) == 30


def test_a_place_that_is_none_and_an_exposure_that_is_none_are_refused(
    signed_in: SignIn, lived: Play
) -> None:
    client = signed_in("nurse")

    assert client.get("/history/exposed?onward=nonsense").status_code == 400
    assert client.get("/history/exposed/E000000019/none").status_code == 404
