"""Proof files from their page: by whom, about what, with names or without."""

from collections.abc import Callable

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from equip.desk.act.act import acting
from equip.desk.lookback.cases import case_acts
from equip.desk.lookback.proof import proof_file
from equip.store.readings import load_rows
from tests.support.playing import Play
from tests.support.proofs import faults, files_in

SignIn = Callable[[str], FlaskClient]
FIRST, SECOND = "12345601", "12345602"


@pytest.fixture
def load(play: Play) -> str:
    machine, hook = play.add("steriliser-vacuum"), play.add("hook")
    for patient in (FIRST, SECOND):
        pack = play.sterile_pack(machine, hook)
        play.scan("start over", patient, pack, "finish")
    found = load_rows.last_load(play.clinic.store, machine)
    assert found is not None
    return found.load


@pytest.fixture
def case(play: Play, load: str) -> str:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        return case_acts.raise_doubt(act, [load], "the strip faded")


def asked(client: FlaskClient, about: str, **more: str) -> TestResponse:
    return client.post("/proofs", data={"about": about, **more})


@pytest.mark.parametrize("role", ["nurse", "manager", "auditor"])
def test_whoever_is_signed_in_gets_a_proof_file_that_verifies(
    signed_in: SignIn, play: Play, load: str, case: str, role: str
) -> None:
    client = signed_in(role)
    for about in (load, case):
        answer = asked(client, about)

        assert (answer.status_code, answer.mimetype) == (200, "application/zip")
        (told, *_) = proof_file.given_before(play.clinic, about)
        assert told.by == play.people[role]
        assert told.digest[:12] in answer.headers["Content-Disposition"]
        found = files_in(answer.data)
        assert faults(found, told.digest) == []
        assert FIRST.encode() not in answer.data
        assert "patients.csv" not in found
        page = client.get(f"/proofs?about={about}").data.decode()
        assert told.digest in page


def test_nobody_gets_one_without_signing_in(app: Flask, play: Play, load: str) -> None:
    client = app.test_client()

    before = play.clinic.store.rows("SELECT COUNT(*) FROM ledger")

    assert b'name="secret"' in asked(client, load).data
    assert b"Given before" not in client.get(f"/proofs?about={load}").data
    assert play.clinic.store.rows("SELECT COUNT(*) FROM ledger") == before


def test_only_a_manager_names_patients_and_only_with_a_reason(
    signed_in: SignIn, play: Play, case: str
) -> None:
    named = {"unmask": "yes", "reason": "they are told today"}
    before = play.clinic.store.rows("SELECT COUNT(*) FROM ledger")
    for role in ("nurse", "auditor"):
        assert asked(signed_in(role), case, **named).status_code == 403
        assert b"Name the patients" not in signed_in(role).get(f"/proofs?about={case}").data
    manager = signed_in("manager")
    assert asked(manager, case, unmask="yes", reason=" ").status_code == 400
    assert play.clinic.store.rows("SELECT COUNT(*) FROM ledger") == before

    answer = asked(manager, case, **named)

    found = files_in(answer.data)
    assert SECOND.encode() in found["patients.csv"]
    assert SECOND.encode() in found["answer.json"]
    assert faults(found) == []
    assert b"patients named: they are told today" in manager.get(f"/proofs?about={case}").data


@pytest.mark.parametrize("about", ["case-00000000", "L000000019", "E000000019", "nonsense", "é"])
def test_what_is_no_look_back_and_no_load_is_not_here(signed_in: SignIn, about: str) -> None:
    client = signed_in("manager")

    assert client.get(f"/proofs?about={about}").status_code == 404
    assert asked(client, about).status_code == 400


def test_a_look_back_and_a_load_lead_to_it(signed_in: SignIn, load: str, case: str) -> None:
    client = signed_in("auditor")

    assert f"/proofs?about={case}".encode() in client.get(f"/look-backs/{case}").data
    assert f"/proofs?about={load}".encode() in client.get(f"/loads/{load}").data
