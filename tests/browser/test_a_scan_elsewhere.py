"""A scan away from the Bench is taken where it belongs, or left alone aloud; never typed."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Served
from tests.browser.test_a_day_by_keyboard import sign_in

pytestmark = pytest.mark.browser


def fire(page: Page, text: str, end: str = "Enter") -> None:
    """Type as a scanner does."""
    page.keyboard.type(text)
    page.keyboard.press(end)


def test_an_item_scanned_on_another_page_is_opened(page: Page, served: Served) -> None:
    hook = served.play.add("hook", "go-live")
    sign_in(page, served)
    page.goto(f"{served.address}/loads")

    fire(page, hook)

    page.wait_for_url(f"**/things/{hook}")


def test_a_tag_is_never_typed_into_a_name(page: Page, served: Served) -> None:
    hook = served.play.add("hook", "go-live")
    sign_in(page, served, "Mo Reed")
    page.goto(f"{served.address}/setup/places")
    name = page.locator("[name=name]")
    name.fill("Room")
    name.focus()

    fire(page, hook)

    expect(page.locator("#scanned")).to_contain_text("was scanned.")
    expect(page.locator("#scanned a")).to_have_attribute("href", f"/things/{hook}")
    expect(name).to_have_value("Room")
    assert page.url.endswith("/setup/places")


@pytest.mark.parametrize(("text", "says"), [("12345607", "A patient"), ("finish", "“finish”")])
def test_a_patient_or_an_act_is_left_alone_aloud(
    page: Page, served: Served, text: str, says: str
) -> None:
    sign_in(page, served, "Mo Reed")
    page.goto(f"{served.address}/setup/places")
    page.locator("[name=name]").focus()

    fire(page, text, "Tab")

    expect(page.locator("#scanned")).to_contain_text(f"{says} was scanned. Nothing is written down")
    expect(page.locator("#scanned")).not_to_contain_text("12345607")
    expect(page.locator("[name=name]")).to_have_value("")


def test_text_that_means_nothing_is_typed_and_sent_as_ever(page: Page, served: Served) -> None:
    sign_in(page, served, "Mo Reed")
    page.goto(f"{served.address}/setup/places")
    page.locator("[name=name]").focus()

    fire(page, "Recovery bay")

    expect(page.get_by_text("Recovery bay").first).to_be_visible()
    assert "Recovery bay" in [one.name for one in served.play.clinic.house.places.values()]


def test_a_field_that_waits_for_a_tag_gets_it(page: Page, served: Served) -> None:
    hook = served.play.add("hook", "go-live")
    sign_in(page, served)
    page.goto(f"{served.address}/history")
    page.locator("[name=q]").focus()

    fire(page, hook)

    page.wait_for_url(f"**/history/{hook}")


def test_what_a_hand_types_is_no_scan(page: Page, served: Served) -> None:
    hook = served.play.add("hook", "go-live")
    sign_in(page, served, "Mo Reed")
    page.goto(f"{served.address}/setup/places")
    page.locator("[name=name]").focus()

    page.keyboard.type(hook, delay=60)
    page.keyboard.press("Tab")

    expect(page.locator("[name=name]")).to_have_value(hook)
    expect(page.locator("#scanned")).to_be_hidden()
