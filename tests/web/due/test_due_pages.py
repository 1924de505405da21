"""The pages of duties: what a line says when something is overdue, what a form may not say."""

from collections.abc import Callable
from datetime import date, timedelta
from html import unescape

import pytest
from flask.testing import FlaskClient

from equip.desk.act.act import acting
from equip.desk.people import competence
from equip.desk.upkeep import duties, duty_acts
from equip.store.readings import duty_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
TODAY = date(2026, 3, 4)


def test_an_overdue_line_names_what_it_stops_what_not_who_may_override_and_what_was_used(
    play: Play, signed_in: SignIn
) -> None:
    pump = play.add("suction-pump")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, pump, "service", date(2026, 3, 1), every_months=12, grounds=True)
    play.scan("123456", pump, "finish")

    page = " ".join(signed_in("auditor").get("/due").text.split())

    assert "It may not be used until this is done." in page
    assert "It is not put in quarantine for this" in page
    assert "For a use, with a reason: Mo Reed." in page
    assert "Used while overdue: 1 use." in page
    assert "1 use while service was overdue" in signed_in("nurse").get(f"/due/things/{pump}").text


def test_a_duty_is_set_by_a_form_with_all_its_terms_and_a_meter_is_read(
    play: Play, signed_in: SignIn
) -> None:
    pump, nurse = play.add("suction-pump"), signed_in("nurse")
    form = {
        "item": pump,
        "duty": "Filter",
        "every_months": "6",
        "anchor": "2026-09-01",
        "every_count": "50",
        "counts": "hours",
        "already": "10",
        "tolerance_days": "5",
        "shift": "after",
        "after_move_days": "0",
        "cost": "12,50",
        "source": "its manual",
    }

    assert nurse.post("/due/set", data=form).status_code == 303
    for reading in ("100", "130,5"):
        play.clock.passes(minutes=1)
        answer = nurse.post(
            "/due/meter", data={"item": pump, "meter": "hours", "reading": reading, "how": "read"}
        )
        assert answer.status_code == 303

    (one,) = duties.due_of(play.clinic, pump, TODAY)
    assert one.counted_says == "40 of 50 hours"
    page = nurse.get(f"/due/things/{pump}").text
    assert "Every 6 months, or every 50 hours by its meter, whichever comes first" in page
    assert "It costs 12.50" in page and "Source: its manual" in page


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"anchor": "2026-02-30", "every_months": "1"}, "is no date"),
        ({"anchor": "2026-02-29", "every_months": "1"}, "“2026-02-29” is no date"),
        ({"anchor": "2026-04-31", "every_months": "1"}, "“2026-04-31” is no date"),
        ({"every_count": "5", "counts": "uses", "already": "-1"}, "no whole number"),
        ({"every_months": "-1"}, "no whole number"),
        ({"every_count": "-5", "counts": "uses"}, "no whole number"),
        ({"every_months": "1", "cost": "-3"}, "below nought"),
        ({"every_months": "1", "shift": "sideways"}, "choose one of"),
        ({}, "Say how often"),
    ],
)
def test_a_form_that_makes_no_sense_is_answered_with_a_sentence(
    play: Play, signed_in: SignIn, more: dict[str, str], says: str
) -> None:
    pump = play.add("suction-pump")

    answer = signed_in("nurse").post("/due/set", data={"item": pump, "duty": "x"} | more)

    assert answer.status_code == 400
    assert says in answer.text


def test_only_a_manager_sets_or_drops_the_duties_of_a_type(play: Play, signed_in: SignIn) -> None:
    pump = play.add("suction-pump")
    form = {"duty": "service", "anchor": "2026-05-31", "every_months": "12"}

    assert signed_in("nurse").post("/due/types/suction-pump", data=form).status_code == 403
    assert signed_in("manager").post("/due/types/suction-pump", data=form).status_code == 303
    assert [d.next_due for d in duty_rows.duties_of(play.clinic.store, pump)] == [date(2026, 5, 31)]
    dropped = {"type": "suction-pump", "duty": "service", "why": "leased"}
    assert signed_in("nurse").post("/due/drop", data=dropped).status_code == 403
    assert signed_in("manager").post("/due/drop", data=dropped).status_code == 303
    assert duty_rows.duties_of(play.clinic.store, pump) == []


def test_work_of_a_day_to_come_is_refused_on_the_page(play: Play, signed_in: SignIn) -> None:
    pump = play.add("suction-pump")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, pump, "service", date(2026, 3, 31), every_months=1)
    tomorrow = (TODAY + timedelta(days=1)).isoformat()

    answer = signed_in("nurse").post(
        "/due/met", data={"item": pump, "duty": "service", "done": tomorrow}
    )

    assert answer.status_code == 400 and "not come yet" in answer.text


def test_a_long_list_goes_on_over_the_page_and_says_how_many_there_are(
    play: Play, signed_in: SignIn
) -> None:
    pump, auditor = play.add("suction-pump"), signed_in("auditor")
    with acting(play.clinic, by=play.people["manager"]) as act:
        for number in range(101):
            duty_acts.set_duty(act, pump, f"check {number:03}", TODAY, every_months=12)

    first = auditor.get("/due").text
    assert "0 overdue, 101 due now, 0 in the next four weeks; 101 in all." in first
    assert "Check 099" in first and "Check 100" not in first
    links = [part.split('"')[0] for part in first.split('href="') if "onward=" in part[:40]]
    second = auditor.get(unescape(links[0])).text
    assert "Check 100" in second and "Check 099" not in second and "From the beginning" in second
    assert auditor.get("/due?onward=soon").status_code == 400


def test_a_competence_that_lapsed_is_a_line_that_leads_to_the_person(
    play: Play, signed_in: SignIn
) -> None:
    nurse = play.people["nurse"]
    with acting(play.clinic, by=play.people["manager"]) as act:
        last = TODAY - timedelta(days=3)
        competence.assess(act, nurse, "release", "competent", last, until=last, outside="A trainer")

    reader = signed_in("auditor")
    for path in ("/due", "/due/year", "/due/month"):
        assert f'<a href="/setup/people/{nurse}">Nell Ash</a>' in reader.get(path).text
    page = " ".join(reader.get("/due").text.split())
    assert "<strong>Competence to release loads</strong> of" in page and "3 days over." in page
    assert "Leave for some days, with a reason: Mo Reed." in page
