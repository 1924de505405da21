"""A machine's process and limits on the page of its type; a load's stages on its own page."""

from collections.abc import Callable
from decimal import Decimal
from html.parser import HTMLParser

import pytest
from flask.testing import FlaskClient

from equip.desk.act.act import acting
from equip.desk.loads import stages
from equip.facts import Limits, Process, Programme
from equip.store.readings import load_rows
from tests.desk.loads.test_stages import log_of_unclear, washed
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]

BASE = {
    "code": "steriliser-vacuum",
    "name": "Bench steriliser with vacuum",
    "sort": "machine",
    "contact": "neither",
    "reuse": "reusable",
    "optic": "",
    "tagged": "yes",
    "heat_proof": "yes",
}
STEAM = {
    **BASE,
    "asks_process": "yes",
    "does_sterilise": "yes",
    "heat": "steam",
    "vacuum": "yes",
    "litres": "24",
    "programme_1_judged_by": "steam-134",
    "programme_1_name": "134 °C",
    "programme_1_wrapped": "yes",
    "programme_1_hollow": "yes",
    "programme_3_judged_by": "Steam-121",
    "pulses": "3",
    "vacuum_kpa": "15",
    "steam_kpa": "100.5",
    "drying_kpa": "10",
    "drying_s": "120",
}


def process_of(play: Play, code: str = "steriliser-vacuum") -> Process | None:
    return play.clinic.house.kind(code).process


# --- the type ---------------------------------------------------------------------------------


def test_a_manager_sets_what_a_machine_does_and_its_own_limits(
    signed_in: SignIn, play: Play
) -> None:
    answer = signed_in("manager").post("/setup/types", data=STEAM)

    assert answer.status_code == 303
    assert process_of(play) == Process(
        steps=("sterilise",),
        heat="steam",
        vacuum=True,
        litres=24,
        programmes=(
            Programme(judged_by="steam-134", name="134 °C", wrapped=True, hollow=True),
            Programme(judged_by="steam-121"),
        ),
        limits=Limits(
            pulses=3,
            vacuum_kpa=Decimal(15),
            steam_kpa=Decimal("100.5"),
            drying_kpa=Decimal(10),
            drying_s=120,
        ),
    )


@pytest.mark.parametrize("role", ["nurse", "manager", "auditor"])
def test_everybody_reads_the_limits_and_only_a_manager_the_form(
    signed_in: SignIn, play: Play, role: str
) -> None:
    signed_in("manager").post("/setup/types", data=STEAM)

    page = signed_in(role).get("/setup/types/steriliser-vacuum").data.decode()

    assert "Each pulse rises to: 100.5 kPa" in page
    assert "Drying stays there for: 120 s" in page
    assert ('name="vacuum_kpa"' in page) == (role == "manager")


@pytest.mark.parametrize("role", ["nurse", "auditor"])
def test_nobody_else_changes_a_machine(signed_in: SignIn, play: Play, role: str) -> None:
    before = process_of(play)

    answer = signed_in(role).post("/setup/types", data=STEAM)

    assert answer.status_code == 403
    assert process_of(play) == before


def test_the_form_that_is_shown_changes_nothing_when_it_is_sent_back_as_it_is(
    signed_in: SignIn, play: Play
) -> None:
    client = signed_in("manager")
    client.post("/setup/types", data=STEAM)
    before = play.clinic.house.kind("steriliser-vacuum")

    page = client.get("/setup/types/steriliser-vacuum").data.decode()
    client.post("/setup/types", data=as_sent(page))

    assert play.clinic.house.kind("steriliser-vacuum") == before


@pytest.mark.parametrize(
    "code",
    [
        *("washer", "ultrasonic-bath", "steriliser-plain", "suction-pump"),
        *("suction-tip", "irrigator-handpiece", "fine-tip"),
    ],
)
def test_no_starter_type_is_changed_by_its_own_form(
    signed_in: SignIn, play: Play, code: str
) -> None:
    client = signed_in("manager")
    before = play.clinic.house.kind(code)

    answer = client.post(
        "/setup/types", data=as_sent(client.get(f"/setup/types/{code}").data.decode())
    )

    assert answer.status_code == 303, answer.data.decode()
    assert play.clinic.house.kind(code) == before


def test_a_form_that_does_not_ask_leaves_the_process_as_it_is(
    signed_in: SignIn, play: Play
) -> None:
    before = process_of(play)

    signed_in("manager").post("/setup/types", data={**BASE, "name": "Another name"})

    assert process_of(play) == before
    assert play.clinic.house.kind("steriliser-vacuum").name == "Another name"


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"vacuum_kpa": "15 mbar"}, "“Each pulse falls to”: “15 mbar” is no number"),
        ({"vacuum_kpa": "1e1"}, "is no number"),
        ({"pulses": "three"}, "“Pulses”: “three” is no whole number"),
        ({"vacuum": ""}, "A machine without vacuum has no pulses"),
        ({"wash_low_c": "60"}, "is a limit of a machine with hot water"),
        ({"does_sterilise": ""}, "which steps of the route"),
        ({"programme_1_judged_by": "thermal-a0-600"}, "is no programme by which"),
        ({"heat": "microwave"}, "choose one of"),
        ({"sort": "instrument"}, "Only a machine runs loads"),
    ],
)
def test_what_makes_no_sense_is_refused_in_a_sentence(
    signed_in: SignIn, play: Play, changes: dict[str, str], says: str
) -> None:
    before = process_of(play)

    answer = signed_in("manager").post("/setup/types", data={**STEAM, **changes})

    assert answer.status_code == 400
    assert says in answer.data.decode()
    assert process_of(play) == before


