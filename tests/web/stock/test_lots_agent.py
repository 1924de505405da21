"""What an old packet of wipes holds is told by a manager, on the page of lots."""

from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from equip.desk.act.act import acting
from equip.desk.machines import lots
from equip.facts import Stated
from equip.store.readings import lot_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]


@pytest.mark.parametrize(
    ("role", "status", "agent"), [("manager", 303, "chlorine-dioxide"), ("nurse", 403, "")]
)
def test_a_manager_says_what_is_in_a_packet(
    play: Play, signed_in: SignIn, role: str, status: int, agent: str
) -> None:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        tag = lots.add(act, "wipe", "Wipe", "W-1", stated=Stated(contact_s=60))
    client = signed_in(role)
    before = client.get("/stock/lots").get_data(as_text=True)

    answer = client.post(f"/stock/lots/{tag}/describe", data={"agent": "chlorine-dioxide"})

    assert "nobody told its agent: it stops nothing" in before
    assert ("Say what is in it" in before) == (role == "manager")
    assert answer.status_code == status
    lot = lot_rows.lot_of(play.clinic.store, tag)
    assert lot is not None
    assert lot.stated.agent == agent
    after = client.get("/stock/lots").get_data(as_text=True)
    assert ("stops bacteria and viruses and spores" in after) == (role == "manager")
