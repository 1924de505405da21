"""The Bench counts down what is in hand, and changes by itself when it runs out."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Served
from tests.browser.test_a_day_by_keyboard import scan, sign_in

pytestmark = pytest.mark.browser


def test_a_use_that_runs_out_leaves_the_screen_without_a_scan(page: Page, served: Served) -> None:
    play = served.play
    hook = play.add("hook", "go-live")
    sign_in(page, served)
    scan(page, "12345607", "Patient")
    strip = page.locator("#strip")
    expect(strip).to_contain_text("20 min more")
    play.clock.passes(minutes=19, seconds=58)
    page.reload()  # the page asks the server how long: its clock is the one that counts
    expect(strip).to_contain_text("2 s more")

    play.clock.passes(seconds=4)

    expect(page.locator("[role=status] .word")).to_have_text("Ended")
    expect(strip).not_to_contain_text("ends 5607")
    scan(page, hook, "Ended")
    scan(page, "12345607", "Patient")
    play.clock.passes(seconds=3)
    scan(page, hook, "Used")


def test_asked_and_used_look_different_without_colour(page: Page, served: Served) -> None:
    play = served.play
    pack = play.sterile_pack(play.add("steriliser-vacuum"), play.add("hook"))
    sign_in(page, served)
    answer = page.locator("[role=status]")
    bar = "e => getComputedStyle(e).borderLeftWidth"
    scan(page, "lay up", "Lay up")
    scan(page, pack, "Yes")
    asked = answer.evaluate(bar)

    for text, word in (("12345607", "Patient"), ("start a use", "Started"), (pack, "Used")):
        play.clock.passes(seconds=3)
        scan(page, text, word)

    assert float(answer.evaluate(bar).removesuffix("px")) >= 4 * float(asked.removesuffix("px"))
    expect(answer.locator(".what")).to_contain_text("Patient ends 5607")