def as_sent(page: str) -> dict[str, str]:
    """What a browser sends back of the form of a type that nobody touched."""

    class Form(HTMLParser):
        def __init__(self) -> None:
            super().__init__()
            self.sent: dict[str, str] = {}
            self.open = False
            self.select = self.area = ""

        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            have = dict(attrs)
            name = have.get("name") or ""
            if tag == "form":
                self.open = have.get("action") == "/setup/types"
            if not self.open:
                return
            if tag == "input" and name:
                if have.get("type") != "checkbox" or "checked" in have:
                    self.sent[name] = have.get("value") or ""
            elif tag == "select":
                self.select = name
            elif tag == "textarea":
                self.area = name
            elif tag == "option" and self.select and "selected" in have:
                self.value = have.get("value")
                self.sent[self.select] = self.value or ""
                self.bare = self.value is None

        def handle_data(self, data: str) -> None:
            if self.area:
                self.sent[self.area] = self.sent.get(self.area, "") + data
            elif self.select and getattr(self, "bare", False):
                self.sent[self.select], self.bare = data, False

        def handle_endtag(self, tag: str) -> None:
            if tag == "select":
                self.select = ""
            elif tag == "textarea":
                self.area = ""

    form = Form()
    form.feed(page)
    return form.sent


# --- the stages -------------------------------------------------------------------------------


@pytest.fixture
def load(play: Play) -> str:
    """An unclear washer's load, judged and not decided."""
    return washed(play, log_of_unclear())


@pytest.mark.parametrize(
    ("role", "may"), [("nurse", True), ("manager", True), ("trainee", False), ("auditor", False)]
)
def test_everybody_sees_the_stages_and_whoever_may_release_corrects_them(
    signed_in: SignIn, play: Play, load: str, role: str, may: bool
) -> None:
    page = signed_in(role).get(f"/loads/{load}").data.decode()

    assert "Its stages" in page
    assert ('name="drying-begins"' in page) == may


def test_a_correction_is_shown_with_its_reason_on_the_load_and_at_its_release(
    signed_in: SignIn, play: Play, load: str
) -> None:
    answer = signed_in("nurse").post(
        f"/loads/{load}/stages", data={"drying-begins": "1500", "reason": "the strip says so"}
    )
    assert answer.status_code == 303

    mine = signed_in("nurse").get(f"/loads/{load}").data.decode()
    theirs = signed_in("manager").get(f"/loads/{load}").data.decode()

    line = "<strong>Stages corrected by Nell Ash:</strong> the strip says so"
    assert line in mine and "all but what is held back" not in mine
    assert "somebody other than who corrected them" in mine
    assert theirs.count(line) == 2
    assert "all but what is held back" in theirs


@pytest.mark.parametrize("role", ["trainee", "auditor"])
def test_nobody_without_the_right_corrects_stages(
    signed_in: SignIn, play: Play, load: str, role: str
) -> None:
    before = play.clinic.store.rows("SELECT COUNT(*) FROM ledger")

    answer = signed_in(role).post(
        f"/loads/{load}/stages", data={"drying-begins": "1500", "reason": "x"}
    )

    assert answer.status_code == (403 if role == "auditor" else 400)
    assert play.clinic.store.rows("SELECT COUNT(*) FROM ledger") == before


def test_what_the_log_contradicts_comes_back_as_a_sentence(
    signed_in: SignIn, play: Play, load: str
) -> None:
    answer = signed_in("nurse").post(
        f"/loads/{load}/stages", data={"drying-begins": "800", "reason": "x"}
    )

    assert answer.status_code == 400
    assert "one climb is all water or all air" in answer.data.decode()


def test_after_the_release_the_correction_is_still_shown_and_nothing_can_be_corrected(
    signed_in: SignIn, play: Play, load: str
) -> None:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        found = load_rows.load_of(act.store, load)
        assert found is not None
        stages.correct(act, found, {"drying-begins": "1500"}, "the strip says so")
    play.scan(load, "release", who="manager")

    page = signed_in("nurse").get(f"/loads/{load}").data.decode()

    assert "Released" in page
    assert "Stages corrected by Nell Ash:</strong> the strip says so" in page
    assert 'name="drying-begins"' not in page


def test_a_bath_with_limits_is_asked_for_its_run(signed_in: SignIn, play: Play) -> None:
    client = signed_in("manager")
    form = as_sent(client.get("/setup/types/ultrasonic-bath").data.decode())
    client.post("/setup/types", data={**form, "run_s": "300", "bath_high_c": "40"})
    bath = play.add("ultrasonic-bath")
    play.scan("start over", bath, play.add("hook"), "start the load")
    running = load_rows.load_on(play.clinic.store, bath)
    assert running is not None
    page = client.get(f"/loads/{running.load}").data.decode()
    assert 'name="run_min"' in page and 'name="bath_c"' in page

    client.post(
        f"/loads/{running.load}/end",
        data={
            "completed": "yes",
            "run_min": "6",
            "bath_c": "41",
            "detergent": "yes",
            "degassed": "yes",
        },
    )

    done = load_rows.load_of(play.clinic.store, running.load)
    assert done is not None
    assert (done.verdict, done.reasons[0].code) == ("fail", "bath-too-hot")


def test_a_type_with_nothing_effective_is_refused_on_the_page_with_its_reason(
    signed_in: SignIn, play: Play
) -> None:
    client = signed_in("manager")
    form = as_sent(client.get("/setup/types/hook").data.decode())

    answer = client.post("/setup/types", data={**form, "step_sterilise": "needed"})

    assert answer.status_code == 400
    assert "nothing effective on its route" in answer.get_data(as_text=True)
    assert play.clinic.house.kind("hook").route[-2].stops != ()
