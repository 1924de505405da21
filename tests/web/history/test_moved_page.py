"""Scans that were moved to another patient, on the pages of both."""

from collections.abc import Callable

from flask.testing import FlaskClient

from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]


def test_both_pages_say_where_the_scans_went_and_came_from(play: Play, signed_in: SignIn) -> None:
    hook = play.add("hook", "go-live")
    play.scan("12345601", hook, "move to another patient", "12345602")
    first, then = (play.clinic.vault.find(one) for one in ("12345601", "12345602"))
    auditor = signed_in("auditor")

    left = auditor.get(f"/history/{first}").get_data(as_text=True)
    here = auditor.get(f"/history/{then}").get_data(as_text=True)

    assert "(moved to patient <a" in left and f"/history/{then}" in left
    assert "(moved here from patient <a" in here and f"/history/{first}" in here
    assert "1234560" not in left + here
