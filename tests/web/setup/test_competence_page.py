"""Setup, People: how somebody stands, an assessment recorded, leave given."""

from collections.abc import Callable
from datetime import timedelta
from hashlib import sha256
from io import BytesIO

from flask.testing import FlaskClient

from equip.store.readings import load_rows, people_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]


def test_a_manager_records_an_assessment_and_the_page_shows_it(
    signed_in: SignIn, play: Play
) -> None:
    client, tag = signed_in("manager"), play.people["nurse"]
    since = play.clinic.house.today(play.clock.now)

    answer = client.post(
        f"/setup/people/{tag}/assessed",
        data={
            "task": ["clean", "inspect"],
            "outcome": "competent",
            "since": str(since),
            "assessor": play.people["manager"],
            "evidence": "watched ten times",
            "certificate": (BytesIO(b"a certificate"), "c.pdf"),
        },
    )
    page = client.get(f"/setup/people/{tag}").get_data(as_text=True)

    assert answer.status_code == 303
    kept = people_rows.competences(play.clinic.store)
    assert [one.task for one in kept] == ["clean", "inspect"]
    assert {one.file for one in kept} == {sha256(b"a certificate").hexdigest()}
    assert "watched ten times" in page and "Mo Reed" in page


def test_only_a_manager_records_an_assessment(signed_in: SignIn, play: Play) -> None:
    tag = play.people["trainee"]
    for role in ("nurse", "auditor"):
        client = signed_in(role)
        assert client.get(f"/setup/people/{tag}").status_code == 200
        assert client.post(f"/setup/people/{tag}/assessed", data={}).status_code == 403
    assert people_rows.competences(play.clinic.store) == ()


def test_without_a_task_nothing_is_recorded_and_the_page_says_why(
    signed_in: SignIn, play: Play
) -> None:
    today = str(play.clinic.house.today(play.clock.now))
    data = {"outcome": "competent", "since": today, "outside": "A trainer"}

    answer = signed_in("manager").post(f"/setup/people/{play.people['nurse']}/assessed", data=data)

    assert answer.status_code in (400, 409, 422)
    assert "task" in answer.get_data(as_text=True)


def test_people_lists_what_lapses_and_leave_is_given_there(signed_in: SignIn, play: Play) -> None:
    client, tag = signed_in("manager"), play.people["nurse"]
    today = play.clinic.house.today(play.clock.now)
    gone = str(today - timedelta(days=1))
    client.post(
        f"/setup/people/{tag}/assessed",
        data={
            "task": "release",
            "outcome": "competent",
            "since": gone,
            "until": gone,
            "outside": "A trainer",
        },
    )

    assert "<strong>lapsed</strong>" in client.get("/setup/people").get_data(as_text=True)
    load = play.run(play.add("steriliser-vacuum"), play.packed(play.add("hook")))
    page = signed_in("nurse").get(f"/loads/{load}").get_data(as_text=True)
    assert "was valid until" in page and "all but what is held back" not in page

    answer = client.post(
        f"/setup/people/{tag}/allowed",
        data={"task": "release", "until": str(today), "reason": "assessed on Friday"},
    )
    assert answer.status_code == 303
    page = signed_in("nurse").get(f"/loads/{load}").get_data(as_text=True)
    assert "all but what is held back" in page


def test_a_nurse_without_authority_gives_no_leave(signed_in: SignIn, play: Play) -> None:
    data = {"task": "release", "until": "2026-01-01", "reason": "please"}

    answer = signed_in("nurse").post(f"/setup/people/{play.people['trainee']}/allowed", data=data)

    assert answer.status_code >= 400
    assert people_rows.competences(play.clinic.store) == ()


def test_nobody_by_that_badge_has_a_page(signed_in: SignIn) -> None:
    assert signed_in("nurse").get("/setup/people/B000000998").status_code == 404


def test_the_pages_ask_why_beside_the_button_and_keep_it(signed_in: SignIn, play: Play) -> None:
    client, nurse = signed_in("manager"), play.people["nurse"]
    gone = str(play.clinic.house.today(play.clock.now) - timedelta(days=1))
    client.post(
        f"/setup/people/{nurse}/assessed",
        data={
            "task": ["run", "sign"],
            "outcome": "competent",
            "since": gone,
            "until": gone,
            "outside": "A trainer",
        },
    )
    machine, pack = play.add("steriliser-vacuum"), play.packed(play.add("hook"))
    play.scan("start over", machine, pack)
    play.keeps_sheets = False
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    nurse_at = signed_in("nurse")

    page = nurse_at.get(f"/loads/{load.load}").get_data(as_text=True)
    assert 'name="all_the_same"' in page and "was valid until" in page
    answer = nurse_at.post(f"/loads/{load.load}/start", data={})
    assert answer.status_code != 303
    still = load_rows.load_of(play.clinic.store, load.load)
    assert still is not None and still.state == "filling"
