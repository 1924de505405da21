"""Electrical safety on its page and at the desk: judged, compared, refused with a sentence."""

import io
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from html import unescape

import pytest
from flask.testing import FlaskClient

from equip.desk.act.act import acting
from equip.desk.upkeep import duties, duty_acts
from equip.desk.upkeep.measuring import in_force
from equip.store.kept import files
from equip.store.readings import duty_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
FORM = {
    "done": "2026-03-04",
    "protection": "I",
    "cord": "detachable",
    "method": "direct",
    "earth_ohm": "0,11",
    "earth_ohm_reversed": "0.12",
    "leakage_ua": "210",
    "firm": "Bench and Sons",
}
PAPER = b"%PDF-1.7\n%%EOF\n"


def _at(tag: str) -> str:
    return f"/electrical/things/{tag}"


def test_a_test_is_judged_kept_and_meets_its_duty(play: Play, signed_in: SignIn) -> None:
    pump, manager = play.add("suction-pump"), signed_in("manager")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, pump, in_force.ELECTRICAL, date(2026, 3, 4), every_months=12)
    play.clock.passes(minutes=1)

    more = {"part": "BF", "applied_ua": "35", "meets": "yes"}
    assert manager.post(_at(pump), data=FORM | more).status_code == 303

    (told,) = in_force.electrical_tests(play.clinic, pump)
    assert (told.verdict, str(told.earth_ohm), told.duty) == ("pass", "0.12", in_force.ELECTRICAL)
    assert [rule.id for rule in told.rules] == [
        "electrical.earth-detachable",
        "electrical.leakage-I-direct",
        "electrical.applied-BF",
    ]
    (due,) = duties.due_of(play.clinic, pump, date(2026, 3, 4))
    assert due.next_due == date(2027, 3, 4)
    page = unescape(signed_in("auditor").get(_at(pump)).text)
    assert "the higher of 0.11 and 0.12" in page and "35, type BF" in page
    assert "<form" not in page.split("<main")[1]


def test_a_rise_over_the_reference_is_told_and_does_not_fail(play: Play, signed_in: SignIn) -> None:
    pump, manager = play.add("suction-pump"), signed_in("manager")
    for done, leakage in (("2025-03-04", "200"), ("2026-03-04", "301")):
        play.clock.passes(minutes=1)
        manager.post(_at(pump), data=FORM | {"done": done, "leakage_ua": leakage})

    (_, newest) = in_force.electrical_tests(play.clinic, pump)

    # 101 µA is more than 20 % of the limit of 500 µA.
    assert (newest.verdict, [one.code for one in newest.reasons]) == ("pass", ["risen"])
    assert "200 µA on" in manager.get(_at(pump)).text


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"earth_ohm": "low"}, "“low” is no number"),
        ({"protection": "III"}, "choose one of I, II"),
        ({"done": "2026-03-05"}, "has not come yet"),
        ({"firm": ""}, "one of the two"),
        ({"leakage_ua": "-1"}, "never below nought"),
        ({"cord": "fixed", "cord_ohm": "0.1"}, "leave its own value out"),
        ({"applied_ua": "20"}, "say whether it is type BF or CF"),
        ({"leakage_ua": "501", "meets": "yes"}, "It did not pass"),
        ({"meets": "yes"}, "has no duty"),
    ],
)
def test_what_is_wrong_is_one_sentence_and_what_was_typed_comes_back(
    play: Play, signed_in: SignIn, typed: dict[str, str], says: str
) -> None:
    pump = play.add("suction-pump")

    answer = signed_in("manager").post(_at(pump), data=FORM | typed | {"note": "a new cord"})

    page = unescape(answer.text)
    assert answer.status_code == 400
    assert says in page and 'value="a new cord"' in page
    assert in_force.electrical_tests(play.clinic, pump) == []


