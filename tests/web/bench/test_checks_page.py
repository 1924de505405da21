"""The page of checks ahead of a session, the thing's own, and the form of a type."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from flask.testing import FlaskClient

from equip import facts
from equip.desk.act.act import acting
from equip.facts import AskedCheck, Checked
from equip.store.ledger.about import told_about
from equip.web.application import shown_tag
from tests.desk.people.test_competence import lapse
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]


def checked(play: Play, item: str) -> list[Checked]:
    found = (entry.fact for entry in told_about(play.clinic.store, item))
    return [fact for fact in found if isinstance(fact, Checked)]


def warm(**more: str) -> dict[str, str]:
    return {
        "waterline_good": "yes",
        "water-temperature_read": "37",
        "water-temperature_unit": "°C",
        "pressure_read": "1",
        "pressure_unit": "step",
        **more,
    }


def test_one_form_checks_a_whole_thing_and_the_page_says_until_when(
    play: Play, signed_in: SignIn
) -> None:
    irrigator, nurse = play.add("irrigator", name="Blue"), signed_in("nurse")
    before = nurse.get("/checks").get_data(as_text=True)

    answer = nurse.post(f"/checks/{irrigator}", data=warm(note="fresh water"))

    after = nurse.get("/checks").get_data(as_text=True)
    assert answer.status_code == 303
    assert "1 to check" in before
    assert "may not be used yet" in before
    assert "All checked" in after
    assert "all in force</strong> until 17:00" in after
    assert "makes people dizzy" in after
    assert [(one.check, one.passed) for one in checked(play, irrigator)] == [
        *(("waterline", True), ("water-temperature", True), ("pressure", True))
    ]
    thing = nurse.get(f"/things/{irrigator}").get_data(as_text=True)
    assert "have not been checked for this session" not in thing
    assert "in force until 17:00, 37 °C" in thing


def test_cold_water_is_written_down_and_said(play: Play, signed_in: SignIn) -> None:
    irrigator, nurse = play.add("irrigator"), signed_in("nurse")

    nurse.post(f"/checks/{irrigator}", data=warm(**{"water-temperature_read": "33,5"}))

    page = nurse.get(f"/things/{irrigator}").get_data(as_text=True)
    assert "not good, 33.5 °C" in page
    assert "failed its check" in page


def test_it_may_be_written_down_for_earlier_today(play: Play, signed_in: SignIn) -> None:
    pump, nurse = play.add("suction-pump"), signed_in("nurse")
    play.clock.passes(hours=1)

    nurse.post(f"/checks/{pump}", data={"vacuum_read": "60", "when": "12:30"})

    (fact,) = checked(play, pump)
    assert fact.at == play.clock.now - timedelta(minutes=30)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ({}, "Nothing was filled in"),
        ({"vacuum_read": "60", "when": "23:59"}, "23:59 is still to come"),
        ({"vacuum_read": "60", "when": "25:00"}, "“25:00” is no time of day"),
        ({"vacuum_read": "450", "vacuum_unit": "kPa"}, "450 kPa was read: no pump pulls harder"),
        ({"vacuum_read": "sixty"}, "“sixty” is no reading of the suction vacuum"),
        ({"vacuum_good": "no", "vacuum_read": "6", "vacuum_unit": "psi"}, "“psi” is no unit"),
    ],
)
def test_what_cannot_be_is_a_sentence_and_nothing_is_written(
    play: Play, signed_in: SignIn, data: dict[str, str], says: str
) -> None:
    pump = play.add("suction-pump")

    answer = signed_in("nurse").post(f"/checks/{pump}", data=data)

    assert answer.status_code == 400
    assert says in answer.get_data(as_text=True)
    assert checked(play, pump) == []


def test_one_reading_that_cannot_be_writes_none_of_the_form(play: Play, signed_in: SignIn) -> None:
    irrigator = play.add("irrigator")

    answer = signed_in("nurse").post(f"/checks/{irrigator}", data=warm(pressure_read="99"))

    assert answer.status_code == 400
    assert checked(play, irrigator) == []


def test_a_session_ends_in_one_place_alone(play: Play, signed_in: SignIn) -> None:
    here = play.add("suction-pump", place=play.places["room"])
    there = play.add("suction-pump", place=play.places["shelf"])
    play.checked(here, there)
    nurse = signed_in("nurse")

    nurse.post("/checks/over", data={"place": play.places["room"]})

    assert "1 thing is to be checked" in nurse.get("/checks").get_data(as_text=True)
    room = nurse.get(f"/checks?place={play.places['room']}").get_data(as_text=True)
    shelf = nurse.get(f"/checks?place={play.places['shelf']}").get_data(as_text=True)
    assert "1 to check" in room
    assert "All checked" in shelf
    assert nurse.post("/checks/over", data={"place": play.places["room"]}).status_code == 400


def test_the_page_ends_no_session_under_a_patient_and_lists_what_is_left(
    play: Play, signed_in: SignIn
) -> None:
    room, nurse = play.places["room"], signed_in("nurse")
    pump, scope = play.add("suction-pump", place=room), play.add("scope-wiped", "go-live")
    play.scan(room, "DEMO-77001", "start a use", scope)
    play.checked(pump)

    refused = nurse.post("/checks/over", data={"place": room})
    play.scan("finish")
    page = nurse.get(f"/checks?place={room}").get_data(as_text=True)
    ended = nurse.post("/checks/over", data={"place": room})

    assert refused.status_code == 400
    assert "A patient is in hand at bench 1: finish there first." in refused.get_data(as_text=True)
    assert "Left unfinished in Room 1:" in page
    assert "Soiled: Rigid scope, wiped" in page
    assert ended.status_code == 303


def test_the_page_says_what_stands_against_a_machine_whatever_its_checks_say(
    play: Play, signed_in: SignIn
) -> None:
    pump, nurse = play.add("suction-pump"), signed_in("nurse")
    play.checked(pump)
    fine = nurse.get("/checks").get_data(as_text=True)
    with acting(play.clinic, by=play.people["manager"]) as act:
        why = facts.Told(code="fault", says="it smells of smoke")
        act.tell(facts.Quarantined, item=pump, why=why)

    page = nurse.get("/checks").get_data(as_text=True)

    assert 'class="answer small yes"' in fine
    assert 'class="answer small warn"' in page
    assert "it smells of smoke" in page


def test_an_auditor_reads_and_checks_nothing(play: Play, signed_in: SignIn) -> None:
    pump, auditor = play.add("suction-pump"), signed_in("auditor")

    assert '<form class="ask" method="post"' not in auditor.get("/checks").get_data(as_text=True)
    assert auditor.post(f"/checks/{pump}", data={"vacuum_read": "60"}).status_code == 403
    assert auditor.post("/checks/over").status_code == 403
    assert checked(play, pump) == []


def test_a_thing_that_is_not_checked_has_no_form(play: Play, signed_in: SignIn) -> None:
    hook, nurse = play.add("hook"), signed_in("nurse")

    assert nurse.post(f"/checks/{hook}", data={"light_good": "yes"}).status_code == 404
    assert "Checks of the session" not in nurse.get(f"/things/{hook}").get_data(as_text=True)
    assert "Nothing is checked ahead of a session" in nurse.get("/checks").get_data(as_text=True)


# --- the type -----------------------------------------------------------------------------------


def form_of(kind: facts.ItemType, **more: str) -> dict[str, str]:
    return {
        "code": kind.code,
        "name": kind.name,
        "sort": kind.sort,
        "contact": kind.contact,
        "reuse": kind.reuse,
        "optic": kind.optic,
        "tagged": "yes",
        "heat_proof": "yes",
        "asks_checks": "yes",
        **more,
    }


def test_a_manager_sets_what_is_checked_and_the_maker_s_limits(
    play: Play, signed_in: SignIn
) -> None:
    pump = play.clinic.house.types["suction-pump"]
    limits = {"check_vacuum": "yes", "check_vacuum_low": "200", "check_vacuum_unit": "mmHg"}

    manager = signed_in("manager")
    answer = manager.post("/setup/types", data=form_of(pump, check_light="yes", **limits))

    assert answer.status_code == 303
    assert play.clinic.house.types["suction-pump"].checks == (
        AskedCheck(check="vacuum", low=Decimal(200), unit="mmHg"),
        AskedCheck(check="light"),
    )
    page = manager.get("/setup/types/suction-pump").get_data(as_text=True)
    assert "suction vacuum: 200 mmHg at least" in page


def test_a_form_that_did_not_ask_leaves_the_checks_as_they_were(
    play: Play, signed_in: SignIn
) -> None:
    pump = play.clinic.house.types["suction-pump"]
    data = form_of(pump)
    del data["asks_checks"]

    signed_in("manager").post("/setup/types", data=data)

    assert play.clinic.house.types["suction-pump"].checks == pump.checks != ()


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"check_vacuum_low": "60", "check_vacuum_high": "20"}, "the lower one stands first"),
        ({"check_vacuum_low": "much"}, "is no number"),
        ({"check_vacuum_low": "60", "check_vacuum_unit": "°C"}, "choose one of kPa"),
    ],
)
def test_limits_that_cannot_be_are_refused(
    play: Play, signed_in: SignIn, more: dict[str, str], says: str
) -> None:
    pump = play.clinic.house.types["suction-pump"]
    data = form_of(pump, check_vacuum="yes", check_vacuum_unit="kPa") | more

    answer = signed_in("manager").post("/setup/types", data=data)

    assert answer.status_code == 400
    assert says in answer.get_data(as_text=True)
    assert play.clinic.house.types["suction-pump"].checks == pump.checks


# --- the machine a type is used with ------------------------------------------------------------

HOOK = {
    "code": "hook",
    "name": "Hook",
    "sort": "instrument",
    "contact": "touches",
    "reuse": "reusable",
    "optic": "",
    "tagged": "yes",
    "heat_proof": "yes",
}


def test_a_manager_says_which_machine_a_type_is_used_with(play: Play, signed_in: SignIn) -> None:
    manager = signed_in("manager")

    answer = manager.post("/setup/types", data={**HOOK, "served_by": "suction-pump"})

    assert answer.status_code == 303
    assert play.clinic.house.kind("hook").served_by == "suction-pump"
    page = signed_in("auditor").get("/setup/types/hook").get_data(as_text=True)
    assert "<dt>Used with</dt><dd>Suction pump: " in page
    manager.post("/setup/types", data=HOOK)
    assert play.clinic.house.kind("hook").served_by == "suction-pump", "the form did not ask"
    manager.post("/setup/types", data={**HOOK, "served_by": ""})
    assert play.clinic.house.kind("hook").served_by == ""


@pytest.mark.parametrize("served_by", ["ring-probe", "nothing-known"])
def test_what_is_no_machine_is_refused(play: Play, signed_in: SignIn, served_by: str) -> None:
    answer = signed_in("manager").post("/setup/types", data={**HOOK, "served_by": served_by})

    assert answer.status_code == 400
    assert "choose one of" in answer.get_data(as_text=True)
    assert play.clinic.house.kind("hook").served_by == ""


def test_the_page_of_checks_says_what_is_used_with_a_machine(play: Play, signed_in: SignIn) -> None:
    play.add("irrigator")
    play.add("scope-wiped")

    page = signed_in("nurse").get("/checks").get_data(as_text=True)

    assert "· used with it: irrigator handpiece, irrigator tip</p>" in page
    assert page.count("used with it") == 1


def test_the_page_of_a_tip_names_the_pump_that_is_not_checked(
    play: Play, signed_in: SignIn
) -> None:
    tip, pump = play.add("single-use-tip"), play.add("suction-pump")

    page = signed_in("nurse").get(f"/things/{tip}").get_data(as_text=True)

    assert "suction vacuum has not been checked for this session" in page
    assert f"{shown_tag(pump)}</a>: its suction vacuum has not been checked" in page


def test_whose_competence_lapsed_says_why_beside_the_button(play: Play, signed_in: SignIn) -> None:
    irrigator, nurse = play.add("irrigator"), signed_in("nurse")
    lapse(play, "nurse", "check")

    pages = [nurse.get(at).get_data(as_text=True) for at in ("/checks", f"/things/{irrigator}")]
    refused = nurse.post(f"/checks/{irrigator}", data=warm())
    answer = nurse.post(f"/checks/{irrigator}", data=warm(all_the_same="alone today"))

    assert all("check ahead of a session” was valid until" in page for page in pages)
    assert (refused.status_code, answer.status_code) == (400, 303)
    assert {tuple(why.code for why in one.lapses) for one in checked(play, irrigator)} == {
        ("competence-lapsed", "competence-reason")
    }
