"""Every page as each person sees it: who may look, who may change, what an error says."""

import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from io import BytesIO

import pytest
from flask import Flask
from flask.testing import FlaskClient

from equip.demo.cycles import steam_log
from equip.desk.act.act import acting
from equip.desk.loads import indicators
from equip.desk.lookback.cases import case_acts
from equip.desk.machines import lots
from equip.desk.register import items
from equip.desk.upkeep import duty_acts, work_acts
from equip.facts import Stated
from equip.store.readings import item_rows, load_rows
from tests.support.playing import Play
from tests.web.conftest import PASSWORD, PIN

SignIn = Callable[[str], FlaskClient]

PAGES = (
    "/bench",
    "/checks",
    "/setup/types/irrigator",
    "/stock",
    "/stock/hook",
    "/stock/lots",
    "/history/{lot}",
    "/history/{agent}",
    "/stock/mix",
    "/stock/tomorrow",
    "/setup/procedures",
    "/machines/{bath}/bath",
    "/loads/{soaked}",
    "/things/{scope}",
    "/things/{hook}",
    "/things/{pack}",
    "/loads",
    "/loads/{failed}",
    "/loads/{load}",
    "/due",
    "/due/things/{steriliser}",
    "/due/month",
    "/due/work",
    "/due/work/{work}",
    "/due/work/{work}/statement.pdf",
    "/calibration/things/{steriliser}",
    "/calibration/things/{hook}",
    "/electrical/things/{steriliser}",
    "/look-backs/new?evidence=out-of-tolerance&about={steriliser}",
    "/due/year",
    "/due/month/2026-04.pdf",
    "/due/things/{hook}",
    "/due/types/steriliser-vacuum",
    "/history",
    "/history/{hook}",
    "/history/{load}",
    "/history/{nurse}",
    "/history/{patient}",
    "/entries/TEST/1",
    "/look-backs/{case}",
    "/proofs?about={case}",
    "/proofs?about={load}",
    "/setup",
    "/setup/register",
    "/setup/people",
    "/setup/people/{nurse}",
    "/setup/logs",
    "/setup/logs/{steriliser}",
    "/history/exposed",
    "/history/gaps",
    "/setup/places",
    "/setup/types",
    "/setup/types/hook",
    "/setup/types/new",
    "/setup/rules",
    "/setup/benches",
    "/setup/outbox",
    "/setup/reminders",
    "/setup/reminders/{steriliser}",
    "/labels",
    "/labels/{hook}.png",
    "/loads/{load}/log",
    "/loads/{load}/record.pdf",
    "/machines/{steriliser}/sheet",
    "/machines/{steriliser}/charts",
    "/machines/{steriliser}/spores",
    "/machines/{steriliser}/spores?defect=yes&wrong={load}",
    "/setup/re-judge",
    "/setup/method",
    "/setup/guide",
    "/setup/guide/day",
    "/setup/guide/running",
    "/setup/guide/commands",
    "/setup/guide/keeping",
    "/setup/guide/method",
    "/look-backs/new?evidence=load&about={load}",
    "/look-backs/new?evidence=person&about={nurse}",
    "/look-backs/new?evidence=person&about={nurse}&since=2026-03-01",
    "/look-backs/new?evidence=patient&about={patient}",
    "/look-backs/new?evidence=damage&about={probe}",
    "/look-backs/new?evidence=step&about={probe}",
    "/look-backs/new?evidence=lot&about={lot}",
    "/look-backs/new?evidence=machine&about={steriliser}&since=2026-03-01",
    "/look-backs/new?evidence=water&about={steriliser}",
    "/look-backs/new?evidence=spores&about={steriliser}",
)