def test_what_fails_is_written_down_and_only_a_manager_writes(
    play: Play, signed_in: SignIn
) -> None:
    pump = play.add("suction-pump")

    assert signed_in("nurse").post(_at(pump), data=FORM).status_code == 403
    play.clock.passes(minutes=1)
    assert (
        signed_in("manager").post(_at(pump), data=FORM | {"leakage_ua": "501"}).status_code == 303
    )
    (told,) = in_force.electrical_tests(play.clinic, pump)
    assert (told.verdict, told.reasons[0].code) == ("fail", "leakage-high")


@pytest.mark.parametrize(
    ("typed", "says"),
    [({"leakage_ua": "501"}, "it failed"), ({"method": ""}, "it could not be judged")],
)
def test_a_test_that_did_not_pass_keeps_its_duty_open_whatever_a_certificate_says(
    play: Play, signed_in: SignIn, typed: dict[str, str], says: str
) -> None:
    pump, manager = play.add("suction-pump"), signed_in("manager")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, pump, in_force.ELECTRICAL, date(2026, 3, 4), every_months=12)
    manager.post(_at(pump), data=FORM | typed)
    met = {"item": pump, "duty": in_force.ELECTRICAL, "done": "2026-03-04"}

    answer = manager.post("/due/met", data=met)

    assert answer.status_code == 400
    assert f"By its readings of 2026-03-04, {says}" in unescape(answer.text)
    assert manager.post(_at(pump), data=FORM).status_code == 303  # written down again: a slip
    assert manager.post("/due/met", data=met).status_code == 303


def test_its_certificate_is_kept_by_its_hash_given_back_and_kept_when_a_slip_is_mended(
    play: Play, signed_in: SignIn
) -> None:
    pump, manager = play.add("suction-pump"), signed_in("manager")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, pump, in_force.ELECTRICAL, date(2026, 3, 4), every_months=12)
    play.clock.passes(minutes=1)
    form = FORM | {"meets": "yes", "certificate": (io.BytesIO(PAPER), "report.pdf")}

    assert manager.post(_at(pump), data=form).status_code == 303
    (told,) = in_force.electrical_tests(play.clinic, pump)
    assert (len(told.certificate), told.certificate_name) == (64, "report.pdf")
    (met,) = duty_rows.duties_met(play.clinic.store, pump)
    assert met.certificate == told.certificate
    address = f"{_at(pump)}/certificates/{told.certificate}"
    assert f'<a href="{address}">report.pdf</a>' in signed_in("auditor").get(_at(pump)).text
    file = signed_in("auditor").get(address)
    assert (file.data, file.mimetype) == (PAPER, "application/pdf")
    assert manager.get(address.replace(pump, play.add("hook"))).status_code == 404

    play.clock.passes(minutes=1)
    manager.post(_at(pump), data=FORM | {"leakage_ua": "211"})
    (mended,) = in_force.electrical_tests(play.clinic, pump)
    assert (mended.certificate, mended.leakage_ua) == (told.certificate, Decimal(211))


def test_a_report_of_a_test_that_failed_is_kept_all_the_same(play: Play, signed_in: SignIn) -> None:
    pump = play.add("suction-pump")
    form = FORM | {"leakage_ua": "501", "certificate": (io.BytesIO(PAPER), "report.pdf")}

    assert signed_in("manager").post(_at(pump), data=form).status_code == 303

    (told,) = in_force.electrical_tests(play.clinic, pump)
    assert told.verdict == "fail" and files.fetch(play.clinic.store, told.certificate) == PAPER


def test_what_is_no_certificate_is_refused_and_nothing_is_written_down(
    play: Play, signed_in: SignIn
) -> None:
    pump = play.add("suction-pump")
    form = FORM | {"certificate": (io.BytesIO(b"MZ\x90"), "report.exe")}

    answer = signed_in("manager").post(_at(pump), data=form)

    assert answer.status_code == 400 and "neither PDF nor JPEG nor PNG" in unescape(answer.text)
    assert "choose it again" in answer.text
    assert in_force.electrical_tests(play.clinic, pump) == []
