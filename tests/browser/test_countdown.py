"""A contact time counts down on the screen, alone and evenly, and never says too little."""

import pytest
from playwright.sync_api import Page, expect

from equip.desk.act.act import acting
from equip.desk.machines import lots
from equip.facts import Stated
from tests.browser.conftest import Served
from tests.browser.test_a_day_by_keyboard import scan, sign_in

pytestmark = pytest.mark.browser


def test_the_bench_counts_a_contact_time_down_and_asks_the_server_nothing(
    page: Page, served: Served
) -> None:
    play = served.play
    scope = play.add("scope-wiped")
    with acting(play.clinic, by=play.people["nurse"]) as act:
        lot = lots.add(
            act, "wipe", "Lot one", "N-1", stated=Stated(contact_s=3, agent="chlorine-dioxide")
        )
    sign_in(page, served)
    for text, word in (("disinfect", "Disinfect"), (lot, "Lot")):
        play.clock.passes(seconds=3)
        scan(page, text, word)
    play.clock.passes(seconds=3)
    page.keyboard.type(scope)
    page.keyboard.press("Enter")
    expect(page.locator("[role=status] .word")).to_contain_text("Wet until")
    left = page.locator(".timer .left")
    expect(left).to_have_text("3 s more")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))

    expect(left).to_have_text("1 s more")
    expect(left).to_have_text("Time is up: go on.")

    assert asked == []
    assert page.evaluate("document.activeElement.name") == "text"


def test_without_its_script_the_page_says_until_when(page: Page, served: Served) -> None:
    play = served.play
    scope = play.add("scope-wiped")
    with acting(play.clinic, by=play.people["nurse"]) as act:
        lot = lots.add(
            act, "wipe", "Lot one", "N-1", stated=Stated(contact_s=90, agent="chlorine-dioxide")
        )
    play.scan("disinfect", lot, scope)
    page.route("**/static/countdown.js", lambda route: route.fulfill(body=""))
    sign_in(page, served)

    expect(page.locator(".timer")).to_contain_text("1 min 30 s more")
    expect(page.locator(".timer time")).to_be_visible()
