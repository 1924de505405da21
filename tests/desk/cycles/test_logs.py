"""Logs read by their machine's layout, matched to their load, readable for ever after."""

from datetime import UTC, date, datetime, timedelta

import pytest

from equip import facts
from equip.demo.cycles import steam_log
from equip.desk.act.act import Refused, acting
from equip.desk.cycles import logs, rejudging
from equip.desk.cycles.picture import cycle
from equip.desk.loads.end import LogFile, end_load
from equip.logs.plain import UnreadableLog
from equip.rules.cycles.matching import clock_says
from equip.rules.loads.load import Load
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.readings import load_rows, log_rows
from tests.support.machine_logs import JSON, machine_log
from tests.support.playing import Play


@pytest.fixture
def steriliser(play: Play) -> str:
    """A steriliser whose log has a layout."""
    tag = play.add("steriliser-vacuum", serial="SN-77")
    describe(play, tag)
    return tag


def describe(play: Play, machine: str, layout: str = JSON) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        act.tell(facts.LayoutSet, machine=machine, layout=layout, reason="as it writes it")


def started(play: Play, machine: str) -> Load:
    """A load of one hook that runs."""
    play.scan("start over", machine, play.add("hook"), "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    return load


def end(
    play: Play, load: Load, log: bytes | None, cycle_no: str = "", layout: str | None = None
) -> Load:
    evidence = LogFile(log, "x.log", layout) if log is not None else None
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, evidence, cycle_no=cycle_no)
    return now(play, load)


def now(play: Play, load: Load) -> Load:
    found = load_rows.load_of(play.clinic.store, load.load)
    assert found is not None
    return found


def test_a_log_is_read_by_the_layout_of_its_machine(play: Play, steriliser: str) -> None:
    load = started(play, steriliser)

    judged = end(play, load, machine_log(began=play.clock.now), "41")

    assert (judged.verdict, judged.cycle_no, judged.layout) == ("pass", "41", JSON)
    assert judged.log_started == play.clock.now
    assert any("101.325 kPa of air pressure were added" in r.says for r in judged.reasons)


def test_an_old_log_is_readable_after_the_machine_writes_another(
    play: Play, steriliser: str
) -> None:
    judged = end(play, started(play, steriliser), machine_log(began=play.clock.now))
    describe(play, steriliser, "")

    with acting(play.clinic, by=play.people["manager"]) as act:
        again = rejudging.rejudge(
            act, steriliser, date(2026, 3, 4), date(2026, 3, 4), "asked in a test"
        )

    assert (again.judged, again.left_out) == (1, ())
    shown = cycle.shown(play.clinic, judged)
    assert shown is not None
    assert "<svg" in shown.wide
    assert end(play, started(play, steriliser), steam_log(3), "42").layout == ""


def test_the_newest_layout_of_a_machine_holds_and_no_other_machines(play: Play) -> None:
    one, other = play.add("steriliser-vacuum"), play.add("steriliser-vacuum")
    describe(play, one, '{"skip":1}')
    play.clock.passes(minutes=1)
    describe(play, one)

    assert log_rows.layout_of(play.clinic.store, one) == JSON
    assert [told.layout for told in log_rows.layouts_of(play.clinic.store, one)] == [
        JSON,
        '{"skip":1}',
    ]
    assert log_rows.layout_of(play.clinic.store, other) == ""


def test_a_load_without_a_number_takes_the_logs(play: Play, steriliser: str) -> None:
    running = started(play, steriliser)
    first = end(play, running, machine_log("0041", began=play.clock.now))
    waiting = end(play, started(play, steriliser), None)
    assert (waiting.state, waiting.cycle_no) == ("ended", "")
    second = end(play, waiting, machine_log("0042", began=play.clock.now, seed=42))

    assert (first.cycle_no, second.cycle_no) == ("41", "42")
    ended = [e.fact for e in told_about(play.clinic.store, running.load)]
    assert [f.cycle_no for f in ended if isinstance(f, facts.LoadEnded)] == ["41"]


@pytest.mark.parametrize("in_two_steps", [True, False])
def test_the_log_of_another_cycle_is_refused_with_what_was_read(
    play: Play, steriliser: str, in_two_steps: bool
) -> None:
    load = started(play, steriliser)
    if in_two_steps:
        load = end(play, load, None, "43")
    log = machine_log("42", began=play.clock.now)

    with pytest.raises(Refused, match="says cycle 42, and cycle 43 was told") as caught:
        end(play, load, log, "" if in_two_steps else "43")

    assert "hand in the log of cycle 43" in str(caught.value)
    assert now(play, load) == load


def test_the_log_of_a_cycle_that_is_another_loads_is_refused(play: Play, steriliser: str) -> None:
    first = end(play, started(play, steriliser), None, "41")
    second = started(play, steriliser)

    with pytest.raises(Refused, match="cycle 41, which belongs to load"):
        end(play, second, machine_log("41", began=play.clock.now))

    assert now(play, second).state == "running"
    assert end(play, first, machine_log("41", began=play.clock.now)).verdict == "pass"


def test_the_log_of_another_machine_is_refused_where_both_serials_are_known(
    play: Play, steriliser: str
) -> None:
    load = started(play, steriliser)

    with pytest.raises(Refused, match=r"names the machine “SN 78”.*serial number “SN-77”"):
        end(play, load, machine_log(began=play.clock.now, serial="SN 78"))

    assert end(play, load, machine_log(began=play.clock.now)).verdict == "pass"


