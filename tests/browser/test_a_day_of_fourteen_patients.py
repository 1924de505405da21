"""A day of fourteen patients, two devices and the mistakes of tired hands, against paper.

What must come out is written down beside each patient before anything is read: whom each
instrument was used on. It is compared with the ledger at the end of the day.
"""

import pytest
from playwright.sync_api import Browser, Page, expect

from equip.store.readings import use_rows
from tests.browser.conftest import Served
from tests.browser.test_a_day_by_keyboard import scan, sign_in

pytestmark = pytest.mark.browser


class Day:
    """The two screens of one bench, the shelf, and the paper."""

    def __init__(self, served: Served, first: Page, second: Page) -> None:
        self.play, self.screens = served.play, (first, second)
        self.paper: dict[str, list[str]] = {}
        self.shelf = [self.play.add("hook", "go-live") for _ in range(30)]
        self.scans = 0

    def hook(self, patient: str) -> str:
        """The next hook of the shelf; on paper it is *patient*'s."""
        tag = self.shelf.pop()
        self.paper.setdefault(patient, []).append(tag)
        return tag

    def say(self, *lines: tuple[str, str], on: int = 0, seconds: float = 4) -> None:
        """Scan each text and see its word."""
        for text, word in lines:
            self.play.clock.passes(seconds=seconds)
            scan(self.screens[on], text, word)
            self.scans += 1

    def ledger(self) -> dict[str, list[str]]:
        clinic = self.play.clinic
        found: dict[str, list[str]] = {}
        for tag in {*self.shelf, *(one for every in self.paper.values() for one in every)}:
            for touch in use_rows.touches_of(clinic.store, tag):
                found.setdefault(touch.patient, []).append(tag)
        return {patient: sorted(tags) for patient, tags in found.items()}

    def on_paper(self) -> dict[str, list[str]]:
        """The same by token: one patient has one, however the reference was written."""
        find = self.play.clinic.vault.find
        return {str(find(patient)): sorted(tags) for patient, tags in self.paper.items()}


@pytest.mark.parametrize("page", [(1280, 900)], ids=["desk"], indirect=True)
def test_the_ledger_equals_the_paper(page: Page, served: Served, chromium: Browser) -> None:
    other = chromium.new_context(viewport={"width": 800, "height": 1280}).new_page()
    day = Day(served, page, other)
    sign_in(page, served)
    names = [f"DEMO-7700{number:02d}" for number in range(14)]

    def whole(number: int) -> None:
        """A patient for whom nothing goes wrong."""
        who = names[number]
        day.say((who, "Patient"), (day.hook(who), "Used"), (day.hook(who), "Used"))
        day.say(("finish", "Finished"))

    whole(0)

    # The next patient is scanned without “finish”.
    day.say((names[1], "Patient"), (day.hook(names[1]), "Used"))
    day.say((names[2], "Patient"), (day.hook(names[2]), "Used"), ("finish", "Finished"))

    # The patient is forgotten: what was scanned waits for whoever it was.
    day.say((day.hook(names[3]), "Whose?"), (names[3], "Used"), ("finish", "Finished"))

    # One instrument is found after “finish”.
    whole(4)
    day.say(("one more", "One more"), (day.hook(names[4]), "Used"), ("finish", "Finished"))

    # The wrong patient was scanned; the scans are moved.
    day.say((names[6], "Patient"), (day.hook(names[5]), "Used"))
    day.say(("move to another patient", "Move"), (names[5], "Moved"), ("finish", "Finished"))

    # The wrong hook was scanned, and the scanner fires twice.
    wrong = day.shelf[0]
    day.say((names[6], "Patient"), (wrong, "Used"), ("undo", "Undo?"), ("undo", "Taken back"))
    right = day.hook(names[6])
    day.say((right, "Used"))
    page.keyboard.type(right)
    page.keyboard.press("Enter")
    page.keyboard.type(right)
    page.keyboard.press("Enter")
    expect(page.locator("[role=status] .word")).to_have_text("Same scan")
    day.say(("finish", "Finished"))

    # A long talk: the use runs out, and the next scan says so.
    day.say((names[7], "Patient"), (day.hook(names[7]), "Used"))
    day.play.clock.passes(minutes=25)
    late = day.hook(names[7])
    day.say((late, "Ended"), (names[7], "Patient"), (late, "Used"), ("finish", "Finished"))

    # A colleague scans a patient at the same bench on the tablet.
    day.say((names[8], "Patient"), (day.hook(names[8]), "Used"))
    sign_in(other, served, "Mo Reed")
    day.say((names[9], "Patient"), (day.hook(names[9]), "Used"), on=1)
    tray = day.hook(names[8])
    day.say((tray, "Not written"), (tray, "Not written"), (names[8], "Patient"), (tray, "Used"))
    last = day.hook(names[9])
    day.say((last, "Not written"), (names[9], "Patient"), (last, "Used"), on=1)
    day.say(("finish", "Finished"), on=1)

    # The reference is typed without its hyphen; a damaged tag comes before “dropped”.
    page.reload()
    plain = names[10].replace("-", "")
    used = day.hook(names[10])
    day.say((plain, "Patient"), (used, "Used"), (used[:-1] + "0", "Not read"), ("dropped", "No"))
    day.say((names[10], "Patient"), ("finish", "Finished"))

    # In use a dropped hook is a No, and another is taken.
    fallen = day.shelf[1]
    day.say((names[11], "Patient"), ("start a use", "Started"), (fallen, "Used"))
    day.paper.setdefault(names[11], []).append(fallen)
    day.say(("dropped", "Dropped"), (fallen, "No"), (day.hook(names[11]), "Used"))
    day.say(("finish", "Finished"))

    # A hook that was used this morning is asked about and left alone.
    again = day.paper[names[0]][0]
    day.say((names[12], "Patient"), ("start a use", "Started"), (again, "No"))
    day.say((day.hook(names[12]), "Used"), ("finish", "Finished"))

    whole(13)

    assert len(day.on_paper()) == 14
    assert day.ledger() == day.on_paper()
    assert day.scans <= 20 * 14
    other.context.close()
