"""Two devices that share a bench: what is scanned on a screen that is behind goes to nobody."""

import pytest
from playwright.sync_api import Browser, Page, expect

from equip.store.readings import use_rows
from tests.browser.conftest import Served
from tests.browser.test_a_day_by_keyboard import scan, sign_in

pytestmark = pytest.mark.browser

SEVEN, EIGHT = "12345607", "12345608"


def met(served: Served, tag: str) -> list[str]:
    clinic = served.play.clinic
    return [clinic.vault.reveal(one.patient) for one in use_rows.touches_of(clinic.store, tag)]


def test_a_run_of_scans_on_the_old_screen_stops_and_says_what_to_scan_again(
    page: Page, served: Served, chromium: Browser
) -> None:
    play = served.play
    hooks = [play.add("hook", "go-live") for _ in range(3)]
    sign_in(page, served)
    play.clock.passes(seconds=3)
    scan(page, SEVEN, "Patient")
    other = chromium.new_context().new_page()
    sign_in(other, served, "Mo Reed")
    play.clock.passes(seconds=3)
    scan(other, EIGHT, "Patient")

    for hook in hooks:
        page.keyboard.type(hook)
        page.keyboard.press("Enter")

    expect(page.locator("[role=status] .word")).to_have_text("Not written")
    listed = page.locator("[role=status] .again li")
    expect(listed).to_have_text(hooks)
    expect(page.locator("#strip")).to_contain_text("ends 5608")
    assert [met(served, hook) for hook in hooks] == [[], [], []]

    play.clock.passes(seconds=3)
    scan(page, SEVEN, "Patient")
    for hook in hooks:
        play.clock.passes(seconds=3)
        scan(page, hook, "Used")
    expect(listed).to_have_count(0)
    assert [met(served, hook) for hook in hooks] == [[SEVEN]] * 3
    play.clock.passes(seconds=3)
    scan(other, hooks[0], "Not written")
    other.get_by_role("button", name="go on here").click()
    expect(other.locator("[role=status] .word")).to_have_text("Go on")
    other.context.close()


def test_without_its_script_the_page_tells_of_a_screen_that_is_behind_too(
    served: Served, chromium: Browser
) -> None:
    play = served.play
    hook = play.add("hook", "go-live")
    plain = chromium.new_context(java_script_enabled=False).new_page()
    sign_in(plain, served)
    scan(plain, SEVEN, "Patient")
    play.scan(EIGHT, who="manager")

    scan(plain, hook, "Not written")
    assert met(served, hook) == []
    plain.get_by_role("button", name="go on here").click()
    expect(plain.locator("[role=status] .word")).to_have_text("Go on")
    play.clock.passes(seconds=3)
    plain.get_by_label("Scan or type").focus()
    scan(plain, hook, "Used")
    assert met(served, hook) == [EIGHT]
    plain.context.close()
