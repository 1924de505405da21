"""The sheet for occupational health on its page: by role, by token, unmasked by a manager."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from equip.desk.lookback import injury_sheet
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
PATIENT = "12345601"


@pytest.fixture
def address(play: Play) -> str:
    hook = play.add("hook")
    play.scan(PATIENT, hook, "finish", "start over", hook, "I was hurt")
    entry = injury_sheet.newest_injury(play.clinic, hook)
    assert entry is not None
    return f"/hurt/{entry.site}/{entry.position}"


@pytest.mark.parametrize("role", ["nurse", "manager", "auditor"])
def test_everybody_signed_in_reads_the_sheet_and_no_reference_stands_on_it(
    signed_in: SignIn, play: Play, address: str, role: str
) -> None:
    client = signed_in(role)
    page, paper = client.get(address), client.get(f"{address}/sheet.pdf")

    assert (page.status_code, paper.status_code) == (200, 200)
    assert paper.data.startswith(b"%PDF")
    assert PATIENT.encode() not in page.data
    assert "For occupational health" in page.data.decode()
    assert (b"Look up who they are" in page.data) == (role == "manager")


def test_nobody_reads_it_without_signing_in(signed_in: SignIn, play: Play, address: str) -> None:
    client = signed_in("nurse").application.test_client()

    assert b"For occupational health" not in client.get(address).data


@pytest.mark.parametrize("role", ["nurse", "auditor"])
def test_only_a_manager_looks_up_who_they_are(signed_in: SignIn, address: str, role: str) -> None:
    given = {"reason": "asked for", "how": "screen"}

    assert signed_in(role).post(f"{address}/unmask", data=given).status_code == 403


def test_a_manager_looks_up_who_they_are_on_the_screen_or_on_paper(
    signed_in: SignIn, address: str
) -> None:
    client = signed_in("manager")
    page = client.post(f"{address}/unmask", data={"reason": "asked for", "how": "screen"})
    paper = client.post(f"{address}/unmask", data={"reason": "asked for", "how": "paper"})
    without = client.post(f"{address}/unmask", data={"reason": " ", "how": "screen"})

    assert PATIENT in page.data.decode()
    assert paper.data.startswith(b"%PDF")
    assert without.status_code == 400
    assert PATIENT.encode() not in client.get(address).data


def test_the_bench_leads_to_the_sheet(signed_in: SignIn, play: Play) -> None:
    hook = play.add("hook")
    client = signed_in("nurse")
    client.post("/bench", data={"text": hook})
    page = client.post("/bench", data={"text": "I was hurt"}, headers={"X-Fragment": "1"})
    leads = client.get(f"/hurt/{hook}")

    assert f"/hurt/{hook}" in page.data.decode()
    assert leads.status_code == 303
    assert client.get(leads.headers["Location"]).status_code == 200


def test_an_entry_that_is_no_injury_has_no_sheet(signed_in: SignIn, address: str) -> None:
    client = signed_in("auditor")

    assert client.get("/hurt/TEST/1").status_code == 404
    assert client.get("/hurt/E999999999").status_code == 404
