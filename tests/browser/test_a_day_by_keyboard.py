"""A nurse's day through the pages with the keyboard only, as a scanner types it."""

import json
from uuid import uuid4

import pytest
from playwright.sync_api import Page, expect

from equip.clock import utc_now
from equip.demo.cycles import steam_log
from equip.store.kept import devices
from equip.store.readings import load_rows, use_rows
from tests.browser.conftest import PASSWORD, PIN, Served

pytestmark = pytest.mark.browser


def sign_in(page: Page, served: Served, who: str = "Nell Ash", secret: str = PASSWORD) -> None:
    """Sign in on a device that is bench 1."""
    store, device = served.play.clinic.store, uuid4().hex
    devices.named(store, device, "bench 1", "", served.play.people["nurse"], utc_now())
    page.context.add_cookies([{"name": "bench-device", "value": device, "url": served.address}])
    page.goto(f"{served.address}/")
    expect(page.locator("[name=who]")).to_be_focused()
    page.keyboard.type(who)
    page.keyboard.press("Tab")
    page.keyboard.type(secret)
    page.keyboard.press("Enter")
    page.wait_for_url("**/bench")


def scan(page: Page, text: str, word: str) -> None:
    """Type as a scanner does, without looking where the focus is; wait for the answer."""
    page.keyboard.type(text)
    page.keyboard.press("Enter")
    expect(page.locator("[role=status] .word")).to_have_text(word)


def test_from_lay_up_to_release(page: Page, served: Served) -> None:
    play = served.play
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    play.tested(steriliser)
    pack = play.fresh_pack()
    sign_in(page, served)

    for text, word in (
        (play.people["nurse"], "Badge"),
        ("lay up", "Lay up"),
        (hook, "No"),
        ("clean", "Clean"),
        (hook, "Done"),
        ("inspect pass", "Inspect pass"),
        (hook, "Done"),
        ("pack", "Pack"),
        (hook, "In"),
        (pack, "Packed"),
        (steriliser, "Load open"),
        (pack, "In"),
        ("start the load", "Started"),
        ("end the load", "Which cycle?"),
        ("417", "Ended"),
    ):
        play.clock.passes(seconds=3)
        scan(page, text, word)
    load = load_rows.last_load(play.clinic.store, steriliser)
    assert load is not None
    page.goto(f"{served.address}/loads/{load.load}")
    page.set_input_files(
        "input[name=log]",
        {"name": "417.csv", "mimeType": "text/csv", "buffer": steam_log(417)},
    )
    page.locator("form:has(input[name=log]) button[type=submit]").first.press("Enter")
    page.wait_for_load_state()
    expect(page.get_by_text("Passed").first).to_be_visible()
    page.goto(f"{served.address}/bench")
    for text, word in (
        (load.load, "Passed"),
        ("release", "Released"),
        ("lay up", "Lay up"),
        (pack, "Yes"),
        ("123456", "Patient"),
        ("start a use", "Started"),
        ("left", "Left ear"),
        (pack, "Used"),
        ("finish", "Finished"),
    ):
        play.clock.passes(seconds=3)
        scan(page, text, word)

    assert [t.gate for t in use_rows.touches_of(play.clinic.store, hook)] == [load.load]


def test_scans_typed_without_a_pause_are_all_kept_in_order(page: Page, served: Served) -> None:
    play = served.play
    hooks = [play.add("hook", "go-live") for _ in range(6)]
    sign_in(page, served)
    play.clock.passes(seconds=3)
    scan(page, "123456", "Patient")

    for hook in hooks:
        page.keyboard.type(hook)
        page.keyboard.press("Enter")
    expect(page.locator("[role=status] .what")).to_contain_text(hooks[-1][5:9])

    used = [use_rows.touches_of(play.clinic.store, hook) for hook in hooks]
    assert [len(touches) for touches in used] == [1] * 6
    positions = [int(touches[0].path.split("/")[1]) for touches in used]
    assert positions == sorted(positions)


def test_the_field_has_the_focus_again_after_every_answer(page: Page, served: Served) -> None:
    sign_in(page, served)
    scan(page, "lay up", "Lay up")
    page.mouse.click(200, 300)

    served.play.clock.passes(seconds=3)
    scan(page, "start over", "Start over")

    assert page.evaluate("document.activeElement.name") == "text"


def test_a_no_turns_the_whole_answer_to_ink(page: Page, served: Served) -> None:
    hook = served.play.add("hook")
    sign_in(page, served)

    scan(page, hook, "No")

    paint = "e => getComputedStyle(e).backgroundColor"
    answer = page.locator("[role=status]").evaluate(paint)
    paper = page.locator("body").evaluate(paint)
    assert sum(json.loads(answer.replace("rgb(", "[").replace(")", "]"))) < 150
    assert sum(json.loads(paper.replace("rgb(", "[").replace(")", "]"))) > 700


def test_a_badge_and_pin_are_enough_to_sign_in(page: Page, served: Served) -> None:
    sign_in(page, served, served.play.people["nurse"], PIN)

    expect(page.get_by_text("Nell Ash").first).to_be_visible()


@pytest.mark.parametrize("path", ["/stock", "/loads", "/due", "/history", "/setup"])
def test_no_page_is_wider_than_the_screen(page: Page, served: Served, path: str) -> None:
    play = served.play
    play.sterile_pack(play.add("steriliser-vacuum"), play.add("hook"))
    sign_in(page, served, "Mo Reed")

    page.goto(f"{served.address}{path}")

    wide = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]