def test_a_log_that_names_its_machine_by_the_books_own_tag_is_taken(
    play: Play, steriliser: str
) -> None:
    log = machine_log(began=play.clock.now, serial=steriliser)

    assert end(play, started(play, steriliser), log).verdict == "pass"


def test_where_no_serial_is_on_the_register_any_name_is_taken(play: Play) -> None:
    nameless = play.add("steriliser-vacuum")
    describe(play, nameless)

    log = machine_log(began=play.clock.now, serial="SN 78")

    assert end(play, started(play, nameless), log).verdict == "pass"


def test_the_same_bytes_are_never_the_log_of_two_loads(play: Play) -> None:
    plain = play.add("steriliser-vacuum")
    end(play, started(play, plain), steam_log(1), "1")
    second = started(play, plain)

    with pytest.raises(Refused, match="very same log was handed in for load"):
        end(play, second, steam_log(1), "2")

    assert now(play, second).state == "running"
    assert end(play, second, steam_log(2), "2").verdict == "pass"


@pytest.mark.parametrize(
    ("minutes", "says"), [(0, ""), (4, "4 min fast"), (-70, "1 h 10 min slow")]
)
def test_the_machines_clock_is_measured_and_moves_nothing(
    play: Play, steriliser: str, minutes: int, says: str
) -> None:
    load = started(play, steriliser)
    began = play.clock.now

    judged = end(play, load, machine_log(began=began + timedelta(minutes=minutes)))

    assert says in clock_says(judged.started, judged.log_started)
    assert bool(clock_says(judged.started, judged.log_started)) == bool(says)
    assert judged.ended == began


def test_summer_time_of_the_layouts_zone_is_no_wrong_clock(play: Play, steriliser: str) -> None:
    play.clock.now = datetime(2026, 7, 1, 9, 0, tzinfo=UTC)
    load = started(play, steriliser)

    judged = end(play, load, machine_log(began=play.clock.now + timedelta(hours=1)))

    assert clock_says(judged.started, judged.log_started) == ""


BAD = {
    b"": "empty",
    b"PK\x03\x04rest": "no text",
    b"\x00" * 90: "no text",
    "Serial;1\nCycle;4\n\nDate;Time;Chamber °C;Chamber bar\n".encode("latin-1"): "not in UTF-8",
    b"Serial;1\nCycle;4\n\nDate;Time\n1;2\n": "no column",
    "Serial;1\nCycle;4\n\nDate;Time;Chamber °C;Chamber bar\n"
    "04.03.2026;12:00:00;21.5;0,1\n".encode(): "decimal comma",
    "Serial;1\nCycle;4\n\nDate;Time;Chamber °C;Chamber bar\n"
    "04.03.2026;12:00:00;21,5;0,1\n04.03.2026;12:00:02;275,5;0,1\n".encode(): "looks like °F",
    "Serial;1\nCycle;4\n\nDate;Time;Chamber °C;Chamber bar\n"
    "04.03.2026;12:00:00;21,5;0,1\n04.03.2026;12:00:02;25,5;215,1\n".encode(): "unit cannot be bar",
}


@pytest.mark.parametrize(("data", "says"), BAD.items(), ids=BAD.values())
def test_what_cannot_be_read_by_the_layout_is_one_sentence_and_changes_nothing(
    play: Play, steriliser: str, data: bytes, says: str
) -> None:
    load = started(play, steriliser)

    with pytest.raises(Refused, match=says) as caught:
        end(play, load, data)

    assert str(caught.value).endswith(".")
    assert now(play, load) == load


def test_a_layout_that_no_longer_makes_sense_is_told_as_a_log_that_cannot_be_read() -> None:
    with pytest.raises(UnreadableLog, match="no layout of a log"):
        logs.read(b"seconds,celsius\n0,1\n1,2\n", '{"columns": 3}')


def test_the_tables_of_logs_follow_from_the_ledger(play: Play, steriliser: str) -> None:
    end(play, started(play, steriliser), machine_log(began=play.clock.now))
    with acting(play.clinic, by="") as act:
        act.tell(facts.LogUnclaimed, machine=steriliser, log="ab" * 32, name="x", cycle_no="9")
        act.tell(facts.LogUnclaimed, machine=steriliser, log="cd" * 32, name="y")
    with acting(play.clinic, by=play.people["manager"]) as act:
        logs.explain(act, "ab" * 32, "the engineer ran it empty")

    assert differences(play.clinic.store, play.clinic.settings.data) == []
    assert [stray.name for stray in log_rows.stray_logs(play.clinic.store)] == ["y"]


def test_what_was_explained_is_not_explained_again_nor_with_nothing(
    play: Play, steriliser: str
) -> None:
    with acting(play.clinic, by="") as act:
        act.tell(facts.LogUnclaimed, machine=steriliser, log="ab" * 32, name="x")

    with pytest.raises(Refused, match="Say what the cycle was"), acting(play.clinic, "") as act:
        logs.explain(act, "ab" * 32, " ")
    with acting(play.clinic, by=play.people["nurse"]) as act:
        logs.explain(act, "ab" * 32, "a warm-up cycle")
    with pytest.raises(Refused, match="no open question"), acting(play.clinic, "") as act:
        logs.explain(act, "ab" * 32, "another")
