"""The buttons of the Bench come from the vocabulary of acts."""

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from flask.testing import FlaskClient

from equip import acts
from equip.store.readings.item_rows import ItemRow
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
_BUTTON = re.compile(r'<button type="submit" form="say" name="text" value="([^"]*)">([^<]*)<')


def buttons(page: str) -> list[tuple[str, str]]:
    """Each button's word and what it shows, in order."""
    return _BUTTON.findall(page)


def test_the_page_offers_the_acts_of_the_moment_in_the_order_of_the_table(
    play: Play, signed_in: SignIn
) -> None:
    page = signed_in("nurse").get("/bench").get_data(as_text=True)

    assert buttons(page) == [(card.word, card.label) for card in acts.buttons("")]
    assert ("inspect pass", "inspect pass") in buttons(page)


def test_with_an_item_in_hand_the_page_offers_what_may_have_happened_to_it(
    play: Play, signed_in: SignIn
) -> None:
    nurse = signed_in("nurse")
    page = nurse.post("/bench", data={"text": play.add("hook")}, follow_redirects=True).get_data(
        as_text=True
    )

    assert buttons(page) == [
        (card.word, card.label) for card in (*acts.buttons(""), *acts.buttons_with_item())
    ]


def test_a_button_shows_its_label_and_says_its_word(
    play: Play, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    says = {"inspect pass": "It is sound", "start a use": "Begin"}
    plainer = [replace(card, says=says.get(card.word, "")) for card in acts.CARDS]
    monkeypatch.setattr(acts, "CARDS", tuple(plainer))

    nurse = signed_in("nurse")
    page = nurse.get("/bench").get_data(as_text=True)
    asked = nurse.post("/bench", data={"text": "12345"}, follow_redirects=True)

    assert ("inspect pass", "It is sound") in buttons(page)
    assert buttons(asked.get_data(as_text=True))[0] == ("start a use", "Begin")


def test_a_mishap_names_its_item_on_its_button(signed_in: SignIn, play: Play) -> None:
    hook = play.add("hook", "go-live")
    nurse = signed_in("nurse")
    play.scan("12345601", hook)

    page = nurse.get("/bench").text

    label = play.clinic.house.label(ItemRow(hook, "hook"))
    assert f'value="dropped">dropped<small> {label}</small></button>' in page
    assert "What happened to Hook" in page
