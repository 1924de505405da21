"""What is in hand, the answer, the next step and the last scans stay in view, however long."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from equip.store.readings import use_rows
from tests.browser.conftest import Served
from tests.browser.test_a_day_by_keyboard import scan, sign_in

pytestmark = pytest.mark.browser

ONE = "12345607"


@pytest.fixture(params=[(360, 740), (800, 1280), (1280, 800)], ids=["phone", "tablet", "desk"])
def screen(request: pytest.FixtureRequest, chromium: Browser) -> Iterator[Page]:
    wide, high = request.param
    context = chromium.new_context(viewport={"width": wide, "height": high})
    yield context.new_page()
    context.close()


def in_view(place: Locator) -> bool:
    """Whether all of it lies within the screen, and nothing cuts it off."""
    return bool(
        place.evaluate(
            """e => {
              const box = e.getBoundingClientRect();
              const inside = box.top >= -1 && box.bottom <= innerHeight + 1 && box.height > 0;
              const frame = e.closest(".answer");
              return inside && (!frame || box.bottom <= frame.getBoundingClientRect().bottom + 1);
            }"""
        )
    )


def test_a_long_answer_moves_nothing_off_the_screen(screen: Page, served: Served) -> None:
    play = served.play
    hooks = [play.add("hook", "go-live") for _ in range(3)]
    sign_in(screen, served)

    for text, word in ((ONE, "Patient"), *((hook, "Used") for hook in hooks)):
        play.clock.passes(seconds=3)
        scan(screen, text, word)
    for patient in ("12345608", "12345609"):
        play.clock.passes(seconds=3)
        scan(screen, patient, "Patient")
        play.clock.passes(seconds=3)
        scan(screen, hooks[0], "Used, not fit")

    assert screen.locator("[role=status] li").count() >= 2
    for part in ("#strip", "[role=status] .word", "[role=status] .next", "#scan"):
        assert in_view(screen.locator(part)), part
    screen.get_by_role("button", name="Seen").click()
    assert in_view(screen.locator("#latest"))
    assert screen.locator("#latest li").count() == 5


def test_a_no_in_a_run_of_scans_stays_until_it_is_seen(screen: Page, served: Served) -> None:
    play = served.play
    unfit, pack = (
        play.add("hook"),
        play.sterile_pack(play.add("steriliser-vacuum"), play.add("hook")),
    )
    sign_in(screen, served)
    scan(screen, "lay up", "Lay up")
    play.clock.passes(seconds=3)

    for tag in (unfit, pack):
        screen.keyboard.type(tag)
        screen.keyboard.press("Enter")

    expect(screen.locator("[role=status] .word")).to_have_text("Yes")
    expect(screen.locator("#held")).to_contain_text("No. Hook")
    for part in ("#held", "#strip", "[role=status] .word", "[role=status] .next", "#scan"):
        assert in_view(screen.locator(part)), part
    screen.get_by_role("button", name="Seen").click()
    expect(screen.locator("#held")).to_be_hidden()
    assert screen.evaluate("document.activeElement.name") == "text"


def test_a_no_that_was_read_is_not_held(screen: Page, served: Served) -> None:
    play = served.play
    unfit = play.add("hook")
    sign_in(screen, served)
    scan(screen, unfit, "No")
    screen.wait_for_timeout(2100)
    play.clock.passes(seconds=3)

    scan(screen, "lay up", "Lay up")

    expect(screen.locator("#held")).to_be_hidden()


def test_a_scanner_that_ends_with_a_tab_scans(screen: Page, served: Served) -> None:
    hooks = [served.play.add("hook", "go-live") for _ in range(2)]
    sign_in(screen, served)
    scan(screen, ONE, "Patient")
    served.play.clock.passes(seconds=3)

    for hook in hooks:
        screen.keyboard.type(hook)
        screen.keyboard.press("Tab")

    expect(screen.locator("#latest li")).to_have_count(3)
    store = served.play.clinic.store
    assert [len(use_rows.touches_of(store, hook)) for hook in hooks] == [1, 1]
    assert screen.evaluate("document.activeElement.name") == "text"


def test_each_sort_of_answer_has_a_tone_of_its_own(screen: Page, served: Served) -> None:
    play = served.play
    unfit, pack = (
        play.add("hook"),
        play.sterile_pack(play.add("steriliser-vacuum"), play.add("hook")),
    )
    sign_in(screen, served)
    heard = []
    for text, word in (
        ("lay up", "Lay up"),
        (pack, "Yes"),
        (unfit, "No"),
        ("no such text", "Not read"),
        (ONE, "Patient"),
        ("start a use", "Started"),
        (pack, "Used"),
    ):
        play.clock.passes(seconds=3)
        scan(screen, text, word)
        heard.append(screen.evaluate("document.documentElement.dataset.tone"))

    assert heard == ["note", "yes", "no", "unread", "note", "note", "kept"]
    button = screen.locator("#sound")
    button.click()
    expect(button).to_contain_text("Sound is off")
