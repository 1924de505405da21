"""How a machine writes its log, by form; logs handed in, claimed and explained on the pages."""

import html
import re
from collections.abc import Callable
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from equip import facts
from equip.desk.act.act import acting
from equip.desk.loads.watched_folder import Collector
from equip.logs.layout import Layout, faults, from_json
from equip.store.readings import load_rows, log_rows
from equip.web.loads.layout_form import described, filled
from tests.support.machine_logs import JSON, LAYOUT, machine_log
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
FORM = {**filled(LAYOUT), "reason": "a new controller"}


@pytest.fixture
def steriliser(play: Play) -> str:
    return play.add("steriliser-vacuum", serial="SN-77")


def post(
    client: FlaskClient, address: str, log: bytes | None = None, **form: str
) -> tuple[int, str]:
    data: dict[str, object] = dict(form)
    if log is not None:
        data["log"] = (BytesIO(log), "a.log")
    answer = client.post(address, data=data, content_type="multipart/form-data")
    return answer.status_code, html.unescape(answer.get_data(as_text=True))


def entries(play: Play) -> int:
    return int(play.clinic.store.rows("SELECT COUNT(*) FROM ledger")[0][0])


def describe(play: Play, machine: str) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        act.tell(facts.LayoutSet, machine=machine, layout=JSON, reason="as it writes it")


# --- the form -----------------------------------------------------------------------------------


@given(
    st.builds(
        Layout,
        encoding=st.sampled_from(["utf-8", "latin-1"]),
        delimiter=st.sampled_from(["comma", "semicolon", "tab", "spaces"]),
        decimal=st.sampled_from(["point", "comma"]),
        skip=st.integers(0, 1000),
        time=st.integers(1, 40) | st.sampled_from(["Zeit", "time s"]),
        time_as=st.sampled_from(["seconds", "minutes", "clock", "stamp"]),
        probes=st.lists(st.integers(41, 60) | st.sampled_from(["T1", "T 2"]), min_size=1).map(
            tuple
        ),
        gauge=st.booleans(),
        pressure=st.none() | st.just("P"),
        barometer_kpa=st.none() | st.decimals(50, 110, places=2),
        altitude_m=st.none() | st.integers(-430, 5200),
        until=st.sampled_from(["", "END"]),
    ).filter(lambda layout: next(faults(layout), None) is None)
)
def test_a_layout_comes_out_of_its_form_as_it_went_in(layout: Layout) -> None:
    assert described(filled(layout)) == layout


def test_a_layout_is_kept_once_a_whole_log_reads_by_it(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    client = signed_in("manager")
    log = machine_log(began=play.clock.now)

    status, _ = post(client, f"/setup/logs/{steriliser}", log, **FORM, do="keep")

    assert status == 303
    assert log_rows.layout_of(play.clinic.store, steriliser) == JSON
    page = client.get(f"/setup/logs/{steriliser}").get_data(as_text=True)
    assert "a new controller" in page
    file = client.get(f"/setup/logs/{steriliser}/layout.json")
    assert from_json(file.data) == LAYOUT


def test_the_preview_shows_the_line_as_written_beside_what_is_read(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    before = entries(play)
    log = machine_log("0041", began=play.clock.now)

    status, says = post(signed_in("manager"), f"/setup/logs/{steriliser}/preview", log, **FORM)

    assert status == 200
    assert "<html" not in says
    assert "It reads to its end:" in says
    assert "04.03.2026;12:00:02;" in says
    assert "Cycle number: <strong>0041</strong>" in says
    assert "101.325 kPa of air pressure were added" in says
    assert re.search(r"<td class=\"number\">2</td>", says)
    assert (entries(play), play.clinic.store.rows("SELECT COUNT(*) FROM file")) == (before, [(0,)])


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"delimiter": "comma"}, "Commas cannot part both"),
        ({"skip": "two"}, "“two” was read for the lines to skip"),
        ({"skip": "1"}, "no column"),
        ({"zone": "Europe/Atlantis"}, "is no zone"),
        ({"time_as": "clock"}, "which only times with a date can have"),
        ({"decimal": "point"}, "with a comma, though the layout says decimal point"),
        ({"altitude_m": "9000"}, "An altitude of 9000 m"),
        ({"barometer_kpa": "1013"}, "where people live"),
        ({"barometer_kpa": "low"}, "“low” was read for the barometer"),
        ({"gauge": "no"}, "looks like gauge pressure"),
        ({"temperature": "K"}, "This is no layout of a log"),
        ({"temperature": ""}, "choose one"),
        ({"probes": " "}, "no column with a temperature"),
        ({"time": "x" * 501}, "more than 500 characters"),
        ({"cycle_key": "Charge"}, "begins with “Charge”: no cycle number is read"),
    ],
)
def test_what_will_not_do_is_one_sentence_in_the_preview(
    signed_in: SignIn, play: Play, steriliser: str, change: dict[str, str], says: str
) -> None:
    log = machine_log(began=play.clock.now)

    status, page = post(
        signed_in("manager"), f"/setup/logs/{steriliser}/preview", log, **{**FORM, **change}
    )

    assert status == 200
    assert says in page
    assert "problem" in page


