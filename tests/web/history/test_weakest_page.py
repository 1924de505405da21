"""The weakest link on the page of a look-back and in History, for everybody who may read."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from equip.desk.act.act import acting
from equip.desk.lookback.cases.case_acts import raise_doubt
from equip.desk.post import tick
from equip.scan import show_tag
from equip.store.readings import case_rows, load_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
ROLES = ["nurse", "manager", "auditor"]


@pytest.fixture
def hook(play: Play) -> str:
    """Declared fit on going live, used, sterilised, used again: its first use is a gap."""
    machine, hook = play.add("steriliser-vacuum"), play.add("hook", "go-live")
    play.scan("12345601", hook, "finish", "start over")
    play.scan("start over", "12345602", play.sterile_pack(machine, hook), "finish", "start over")
    return hook


def load_of(play: Play) -> str:
    return load_rows.recent_loads(play.clinic.store, 1)[0].load


@pytest.mark.parametrize("role", ROLES)
def test_the_page_of_a_look_back_says_what_to_find_out_next(
    signed_in: SignIn, play: Play, hook: str, role: str
) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        case = raise_doubt(act, [load_of(play)], "damp")

    page = signed_in(role).get(f"/look-backs/{case}").data.decode()

    assert "What to find out next" in page
    assert "What did Mo Reed declare things fit by" in page
    assert "that settles 1 of 1 patient" in page


@pytest.mark.parametrize("role", ROLES)
def test_history_shows_the_rehearsal_of_the_night_once_there_was_one(
    signed_in: SignIn, play: Play, hook: str, role: str
) -> None:
    before = signed_in(role).get("/history").data.decode()
    play.clock.now = (play.clock.now + timedelta(days=1)).replace(hour=3)
    tick.tick(play.clinic, None, lambda now: None)

    after = signed_in(role).get("/history").data.decode()

    assert "Rehearsal of the night" not in before
    assert "Rehearsal of the night" in after
    assert show_tag(load_of(play)).replace(" ", "\N{NO-BREAK SPACE}") in after
    assert "Weakest link: What did Mo Reed declare things fit by" in after
    assert "12345601" not in after


def test_a_pack_whose_indicator_did_not_turn_leads_to_what_would_be_in_doubt(
    signed_in: SignIn, play: Play
) -> None:
    machine, hook = play.add("steriliser-vacuum"), play.add("hook")
    pack = play.sterile_pack(machine, hook)
    client = signed_in("nurse")
    client.post("/bench", data={"text": "start over"})
    client.post("/bench", data={"text": pack})
    answer = client.post(
        "/bench", data={"text": "indicator not turned"}, headers={"X-Fragment": "1"}
    ).data.decode()

    link = f"/look-backs/new?evidence=load&amp;about={load_of(play)}"
    assert link in answer
    assert client.get(link.replace("&amp;", "&")).status_code == 200
    assert case_rows.doubts(play.clinic.store) == []