# Addresses that need more than this clinic has, or nobody signed in, and the tests that open them.
ELSEWHERE = {
    "sign_in.sign_in_page": "tests/web/test_pages.py",
    "sign_in.home": "tests/web/test_pages.py",
    "logs.stray_log": "tests/web/loads/test_logs_page.py",
    "layouts.download": "tests/web/loads/test_logs_page.py",
    "evidence.photo": "tests/web/loads/test_evidence_page.py",
    "evidence.small": "tests/web/loads/test_evidence_page.py",
    "calibration.certificate": "tests/web/due/test_calibration_page.py",
    "electrical.certificate": "tests/web/due/test_electrical_page.py",
    "work.certificate": "tests/web/due/test_work_pages.py",
    "exposed.exposure_page": "tests/web/history/test_exposed_page.py",
    "hurt.hurt_page": "tests/web/bench/test_hurt_page.py",
    "hurt.newest": "tests/web/bench/test_hurt_page.py",
    "hurt.on_paper": "tests/web/bench/test_hurt_page.py",
    "letters.letters_page": "tests/web/setup/test_letters_page.py",
    "letters.calendar": "tests/web/setup/test_letters_page.py",
    "trace_api.exposed_now": "tests/web/history/test_trace_api.py",
    "trace_api.look_back": "tests/web/history/test_trace_api.py",
}


@pytest.fixture
def names(play: Play) -> dict[str, str]:
    """A clinic with a little of everything in it, and what it is called."""

    hook, probe, steriliser = (
        play.add("hook"),
        play.add("ring-probe"),
        play.add("steriliser-vacuum"),
    )
    pack = play.sterile_pack(steriliser, hook)
    load = load_rows.last_load(play.clinic.store, steriliser)
    play.scan("start over", "123456", "start a use", pack, "finish", "start over")
    failed = play.run(steriliser, probe, hold_s=140)
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(act, steriliser, "service", date(2026, 1, 31), every_months=1)
        case = case_acts.raise_doubt(act, [failed], "the curve looks odd")
        lot = lots.add(
            act, "wipe", "Wipe one", "A-7", stated=Stated(contact_s=30, agent="chlorine-dioxide")
        )
        six = Stated(type=6, celsius=Decimal(134), seconds=Decimal(180))
        strip = lots.add(act, "chemical-indicator", "Strip six", "N-1", stated=six)
        spores = lots.add(act, "spore-test", "Spores", "S-1")
    with acting(play.clinic, by=play.people["nurse"]) as act:
        judged = load_rows.load_of(act.store, failed)
        assert judged is not None
        indicators.put_spore(act, judged, spores, with_control=True)
        agent = lots.add(act, "agent", "Bottle", "B-1", stated=Stated(agent="opa-0.55"))
        wipes = lots.add(
            act, "wipe", "Wipe two", "A-8", stated=Stated(contact_s=30, agent="chlorine-dioxide")
        )
    bath, scope = play.add("soak-bath"), play.add("scope-wiped")
    play.scan("start over", "clean", wipes, scope, "disinfect", wipes, scope)
    play.scan("start over", bath, "fill the bath", agent, scope, "start the load")
    soaking = load_rows.last_load(play.clinic.store, bath)
    assert soaking is not None
    assert load is not None
    audiometer = play.add("audiometer")
    with acting(play.clinic, by=play.people["manager"]) as act:
        work = work_acts.raise_work(act, audiometer, "it hums", out_of_use=True)
    with acting(play.clinic, by=play.people["manager"]) as act:
        work_acts.send(act, work, "Bench and Sons", "wiped outside")
    return {
        "work": work,
        "hook": hook,
        "pack": pack,
        "probe": probe,
        "load": load.load,
        "failed": failed,
        "steriliser": steriliser,
        "nurse": play.people["nurse"],
        "patient": str(play.clinic.vault.find("123456")),
        "case": case,
        "lot": lot,
        "strip": strip,
        "spores": spores,
        "agent": agent,
        "bath": bath,
        "free_bath": play.add("soak-bath"),
        "scope": scope,
        "soaked": soaking.load,
    }


@pytest.mark.parametrize("role", ["nurse", "manager", "auditor"])
def test_everybody_signed_in_reads_every_page(
    signed_in: SignIn, names: dict[str, str], role: str
) -> None:
    client = signed_in(role)

    answers = {page: client.get(page.format(**names)) for page in PAGES}

    assert {page: one.status for page, one in answers.items() if one.status_code != 200} == {}
    assert [page for page, one in answers.items() if b"123456" in one.data] == []