@pytest.mark.parametrize(
    ("log", "says"),
    [(b"", "empty"), (b"\x00\x01" * 90, "no text"), ("Zeit\xb0".encode("utf-16"), "UTF-16")],
)
def test_a_file_that_is_no_log_is_told_and_shows_nothing(
    signed_in: SignIn, steriliser: str, log: bytes, says: str
) -> None:
    status, page = post(signed_in("manager"), f"/setup/logs/{steriliser}/preview", log, **FORM)

    assert status == 200
    assert says in page


def test_where_nothing_reads_the_lines_stand_there_as_they_are(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    log = machine_log(began=play.clock.now)
    form = {**FORM, "skip": "0"}

    _, page = post(signed_in("manager"), f"/setup/logs/{steriliser}/preview", log, **form)

    assert "Date;Time;Chamber °C;Chamber bar" in page
    assert "The first lines, as they stand" in page


def test_a_log_of_another_machine_or_a_number_that_is_none_is_doubted(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    log = machine_log("2026-0042", began=play.clock.now, serial="SN 78")

    _, page = post(signed_in("manager"), f"/setup/logs/{steriliser}/preview", log, **FORM)

    assert "its logs would be refused" in page
    assert "taken as one without a number" in page


def test_a_form_that_will_not_do_comes_back_as_it_was_with_its_log(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    client, address = signed_in("manager"), f"/setup/logs/{steriliser}"
    before = entries(play)
    log = machine_log(began=play.clock.now)

    status, page = post(client, address, log, **{**FORM, "reason": ""}, do="keep")

    assert status == 400
    assert "Say why: it is read years later." in page
    assert 'value="Chamber bar"' in page
    assert "It reads to its end:" in page
    assert entries(play) == before
    sample = re.search(r'name="sample" value="(\w{64})"', page)
    assert sample is not None
    again, _ = post(client, address, **FORM, do="keep", sample=sample[1])
    assert again == 303
    assert log_rows.layout_of(play.clinic.store, steriliser) == JSON


def test_without_a_script_the_button_previews_and_keeps_nothing(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    before = entries(play)
    log = machine_log(began=play.clock.now)

    status, page = post(
        signed_in("manager"), f"/setup/logs/{steriliser}", log, **FORM, do="preview"
    )

    assert status == 200
    assert "It reads to its end:" in page
    assert entries(play) == before


def test_no_layout_is_kept_without_a_log_or_that_does_not_read_to_its_end(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    client, address = signed_in("manager"), f"/setup/logs/{steriliser}"
    log = machine_log(began=play.clock.now).replace(b"\nEND", b"\nALARM 7\nEND")

    none, says_none = post(client, address, **FORM, do="keep")
    cut, says_cut = post(client, address, log, **FORM, do="keep")

    assert (none, cut) == (400, 400)
    assert "Choose one of the machine’s own logs" in says_none
    assert "does not read to its end by this. Line" in says_cut
    assert "ALARM 7" in says_cut
    assert "Its first lines read well, but" in says_cut
    assert log_rows.layout_of(play.clinic.store, steriliser) == ""


def test_the_same_layout_is_not_told_twice_and_the_plain_log_comes_back(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    client, address = signed_in("manager"), f"/setup/logs/{steriliser}"
    describe(play, steriliser)

    status, says = post(client, address, machine_log(began=play.clock.now), **FORM, do="keep")
    plain, _ = post(client, f"{address}/plain", reason="the logger was sold")
    again, _ = post(client, f"{address}/plain", reason="the logger was sold")

    assert (status, plain, again) == (400, 303, 400)
    assert "described so already" in says
    assert log_rows.layout_of(play.clinic.store, steriliser) == ""
    assert client.get(f"{address}/layout.json").status_code == 404


# --- by role ------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["nurse", "auditor"])
@pytest.mark.parametrize("way", ["", "/preview", "/plain"])
def test_only_a_manager_describes(
    signed_in: SignIn, play: Play, steriliser: str, role: str, way: str
) -> None:
    log = machine_log(began=play.clock.now)
    before = entries(play)

    status, _ = post(signed_in(role), f"/setup/logs/{steriliser}{way}", log, **FORM, do="keep")

    assert status == 403
    assert entries(play) == before
    assert play.clinic.store.rows("SELECT COUNT(*) FROM file") == [(0,)]


@pytest.mark.parametrize("role", ["nurse", "manager", "auditor"])
@pytest.mark.parametrize("is_described", [True, False])
def test_everybody_reads_how_a_machine_writes(
    signed_in: SignIn, play: Play, steriliser: str, role: str, is_described: bool
) -> None:
    if is_described:
        describe(play, steriliser)
    client = signed_in(role)

    for page in ("/setup/logs", f"/setup/logs/{steriliser}"):
        answer = client.get(page)
        assert answer.status_code == 200
        assert ("as it writes it" in answer.get_data(as_text=True)) is is_described
    assert (b'id="layout"' in answer.data) is (role == "manager")


def test_a_preview_without_its_token_is_refused(
    app: Flask, signed_in: SignIn, steriliser: str
) -> None:
    client = signed_in("manager")
    app.config["WTF_CSRF_ENABLED"] = True

    status, says = post(client, f"/setup/logs/{steriliser}/preview", b"x", **FORM)

    assert status == 400
    assert "Load the page again" in says


def test_what_runs_no_load_has_no_such_page(signed_in: SignIn, play: Play) -> None:
    assert signed_in("manager").get(f"/setup/logs/{play.add('hook')}").status_code == 404


# --- the load's page ----------------------------------------------------------------------------


def started(play: Play, machine: str) -> str:
    play.scan("start over", machine, play.add("hook"), "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    return load.load


def test_a_machines_own_log_is_handed_in_and_its_clock_told(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    describe(play, steriliser)
    client, load = signed_in("nurse"), started(play, steriliser)
    log = machine_log("0041", began=play.clock.now + timedelta(minutes=4))

    status, _ = post(client, f"/loads/{load}/end", log, cycle_no="41")

    page = client.get(f"/loads/{load}").get_data(as_text=True)
    assert status == 303
    assert "The machine’s clock is 4 min fast." in page
    assert "<svg" in page
    assert "cycle 41" in page
    assert client.get(f"/loads/{load}/log").data == log


@pytest.mark.parametrize(
    ("log", "says"),
    [
        (b"", "The log is empty"),
        (b"PK\x03\x04", "The file is no text"),
        (b"seconds,celsius,kpa\n0,20,5,100\n", "decimal commas"),
        (b"seconds,celsius,kpa\n0,20,100\n2,275,100\n", "looks like °F"),
    ],
)
def test_a_log_that_will_not_do_leaves_the_load_and_brings_the_form_back(
    signed_in: SignIn, play: Play, steriliser: str, log: bytes, says: str
) -> None:
    client, load = signed_in("nurse"), started(play, steriliser)

    status, page = post(client, f"/loads/{load}/end", log, cycle_no="417")

    assert status == 400
    assert says in page
    assert 'name="cycle_no" value="417"' in page
    assert "Running" in page


def test_typed_values_that_will_not_do_come_back_as_typed(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    client, load = signed_in("nurse"), started(play, steriliser)

    status, page = post(
        client, f"/loads/{load}/end", cycle_no="7", lowest_c="hot", completed="yes", hold_min="3"
    )

    assert status == 400
    assert 'name="lowest_c" value="hot"' in page
    assert 'name="hold_min" value="3"' in page
    assert '<option value="yes" selected>yes</option>' in page


def test_a_mistyped_number_is_mended_with_the_log(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    describe(play, steriliser)
    client, load = signed_in("nurse"), started(play, steriliser)
    play.scan(load, "end the load", "14")
    log = machine_log("41", began=play.clock.now)

    refused, says = post(client, f"/loads/{load}/end", log, cycle_no="14")
    taken, _ = post(client, f"/loads/{load}/end", log, cycle_no="41")

    assert (refused, taken) == (400, 303)
    assert "says cycle 41, and cycle 14 was told" in says
    judged = load_rows.load_of(play.clinic.store, load)
    assert judged is not None
    assert (judged.verdict, judged.cycle_no) == ("pass", "41")


# --- logs of no load ----------------------------------------------------------------------------


@pytest.fixture
def stray(play: Play, steriliser: str, tmp_path: Path) -> str:
    """A log that came into the watched folder and has no load; its hash."""
    describe(play, steriliser)
    (tmp_path / "logs" / steriliser).mkdir(parents=True)
    path = tmp_path / "logs" / steriliser / "CYC43.LOG"
    path.write_bytes(machine_log("43", began=play.clock.now))
    collector = Collector(play.clinic, tmp_path / "logs")
    for _ in range(3):
        collector.collect()
        play.clock.passes(seconds=30)
    return log_rows.stray_logs(play.clinic.store)[0].log


@pytest.mark.parametrize("role", ["nurse", "manager", "auditor"])
def test_a_log_of_no_load_stands_among_the_loads_until_it_is_explained(
    signed_in: SignIn, play: Play, stray: str, role: str
) -> None:
    client = signed_in(role)
    page = client.get("/loads").get_data(as_text=True)

    status, _ = post(client, f"/logs/{stray}", reason="the engineer ran it empty")

    assert "Logs that belong to no load" in page
    assert "CYC43.LOG" in page
    assert client.get(f"/logs/{stray}").data.startswith(b"Serial;SN 77")
    assert status == (403 if role == "auditor" else 303)
    assert ("CYC43.LOG" in client.get("/loads").get_data(as_text=True)) is (role == "auditor")


def test_a_log_of_no_load_is_used_on_the_page_of_its_load(
    signed_in: SignIn, play: Play, steriliser: str, stray: str
) -> None:
    client, load = signed_in("nurse"), started(play, steriliser)
    offered = client.get(f"/loads/{load}").get_data(as_text=True)

    status, _ = post(client, f"/loads/{load}/end", stray=stray)

    judged = load_rows.load_of(play.clinic.store, load)
    assert "Use this log" in offered
    assert status == 303
    assert judged is not None
    assert (judged.verdict, judged.cycle_no, judged.log) == ("pass", "43", stray)
    assert "CYC43.LOG" not in client.get("/loads").get_data(as_text=True)


def test_a_log_of_another_number_is_used_only_as_the_mending_of_a_mistyped_one(
    signed_in: SignIn, play: Play, steriliser: str, stray: str
) -> None:
    client, load = signed_in("nurse"), started(play, steriliser)
    play.scan(load, "end the load", "34")
    offered = client.get(f"/loads/{load}").get_data(as_text=True)

    refused, says = post(client, f"/loads/{load}/end", stray=stray)
    taken, _ = post(client, f"/loads/{load}/end", stray=stray, cycle_no="43")

    assert "Use this log: the number was mistyped" in offered
    assert (refused, taken) == (400, 303)
    assert "says cycle 43, and cycle 34 was told" in says
    judged = load_rows.load_of(play.clinic.store, load)
    assert judged is not None
    assert judged.cycle_no == "43"


def test_the_page_opens_with_the_newest_log_of_the_machine_as_it_reads(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    play.run(steriliser, play.add("hook"))
    started(play, steriliser)

    page = signed_in("manager").get(f"/setup/logs/{steriliser}").get_data(as_text=True)

    assert "It reads to its end:" in page


def test_only_logs_that_came_in_are_fetched_by_their_hash(
    signed_in: SignIn, play: Play, steriliser: str
) -> None:
    load = play.run(steriliser, play.add("hook"))
    judged = load_rows.load_of(play.clinic.store, load)
    assert judged is not None

    assert signed_in("nurse").get(f"/logs/{judged.log}").status_code == 404


def test_logs_that_cannot_be_read_are_listed_with_why(
    signed_in: SignIn, play: Play, steriliser: str, tmp_path: Path
) -> None:
    root = tmp_path / "logs"
    (root / steriliser).mkdir(parents=True)
    (root / steriliser / "x.log").write_bytes(b"\x00")
    play.clinic.settings = type(play.clinic.settings)(data=play.clinic.settings.data, logs=root)
    collector = Collector(play.clinic, root)
    for _ in range(3):
        collector.collect()
        play.clock.passes(seconds=30)

    page = signed_in("manager").get("/setup/logs").get_data(as_text=True)

    assert f"{steriliser}/unread/x.log" in page
    assert "no text" in page
