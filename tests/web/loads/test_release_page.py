"""The page of a load says why it may not be released, and then offers no release."""

from collections.abc import Callable

from flask.testing import FlaskClient

from equip.desk.act.act import acting
from equip.desk.machines import sheets
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]


def test_the_page_says_what_the_machine_lacked_on_the_day_in_place_of_the_form(
    signed_in: SignIn, play: Play
) -> None:
    steriliser = play.add("steriliser-vacuum")
    load = play.run(steriliser, play.packed(play.add("hook")))
    nurse = signed_in("nurse")
    before = nurse.get(f"/loads/{load}").text
    with acting(play.clinic, by=play.people["nurse"]) as act:
        sheets.record(act, steriliser, "steam-penetration", passed=False)

    page = nurse.get(f"/loads/{load}").text

    assert "Yes to each: release all but what is held back" in before
    assert "all but what is held back" not in page
    assert "Why it cannot be released by you now" in page
    assert "was not to run: The steam penetration test failed." in page