def test_every_page_stands_under_one_of_the_screens_at_the_top(
    signed_in: SignIn, names: dict[str, str]
) -> None:
    client = signed_in("nurse")

    answers = {page: client.get(page.format(**names)) for page in PAGES}

    pages = {page: one.text for page, one in answers.items() if one.mimetype == "text/html"}
    lost = [page for page, text in pages.items() if " aria-current=" not in text]
    assert lost == [], "put its module into the wing of its screen: equip/web/stock …"


def test_whoever_is_not_signed_in_is_asked_to(app: Flask) -> None:
    client = app.test_client()

    assert 'name="secret"' in client.get("/sign-in").text
    assert 'name="secret"' in client.get("/", follow_redirects=True).text


def test_nobody_reads_anything_without_signing_in(app: Flask, names: dict[str, str]) -> None:
    addresses = [page.format(**names) for page in PAGES]

    answers = {where: app.test_client().get(where).data for where in addresses}

    assert [where for where, data in answers.items() if b'name="secret"' not in data] == []
    told = {where: data.replace(where.encode(), b"") for where, data in answers.items()}
    assert [where for where, data in told.items() if names["hook"].encode() in data] == []


def test_a_failed_loads_page_shows_where_why_and_by_which_rule(
    signed_in: SignIn, names: dict[str, str]
) -> None:
    page = signed_in("auditor").get(f"/loads/{names['failed']}").text

    assert page.count("<svg") == 2
    ids = re.findall(r' id="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert "into the log · by" in page and "steam-134.hold" in page
    assert "<strong>1: hot enough for too short a time" in page.replace("holding time ends; ", "")
    assert f'href="/loads/{names["failed"]}/record.pdf"' in page


def test_the_cycle_record_is_a_pdf_of_that_load_and_of_no_other(
    signed_in: SignIn, names: dict[str, str]
) -> None:
    nurse = signed_in("nurse")
    answer = nurse.get(f"/loads/{names['failed']}/record.pdf")

    assert answer.mimetype == "application/pdf"
    assert answer.data.startswith(b"%PDF-")
    assert f"load-{names['failed']}.pdf" in answer.headers["Content-Disposition"]
    assert nurse.get("/loads/L000000019/record.pdf").status_code == 404


CHANGES = (
    ("/bench", {"text": "lay up"}),
    ("/things/{hook}/retire", {"why": "worn out"}),
    ("/things/{hook}/quarantine", {"why": "a burr", "how": "clean-it-now"}),
    ("/loads/{failed}/reject", {"reason": "too short"}),
    ("/loads/{failed}/again", {}),
    ("/machines/{free_bath}/bath", {"lot": "{agent}"}),
    ("/loads/{soaked}/end", {"early": "yes"}),
    ("/setup/procedures", {"name": "One ear", "minutes": "15", "type_1": "hook"}),
    ("/due/met", {"item": "{steriliser}", "duty": "service", "done": "2026-03-01"}),
    ("/due/set", {"item": "{steriliser}", "duty": "filter", "every_days": "9"}),
    ("/due/meter", {"item": "{steriliser}", "meter": "hours", "reading": "9", "how": "read"}),
    ("/due/work", {"item": "{steriliser}", "what": "it hisses"}),
    ("/due/work/{work}/receive", {}),
    ("/look-backs", {"load": "{load}", "why": "odd"}),
    (
        "/look-backs",
        {"evidence": "load", "about": "{load}", "loads": "{load}", "why": "odd"},
    ),
    ("/look-backs/drill", {"load": "{load}"}),
    ("/look-backs/drill", {}),
    ("/look-backs/{case}/contain", {"how": "bag-it"}),
    ("/look-backs/{case}/scope", {"loads": "{failed}", "more": "{load}", "reason": "both"}),
    ("/look-backs/{case}/list", {}),
    ("/look-backs/{case}/risk", {"category": "B", "reason": "it was washed"}),
    ("/look-backs/{case}/note", {"step": "tell", "says": "the clinic’s lead, by telephone"}),
    (
        "/look-backs/{case}/decide",
        {"decision": "no risk", "reason": "judged anew", "unfounded": "yes"},
    ),
    (
        "/setup/re-judge",
        {
            "machine": "{steriliser}",
            "since": "2026-03-01",
            "until": "2026-03-04",
            "book": "england",
            "offset_k": "-0.4",
            "reason": "the sensor read high",
        },
    ),
    ("/machines/{steriliser}/sheet/test", {"test": "door-seal", "passed": "yes"}),
    ("/setup/places", {"name": "Room 9", "sort": "clinical"}),
    ("/setup/people", {"name": "New Person", "role": "nurse"}),
    ("/setup/register", {"type": "hook", "arrival": "factory-new"}),
    (
        "/setup/rules",
        {"rule": "pin.tries", "value": "3", "reason": "stricter", "since": "2026-01-01"},
    ),
    ("/stock/lots", {"sort": "other", "name": "Brushes", "number": "7"}),
    ("/stock/lots/{lot}/open", {}),
    ("/stock/lots/{lot}/finish", {"why": "recalled"}),
    (
        "/loads/{failed}/indicators/read",
        {"lot": "{strip}", "where": "in the chamber", "result": "pass"},
    ),
    (
        "/loads/{failed}/indicators/read-spore",
        {"lot": "{spores}", "grew": "no", "control_grew": "yes", "incubated_h": "48"},
    ),
    ("/machines/{steriliser}/spores/look-back", {"why": "wrong time", "wrong": "{load}"}),
    ("/setup/benches", {"label": "bench 4"}),
    (
        "/setup/reminders",
        {"person": "{nurse}", "address": "nell@clinic.example", "told": "first"},
    ),
    ("/setup/reminders/{steriliser}", {"duty": "service", "lead_days": "30"}),
    ("/setup/reminders/calendar", {"subject": "site-TEST", "how": "renew"}),
    ("/labels", {"batch": "packs", "count": "3", "design": "a4-5x13", "form": "pdf"}),
)


@pytest.mark.parametrize(("page", "form"), CHANGES)
def test_an_auditor_changes_nothing(
    signed_in: SignIn, play: Play, names: dict[str, str], page: str, form: dict[str, str]
) -> None:
    client = signed_in("auditor")
    before = play.clinic.store.rows("SELECT COUNT(*) FROM ledger")

    answer = client.post(page.format(**names), data={k: v.format(**names) for k, v in form.items()})

    assert answer.status_code == 403
    assert play.clinic.store.rows("SELECT COUNT(*) FROM ledger") == before


@pytest.mark.parametrize(("page", "form"), CHANGES)
def test_a_manager_may_make_every_change(
    signed_in: SignIn, names: dict[str, str], page: str, form: dict[str, str]
) -> None:
    answer = signed_in("manager").post(
        page.format(**names), data={k: v.format(**names) for k, v in form.items()}
    )

    assert answer.status_code in (200, 303), answer.data.decode()


def test_a_form_without_its_token_changes_nothing(app: Flask, play: Play) -> None:
    app.config["WTF_CSRF_ENABLED"] = True

    answer = app.test_client().post(
        "/sign-in", data={"who": play.people["nurse"], "secret": PASSWORD}
    )

    assert answer.status_code == 400
    assert b"Load the page again" in answer.data


def test_a_badge_and_pin_sign_in_like_a_password(app: Flask, play: Play) -> None:
    client = app.test_client()

    client.post("/sign-in", data={"who": play.people["nurse"].lower(), "secret": PIN})

    assert client.get("/bench").status_code == 200


def test_five_wrong_pins_shut_the_pin_and_the_password_opens_it(app: Flask, play: Play) -> None:
    client = app.test_client()
    for _ in range(5):
        client.post("/sign-in", data={"who": "Nell Ash", "secret": "0000"})

    shut = client.post("/sign-in", data={"who": "Nell Ash", "secret": PIN})
    opened = client.post("/sign-in", data={"who": "Nell Ash", "secret": PASSWORD})

    assert shut.status_code == 403
    assert b"sign in with the password" in shut.data
    assert opened.status_code == 303


def test_signing_in_leads_nowhere_outside_this_house(app: Flask, play: Play) -> None:
    form = {"who": "Nell Ash", "secret": PASSWORD}

    for way in ("https://example.org/", "//example.org", "/\\example.org"):
        answer = app.test_client().post("/sign-in", data={**form, "next": way})

        assert answer.headers["Location"] == "/"


def test_signing_out_ends_it(signed_in: SignIn) -> None:
    client = signed_in("nurse")

    client.post("/sign-out")

    assert b'name="secret"' in client.get("/stock").data


def test_a_person_who_left_is_signed_out_at_once(signed_in: SignIn, play: Play) -> None:
    client = signed_in("trainee")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.add_person(act, "Tam Birch", "nurse", [], tag=play.people["trainee"], active=False)

    assert b'name="secret"' in client.get("/stock").data


def test_an_idle_device_is_signed_out(signed_in: SignIn, play: Play) -> None:
    client = signed_in("nurse")
    play.clock.passes(minutes=61)

    assert b'name="secret"' in client.get("/stock").data


def test_a_log_handed_in_on_the_page_is_judged_and_drawn(signed_in: SignIn, play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.scan(steriliser, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, steriliser)
    assert load is not None
    log = steam_log(3, hold_s=140)
    client = signed_in("nurse")

    client.post(
        f"/loads/{load.load}/end",
        data={"cycle_no": "0077", "log": (BytesIO(log), "cycle 77.csv")},
        content_type="multipart/form-data",
    )

    page = client.get(f"/loads/{load.load}").data.decode()
    assert "Failed" in page
    assert "it needs 3 min" in page
    assert "<svg" in page
    assert client.get(f"/loads/{load.load}/log").data == log


def test_only_a_manager_learns_who_a_patient_is_and_that_is_written_down(
    signed_in: SignIn, names: dict[str, str], play: Play
) -> None:
    address = f"/history/{names['patient']}/unmask"

    refused = signed_in("nurse").post(address, data={"reason": "curious"})
    told = signed_in("manager").post(address, data={"reason": "the patient rang"})

    assert refused.status_code == 403
    assert b"123456" in told.data
    page = signed_in("auditor").get(f"/history/{names['patient']}").data
    assert b"the patient rang" in page


def test_a_search_is_posted_so_that_no_reference_stands_in_an_address(
    signed_in: SignIn, names: dict[str, str]
) -> None:
    answer = signed_in("auditor").post("/history", data={"q": " 123456 "})

    assert answer.status_code == 303
    assert answer.headers["Location"].endswith(names["patient"])


def test_a_register_file_with_faults_lists_each_by_line_and_takes_nothing(
    signed_in: SignIn, play: Play
) -> None:
    data = b"type,arrival,name\nhook,factory-new,a\nhooc,factory-new,b\nhook,stolen,c\n"

    answer = signed_in("manager").post(
        "/setup/register/file",
        data={"file": (BytesIO(data), "register.csv")},
        content_type="multipart/form-data",
    )

    page = answer.data.decode()
    assert "3" in page
    assert "“hooc” is no type of this book" in page
    assert "“stolen” is no way to arrive" in page
    assert item_rows.items(play.clinic.store) == []


def test_a_password_that_is_too_short_is_refused_before_anything_is_written(
    signed_in: SignIn, play: Play
) -> None:
    before = play.clinic.store.rows("SELECT COUNT(*) FROM ledger")

    answer = signed_in("manager").post(
        "/setup/people", data={"name": "New", "role": "nurse", "password": "short"}
    )

    assert answer.status_code == 400
    assert play.clinic.store.rows("SELECT COUNT(*) FROM ledger") == before


def test_fresh_pack_labels_never_repeat(signed_in: SignIn, play: Play) -> None:
    client = signed_in("nurse")
    form = {"batch": "packs", "count": "2", "design": "a4-5x13", "form": "pdf"}

    first, second = (client.post("/labels", data=form) for _ in range(2))

    assert first.data[:5] == b"%PDF-"
    assert first.data != second.data


def test_every_answer_says_what_a_browser_may_load(signed_in: SignIn) -> None:
    headers = signed_in("nurse").get("/bench").headers

    assert "default-src 'self'" in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cache-Control"] == "no-store"


def test_a_page_that_is_not_there_says_so(signed_in: SignIn) -> None:
    answer = signed_in("nurse").get("/things/E999999999")

    assert answer.status_code == 404
    assert b"Not here" in answer.data
