"""The page of a set: its pieces listed, a search ended, and where a missing piece is shown."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from equip.desk.act.act import acting
from equip.desk.register import items, searches
from equip.scan import show_tag
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]


@pytest.fixture
def tray(play: Play) -> str:
    tray, hook = play.add("set"), play.add("hook")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.join(act, tray, hook)
    return tray


def text_of(client: FlaskClient, page: str) -> str:
    answer = client.get(page)
    assert answer.status_code == 200
    return " ".join(answer.get_data(as_text=True).split())


def test_untagged_pieces_are_listed_on_the_page_of_the_set(signed_in: SignIn, tray: str) -> None:
    nurse = signed_in("nurse")

    answer = nurse.post(f"/things/{tray}/contents", data={"pieces": "2 × Fine suction tip"})

    assert answer.status_code == 303
    page = text_of(nurse, f"/things/{tray}")
    assert "<li>2 × Fine suction tip</li>" in page
    assert "2 × Fine suction tip </textarea>" in page


def test_a_missing_piece_is_shown_on_the_bench_in_stock_and_on_the_set_and_found_there(
    signed_in: SignIn, play: Play, tray: str
) -> None:
    nurse, auditor = signed_in("nurse"), signed_in("auditor")
    play.scan("123451", tray, "missing")
    search = searches.all_open(play.clinic)[0].search

    for page in ("/bench", "/stock", f"/things/{tray}", f"/things/{search.item}"):
        shown = text_of(auditor, page)
        assert "<h2>Missing" in shown, page
        assert show_tag(search.item) in shown, page
        assert "It was found" not in shown, page
        assert "123451" not in shown, page
    answer = nurse.post(f"/things/{tray}/found", data={"search": search.search, "where": "bin"})

    assert answer.status_code == 303
    assert searches.all_open(play.clinic) == []
    assert "<h2>Missing" not in text_of(auditor, "/bench")


def test_only_who_may_lift_is_offered_to_give_it_up_and_may(
    signed_in: SignIn, play: Play, tray: str
) -> None:
    nurse, manager = signed_in("nurse"), signed_in("manager")
    play.scan("123451", tray, "missing")
    given = {"search": searches.all_open(play.clinic)[0].search.search, "reason": "down the drain"}

    assert "Give it up as lost" not in text_of(nurse, f"/things/{tray}")
    assert "Give it up as lost" in text_of(manager, f"/things/{tray}")
    assert nurse.post(f"/things/{tray}/lost", data=given).status_code == 400
    assert manager.post(f"/things/{tray}/lost", data=given).status_code == 303
    assert searches.all_open(play.clinic) == []


def test_an_auditor_changes_nothing_of_a_set(signed_in: SignIn, tray: str) -> None:
    answer = signed_in("auditor").post(f"/things/{tray}/contents", data={"pieces": "1 Spring"})

    assert answer.status_code == 403


def test_sets_that_wait_for_a_count_stand_in_stock(
    signed_in: SignIn, play: Play, tray: str
) -> None:
    play.scan("clean", tray)

    says = "was not counted at the wash"
    assert says in text_of(signed_in("nurse"), "/stock")
    play.scan("all there")
    assert says not in text_of(signed_in("nurse"), "/stock")
    assert "at the wash" in text_of(signed_in("nurse"), f"/things/{tray}")
