"""The questions on a load's page: who sees them, who answers, what a scan says, what is shown."""

from collections.abc import Callable
from io import BytesIO

import pytest
from flask.testing import FlaskClient

from equip.demo.cycles import steam_log
from equip.desk.act.act import acting
from equip.desk.cycles import reference_questions
from equip.store.kept.people import open_session
from equip.store.readings import load_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]


@pytest.fixture
def steriliser(play: Play) -> str:
    return play.add("steriliser-vacuum")


@pytest.fixture
def reference(play: Play, steriliser: str) -> str:
    load = play.released(steriliser, play.add("hook"))
    found = load_rows.load_of(play.clinic.store, load)
    assert found is not None
    with acting(play.clinic, by=play.people["manager"]) as act:
        reference_questions.choose(act, found, "as validated")
    return load


@pytest.fixture
def odd(play: Play, signed_in: SignIn, steriliser: str, reference: str) -> str:
    """A load that passed and heated for longer than the reference, its log handed in by page."""
    play.scan("start over", steriliser, play.add("ring-probe"), "start the load")
    load = load_rows.load_on(play.clinic.store, steriliser)
    assert load is not None
    signed_in("nurse").post(
        f"/loads/{load.load}/end",
        data={"cycle_no": "412", "log": (BytesIO(steam_log(3, heat_s=300)), "412.csv")},
        content_type="multipart/form-data",
    )
    return load.load


def state(play: Play, tag: str) -> str:
    load = load_rows.load_of(play.clinic.store, tag)
    return load.state if load else ""


@pytest.mark.parametrize("role", ["nurse", "trainee", "manager", "auditor"])
def test_everybody_reads_what_is_asked_and_only_who_may_release_has_a_field(
    signed_in: SignIn, odd: str, reference: str, role: str
) -> None:
    page = signed_in(role).get(f"/loads/{odd}").data.decode()

    assert "Asked before it is released" in page
    assert "Was more in it, were the things colder" in page
    assert ('name="answer"' in page) == (role in ("nurse", "manager"))
    assert ("Keep this as the machine’s reference cycle" in page) == (role == "manager")
    assert "Compared with the reference cycle" in page
    assert reference in page


def test_without_an_answer_the_page_releases_nothing(
    signed_in: SignIn, play: Play, odd: str
) -> None:
    answer = signed_in("nurse").post(
        f"/loads/{odd}/release", data={"asked": "likeness-heat-up", "answer": "  "}
    )

    assert answer.status_code == 400
    assert b"answer on its page under Loads" in answer.data
    assert state(play, odd) == "judged"


def test_an_answered_question_is_kept_and_shown_to_the_auditor(
    signed_in: SignIn, play: Play, odd: str
) -> None:
    answer = signed_in("nurse").post(
        f"/loads/{odd}/release",
        data={"asked": "likeness-heat-up", "answer": "The trays came from the fridge <b>"},
    )

    page = signed_in("auditor").get(f"/loads/{odd}").data.decode()
    book = signed_in("auditor").get(f"/history/{odd}").data.decode()
    assert answer.status_code == 303
    assert state(play, odd) == "released"
    assert "Asked when it was released" in page
    assert "Nell Ash found:</strong> The trays came from the fridge &lt;b&gt;" in page
    assert "Asked before it is released" not in page
    assert "Found: The trays came from the fridge" in book


def test_the_scan_of_a_bench_is_refused_with_the_way_to_the_page(
    signed_in: SignIn, play: Play, odd: str
) -> None:
    client = signed_in("nurse")

    for text in (odd, "release"):
        page = client.post("/bench", data={"text": text}, follow_redirects=True).data.decode()

    assert "answer on its page under Loads" in page
    assert state(play, odd) == "judged"


def test_the_api_refuses_it_alike(signed_in: SignIn, play: Play, odd: str) -> None:
    key = open_session(play.clinic.store, play.people["nurse"], "key", play.clock.now)
    client = signed_in("nurse").application.test_client()

    for number, text in enumerate((odd, "release")):
        reply = client.post(
            "/api/scans",
            json={"id": f"scan-{number:04}", "bench": "bench 9", "text": text},
            headers={"Authorization": f"Bearer {key}"},
        )
        assert reply.status_code == 200

    assert "answer on its page under Loads" in reply.get_data(as_text=True)
    assert state(play, odd) == "judged"


def test_a_manager_keeps_a_cycle_as_the_reference_from_its_page(
    signed_in: SignIn, odd: str
) -> None:
    client = signed_in("manager")

    answer = client.post(f"/loads/{odd}/reference", data={"reason": "validated on Monday"})

    page = client.get(f"/loads/{odd}").data.decode()
    assert answer.status_code == 303
    assert "This cycle is the machine’s reference for steam-134" in page
    assert "Asked before it is released" not in page


@pytest.mark.parametrize("role", ["nurse", "trainee", "auditor"])
def test_nobody_else_does(signed_in: SignIn, play: Play, odd: str, role: str) -> None:
    before = play.clinic.store.rows("SELECT COUNT(*) FROM ledger")

    answer = signed_in(role).post(f"/loads/{odd}/reference", data={"reason": "quieter so"})

    assert answer.status_code == 403
    assert play.clinic.store.rows("SELECT COUNT(*) FROM ledger") == before


def test_cycles_that_nobody_recorded_are_shown_on_the_load_and_under_loads(
    signed_in: SignIn, odd: str, reference: str
) -> None:
    """The reference was cycle 1, this load is cycle 412."""
    client = signed_in("nurse")

    page = client.get(f"/loads/{odd}").data.decode()
    first = client.get(f"/loads/{reference}").data.decode()
    under = client.get("/loads").data.decode()

    assert "cycles 2 to 411, which the machine ran just before this one" in page
    assert "just before this one" not in first
    assert "410 nobody recorded" in under


def test_the_method_is_explained_with_its_rules(signed_in: SignIn) -> None:
    page = signed_in("auditor").get("/setup/method").data.decode()

    assert "Beside the reference cycle" in page
    assert "likeness.time-share" in page
    assert "load-size.fewest-cycles" in page
