"""Look-backs on their pages: opened by a nurse, decided by a manager, read by an auditor."""

import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from equip import facts
from equip.desk.lookback.cases import case_acts
from equip.store.fold.exposures import tallies
from equip.store.readings import case_rows, item_rows, load_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
FIRST, SECOND = "12345601", "12345602"


def words(answer: object) -> str:
    text = re.sub(r"<[^>]+>", " ", answer.data.decode())  # type: ignore[attr-defined]
    return " ".join(text.split())


@pytest.fixture
def load(play: Play) -> str:
    machine, hook = play.add("steriliser-vacuum"), play.add("hook")
    for patient in (FIRST, SECOND):
        pack = play.sterile_pack(machine, hook)
        play.scan("start over", patient, pack, "finish")
    found = load_rows.last_load(play.clinic.store, machine)
    assert found is not None
    return found.load


def opened(client: FlaskClient, load: str) -> str:
    answer = client.post(
        "/look-backs", data={"evidence": "load", "about": load, "loads": load, "why": "damp"}
    )
    assert answer.status_code == 303
    return str(answer.headers["Location"]).rpartition("/")[2]


def test_a_nurse_opens_contains_and_lists_and_a_manager_decides(
    signed_in: SignIn, play: Play, load: str
) -> None:
    nurse, manager = signed_in("nurse"), signed_in("manager")
    proposed = words(nurse.get(f"/look-backs/new?evidence=load&about={load}"))
    case = opened(nurse, load)
    nurse.post(f"/look-backs/{case}/contain", data={"how": "clean-it-now"})
    nurse.post(f"/look-backs/{case}/list")
    decision = {"decision": "the patient is told", "reason": "policy"}
    refused = nurse.post(f"/look-backs/{case}/decide", data=decision)
    told = nurse.post(f"/look-backs/{case}/note", data={"step": "tell", "says": "nobody"})

    page = words(manager.get(f"/look-backs/{case}"))
    manager.post(f"/look-backs/{case}/decide", data=decision)
    manager.post(f"/look-backs/{case}/note", data={"step": "tell", "says": "by telephone"})
    manager.post(f"/look-backs/{case}/close", data={"reason": "nothing is left"})
    after = words(manager.get(f"/look-backs/{case}"))

    assert "Proposed" in proposed and "passed by its log" in proposed
    assert (refused.status_code, told.status_code) == (403, 403)
    assert "1 use on 1 patient may have passed something on; 1 not decided" in page
    assert "● certain" in page
    assert "Hook E 0000 " in page
    assert "Nothing has changed since." in page
    assert SECOND not in page and FIRST not in page
    assert "Closed" in after and "not decided" not in after
    assert tallies(play.clinic.store).get("open", 0) == 0


def test_what_was_not_ticked_is_not_in_doubt_and_is_written_down(
    signed_in: SignIn, play: Play, load: str
) -> None:
    machine = load_rows.load_of(play.clinic.store, load)
    assert machine is not None
    first = load_rows.loads_of(play.clinic.store, machine.machine)[0].load
    answer = signed_in("nurse").post(
        "/look-backs",
        data={
            "evidence": "machine",
            "about": machine.machine,
            "since": "2026-03-01",
            "loads": load,
            "why": "only the last",
        },
    )

    case = case_acts.case_of(play.clinic, answer.headers["Location"].rpartition("/")[2])

    assert case is not None
    assert (case.loads, case.left_out) == ((load,), (first,))


def test_what_is_not_proposed_cannot_be_slipped_in(
    signed_in: SignIn, play: Play, load: str
) -> None:
    answer = signed_in("nurse").post(
        "/look-backs",
        data={"evidence": "load", "about": load, "loads": "L999999999", "why": "odd"},
    )

    assert answer.status_code == 400
    assert case_rows.doubts(play.clinic.store) == []


@pytest.mark.parametrize("role", ["auditor", "nurse"])
@pytest.mark.parametrize("step", ["scope", "risk", "decide", "close"])
def test_what_is_for_the_manager_is_for_nobody_else(
    signed_in: SignIn, load: str, role: str, step: str
) -> None:
    case = opened(signed_in("nurse"), load)

    answer = signed_in(role).post(
        f"/look-backs/{case}/{step}",
        data={"reason": "r", "decision": "d", "category": "A", "loads": load},
    )

    assert answer.status_code == 403


def test_an_auditor_reads_a_look_back_and_changes_nothing(
    signed_in: SignIn, play: Play, load: str
) -> None:
    case = opened(signed_in("nurse"), load)
    auditor = signed_in("auditor")
    before = play.clinic.store.rows("SELECT COUNT(*) FROM ledger")

    page = auditor.get(f"/look-backs/{case}").text
    answers = [
        auditor.post(f"/look-backs/{case}/{step}", data={"how": "bag-it"}).status_code
        for step in ("contain", "list", "let-out")
    ]

    assert f"/look-backs/{case}/" not in page
    assert answers == [403] * 3
    assert auditor.post("/look-backs/drill").status_code == 403
    assert play.clinic.store.rows("SELECT COUNT(*) FROM ledger") == before


def test_a_drill_says_how_long_and_how_much_is_traceable_and_stands_in_history(
    signed_in: SignIn, play: Play, load: str
) -> None:
    client = signed_in("nurse")

    page = words(client.post("/look-backs/drill", data={"load": load}))
    by_chance = words(client.post("/look-backs/drill"))
    history = words(client.get("/history"))

    assert "1 use on 1 patient" in page
    assert "100.0 % of the" in page
    assert "Nothing was kept back" in page
    assert "taken by chance" in by_chance
    assert ", by chance:" in history
    assert item_rows.standings_held(play.clinic.store) == []
    kinds = [type(entry.fact) for entry in case_rows.drills(play.clinic.store)]
    assert kinds == [facts.DrillRun] * 2


@pytest.mark.parametrize(
    "asked",
    [
        "evidence=dream&about=x",
        "evidence=load",
        "evidence=load&about=L999999999",
        "evidence=patient&about=t000000000000",
        "evidence=sensor&about=TEST/9999999",
        "evidence=sensor&about=elsewhere",
        "evidence=machine-test&about=E1&more=leak-rate",
        "evidence=lot&about=T999999999",
        "evidence=person&about=B999999999&since=tomorrow",
        "evidence=person&about=B999999999&since=2026-03-05&until=2026-03-01",
        "evidence=water&about=",
        "evidence=place&about=R999999999&since=2026-03-01",
    ],
)
def test_a_question_that_makes_no_sense_is_answered_with_a_sentence(
    signed_in: SignIn, asked: str
) -> None:
    answer = signed_in("manager").get(f"/look-backs/new?{asked}")

    assert answer.status_code in (200, 400)
    assert "Open the look-back" not in answer.text
