"""The register's pages: what is kept of an item is asked for, and shown wherever it says so."""

from collections.abc import Callable
from io import BytesIO

import pytest
from flask.testing import FlaskClient

from equip.desk.register.item_fields import FIELDS, shown_on
from equip.store.readings import item_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
FORM = {"type": "suction-pump", "arrival": "factory-new"}


def test_the_form_asks_for_every_field_that_it_describes(play: Play, signed_in: SignIn) -> None:
    page = signed_in("manager").get("/setup/register").text

    missing = [
        field.name for field in FIELDS if field.control and f'name="{field.name}"' not in page
    ]

    assert missing == []
    assert "Serial number</span>" in page
    assert 'name="set"' not in page


@pytest.mark.parametrize(
    ("page", "path"),
    [
        ("register", "/setup/register"),
        ("item", "/things/{tag}"),
        ("stock", "/stock/suction-pump"),
    ],
)
def test_what_a_page_shows_of_an_item_is_what_was_typed(
    play: Play, signed_in: SignIn, page: str, path: str
) -> None:
    manager = signed_in("manager")
    given = {field.name: f"its own {field.name}" for field in FIELDS if field.shown}

    assert manager.post("/setup/register", data=FORM | given).status_code == 303
    (row,) = item_rows.items(play.clinic.store)
    shown = manager.get(path.format(tag=row.tag)).text

    fields = shown_on(page)  # type: ignore[arg-type]
    assert fields
    for field in fields:
        assert field.label in shown and f"its own {field.name}" in shown


def test_a_shelf_has_no_column_for_what_none_of_its_items_has(
    play: Play, signed_in: SignIn
) -> None:
    play.add("hook")

    page = signed_in("auditor").get("/stock/hook").text

    assert [field.label for field in shown_on("stock") if field.label in page] == []


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"type": ""}, "“Type” is empty"),
        ({"type": "rocket"}, "is no type of this book"),
        ({"arrival": ""}, "“Arrival” is empty"),
        ({"arrival": "by post"}, "is no way to arrive"),
        ({"place": "the moon"}, "is no place of this book"),
        ({"tag": "E12"}, "E12"),
        ({"serial": "7" * 81}, "80 is the most"),
    ],
)
def test_a_form_that_makes_no_sense_is_answered_with_a_sentence(
    play: Play, signed_in: SignIn, more: dict[str, str], says: str
) -> None:
    answer = signed_in("manager").post("/setup/register", data=FORM | more)

    assert answer.status_code == 400
    assert says in answer.text
    assert item_rows.items(play.clinic.store) == []


def test_a_nurse_adds_nothing_to_the_register(play: Play, signed_in: SignIn) -> None:
    nurse = signed_in("nurse")

    assert nurse.post("/setup/register", data=FORM).status_code == 403
    file = {"file": (BytesIO(b"type,arrival\nhook,loaned\n"), "register.csv")}
    assert nurse.post("/setup/register/file", data=file).status_code == 403
    assert item_rows.items(play.clinic.store) == []


def test_the_good_lines_of_a_file_are_taken_in_by_consent(play: Play, signed_in: SignIn) -> None:
    data = b"type,arrival,serial\nhook,loaned,S-1\nrocket,loaned,S-2\n"
    file = {"file": (BytesIO(data), "register.csv"), "partial": "yes"}

    page = signed_in("manager").post("/setup/register/file", data=file).text

    assert "1 item taken in; 1 fault in the file." in page
    assert [row.serial for row in item_rows.items(play.clinic.store)] == ["S-1"]
