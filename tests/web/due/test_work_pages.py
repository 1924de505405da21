"""Work on its pages: by whom, the statement on paper, the certificate given back as it came."""

import io
from collections.abc import Callable

from flask.testing import FlaskClient
from pypdf import PdfReader

from equip.store.readings import work_rows
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
PAPER = b"%PDF-1.4\ninvented\n%%EOF\n"


def test_work_on_the_pages_from_raised_to_signed_off(play: Play, signed_in: SignIn) -> None:
    pump = play.add("suction-pump", serial="S-77")
    nurse, manager = signed_in("nurse"), signed_in("manager")
    play.clock.passes(minutes=1)
    raised = nurse.post(
        "/due/work", data={"item": pump, "what": "it whistles", "out_of_use": "yes"}
    )
    at = raised.headers["Location"]

    def post(step: str, client: FlaskClient = nurse, **form: object) -> int:
        play.clock.passes(minutes=1)
        return client.post(f"{at}/{step}", data=form).status_code

    assert post("assign", firm="Bench and Sons") == 303
    assert post("send", receiver="Bench and Sons") == 400  # nothing recorded, nothing stated
    assert post("send", receiver="Bench and Sons", declared="wiped outside") == 303
    assert post("receive") == 303
    form = {"done": "2026-03-04", "found": "a worn seal", "left": "tight", "cost": "85,50"}
    assert post("write-up", **form, certificate=(io.BytesIO(PAPER), "report.pdf")) == 303
    assert post("sign-off", decision="service") == 403
    assert post("sign-off", manager, decision="service") == 303

    page = signed_in("auditor").get(at).text
    assert "back to service" in page and "85.50" in page and "out of use for 7 min" in page
    assert "<form" not in page.split("<main")[1]
    paper = nurse.get(f"{at}/statement.pdf")
    text = "".join(one.extract_text() for one in PdfReader(io.BytesIO(paper.data)).pages)
    assert "NO effective decontamination" in text and "wiped outside" in text and "S-77" in text
    file = nurse.get(f"{at}/certificate")
    assert file.data == PAPER
    assert "sandbox" in file.headers["Content-Security-Policy"]
    assert file.headers["Content-Disposition"].startswith("attachment")
    assert "it whistles" in nurse.get("/due/work").text


def test_what_is_not_there_is_said_to_be_not_there(play: Play, signed_in: SignIn) -> None:
    nurse = signed_in("nurse")

    for address in (
        "/due/work/work-0",
        "/due/work/work-0/certificate",
        "/due/work/work-0/statement.pdf",
    ):
        assert nurse.get(address).status_code == 404
    assert nurse.post("/due/work/work-0/paint", data={}).status_code == 404
    assert work_rows.open_work(play.clinic.store) == []
