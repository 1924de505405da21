"""The page of an irrigator: its last disinfection, whom it met since, where that leads."""

from collections.abc import Callable

from flask.testing import FlaskClient

from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]


def text_of(client: FlaskClient, page: str) -> str:
    answer = client.get(page)
    assert answer.status_code == 200
    return " ".join(answer.get_data(as_text=True).split())


def test_the_page_of_an_irrigator_lists_its_patients_since_the_last_disinfection(
    signed_in: SignIn, play: Play
) -> None:
    irrigator = play.add("irrigator")
    play.clock.passes(hours=1)
    nurse = signed_in("nurse")
    assert "No effective disinfection of its waterline is in the book." in text_of(
        nurse, f"/things/{irrigator}"
    )

    play.checked(irrigator)
    play.scan("123451", irrigator, "finish", "123452", irrigator, "finish")

    page = text_of(nurse, f"/things/{irrigator}")
    assert "It holds for today. 2 patients since then, who share it." in page
    assert page.count("used on patient") == 2
    assert "123451" not in page
    assert f"evidence=water&amp;about={irrigator}" in page
    assert nurse.get(f"/look-backs/new?evidence=water&about={irrigator}").status_code == 200


def test_a_manager_sets_for_how_long_the_gate_of_a_machine_holds(
    signed_in: SignIn, play: Play
) -> None:
    manager = signed_in("manager")
    page = manager.get("/setup/types/irrigator").get_data(as_text=True)
    form = {
        "code": "irrigator",
        "name": "Irrigator",
        "sort": "machine",
        "contact": "water-or-air",
        "reuse": "reusable",
        "optic": "",
        "tagged": "yes",
        "step_disinfect": "gate",
        "step_rinse": "needed",
        "gate_holds": "use",
    }

    assert "for the day, for all its patients" in page
    assert manager.post("/setup/types", data=form).status_code == 303
    assert play.clinic.house.types["irrigator"].holds == "use"
    assert manager.post("/setup/types", data=form | {"gate_holds": "day"}).status_code == 303
    assert play.clinic.house.types["irrigator"].holds == "day"


def test_a_lot_for_a_waterline_comes_in_by_the_form_with_its_strength(
    signed_in: SignIn, play: Play
) -> None:
    nurse = signed_in("nurse")
    form = {"sort": "waterline", "name": "Tablets", "number": "W-1", "contact_s": "600"}
    form["agent"] = "hypochlorite-0.1"

    assert nurse.post("/stock/lots", data=form).status_code == 400
    assert nurse.post("/stock/lots", data=form | {"percent": "0,1"}).status_code == 303
    assert "waterline disinfectant" in text_of(nurse, "/stock/lots")
