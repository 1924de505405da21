"""The second look at what one person released: on the page of the load, and among the loads."""

from collections.abc import Callable
from datetime import date

from flask.testing import FlaskClient

from equip.desk.act.act import acting
from equip.desk.loads import second_reader
from equip.desk.loads.end import ReadOff, end_load
from equip.desk.loads.release import release_load
from equip.desk.register import items
from equip.store.readings import load_rows
from tests.support import pictures
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
STEAM = {"lowest_c": "134.4", "highest_c": "135.1", "hold_min": "3.5", "completed": "yes"}


def released_alone(play: Play) -> str:
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, "release.alone", "true", "one nurse on Fridays", date(2026, 1, 1))
    machine = play.add("steriliser-vacuum")
    play.scan("start over", machine, play.add("hook"), "start the load")
    load = load_rows.open_loads(play.clinic.store)[0]
    photo = second_reader.looked_at(play.clinic, pictures.jpeg(), "strip.jpg")
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, ReadOff(STEAM, photo))
    judged = load_rows.load_of(play.clinic.store, load.load)
    assert judged is not None
    with acting(play.clinic, by=play.people["nurse"]) as act:
        release_load(act, judged, play.people["nurse"])
    return load.load


def test_somebody_else_looks_at_it_without_being_shown_what_was_typed(
    play: Play, signed_in: SignIn
) -> None:
    tag = released_alone(play)
    nurse = signed_in("nurse").get(f"/loads/{tag}").get_data(as_text=True)
    manager = signed_in("manager")
    page = manager.get(f"/loads/{tag}").get_data(as_text=True)
    listed = manager.get("/loads").get_data(as_text=True)

    answer = manager.post(f"/loads/{tag}/look", data=STEAM)

    assert "Somebody else signs in as themselves" in nurse
    assert "This is what I read" in page
    assert "134.4" not in page
    assert "Released by one person" in listed
    assert answer.status_code == 303
    after = manager.get(f"/loads/{tag}").get_data(as_text=True)
    assert "A second look" not in after
    assert "Released by one person" not in manager.get("/loads").get_data(as_text=True)


def test_whoever_released_it_is_refused(play: Play, signed_in: SignIn) -> None:
    tag = released_alone(play)

    answer = signed_in("nurse").post(f"/loads/{tag}/look", data=STEAM)

    assert answer.status_code == 400
    assert "Somebody else must look at it" in answer.get_data(as_text=True)
