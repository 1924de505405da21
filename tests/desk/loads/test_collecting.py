"""The watched folder: logs that machines write there are judged with their load or asked about."""

from datetime import timedelta
from hashlib import sha256
from pathlib import Path

import pytest

from equip import facts
from equip.demo.cycles import steam_log
from equip.desk.act.act import Refused, acting
from equip.desk.loads import watched_folder
from equip.desk.loads.end import end_load
from equip.desk.loads.watched_folder import Collector, NotCollected
from equip.desk.machines import sheets
from equip.rules.loads.load import Load
from equip.store.fold.rebuild import differences
from equip.store.kept import files
from equip.store.ledger import ledger
from equip.store.readings import load_rows, log_rows
from tests.support.machine_logs import JSON, machine_log
from tests.support.playing import Play


@pytest.fixture
def root(tmp_path: Path) -> Path:
    made = tmp_path / "logs"
    made.mkdir()
    return made


@pytest.fixture
def collector(play: Play, root: Path) -> Collector:
    return Collector(play.clinic, root)


@pytest.fixture
def steriliser(play: Play, root: Path) -> str:
    tag = play.add("steriliser-vacuum", serial="SN-77")
    with acting(play.clinic, by=play.people["manager"]) as act:
        act.tell(facts.LayoutSet, machine=tag, layout=JSON, reason="as it writes it")
    (root / tag).mkdir()
    return tag


def started(play: Play, machine: str) -> Load:
    play.scan("start over", machine, play.add("hook"), "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    return load


def ended(play: Play, machine: str, cycle_no: str) -> Load:
    load = started(play, machine)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, cycle_no=cycle_no)
    return now(play, load)


def now(play: Play, load: Load) -> Load:
    found = load_rows.load_of(play.clinic.store, load.load)
    assert found is not None
    return found


def settle(play: Play, collector: Collector) -> None:
    """Three beats: seen, at rest, taken in."""
    for _ in range(3):
        collector.collect()
        play.clock.passes(seconds=30)


def inside(folder: Path) -> dict[str, list[str]]:
    """The names of the files in a machine's folder, by sub-folder."""
    return {
        where: sorted(path.name for path in (folder / where).glob("*") if path.is_file())
        for where in (".", "done", "unclaimed", "unread")
    }


def entries(play: Play) -> int:
    return sum(head.position for head in ledger.heads(play.clinic.store).values())


def test_each_machine_that_a_log_can_judge_gets_its_folder(
    play: Play, root: Path, collector: Collector
) -> None:
    steriliser, pump = play.add("steriliser-vacuum"), play.add("suction-pump")

    collector.collect()

    assert (root / steriliser).is_dir()
    assert not (root / pump).exists()


def test_a_log_is_judged_with_the_load_that_waits_for_its_number(
    play: Play, root: Path, collector: Collector, steriliser: str
) -> None:
    load = ended(play, steriliser, "41")
    log = machine_log("0041", began=play.clock.now)
    (root / steriliser / "CYCLE.LOG").write_bytes(log)

    settle(play, collector)

    judged = now(play, load)
    assert (judged.state, judged.verdict, judged.layout) == ("judged", "pass", JSON)
    assert inside(root / steriliser)["done"] == ["CYCLE.LOG"]
    assert (root / steriliser / "done" / "CYCLE.LOG").read_bytes() == log
    assert files.fetch(play.clinic.store, judged.log) == log


def test_a_log_that_still_grows_is_left_alone(
    play: Play, root: Path, collector: Collector, steriliser: str
) -> None:
    load = ended(play, steriliser, "41")
    log = machine_log(began=play.clock.now)
    path = root / steriliser / "CYCLE.LOG"
    for share in (3, 2):
        path.write_bytes(log[: len(log) // share])
        collector.collect()
        play.clock.passes(seconds=59)

    assert collector.collect() == 0
    assert now(play, load).state == "ended"
    path.write_bytes(log)
    settle(play, collector)
    assert now(play, load).verdict == "pass"


@pytest.mark.parametrize("name", [".hidden", "CYCLE.tmp", "CYCLE.PART"])
def test_half_written_and_hidden_files_are_left_alone(
    play: Play, root: Path, collector: Collector, steriliser: str, name: str
) -> None:
    (root / steriliser / name).write_bytes(machine_log(began=play.clock.now))
    (root / steriliser / "link.log").symlink_to(root / steriliser / name)

    settle(play, collector)

    assert inside(root / steriliser)["."] == sorted([name, "link.log"])


def test_the_only_log_of_a_cycle_that_began_with_the_running_load_is_its_own(
    play: Play, root: Path, collector: Collector, steriliser: str
) -> None:
    load = started(play, steriliser)
    log = machine_log("41", began=play.clock.now + timedelta(minutes=4))
    play.clock.passes(minutes=25)
    (root / steriliser / "41.log").write_bytes(log)

    settle(play, collector)

    judged = now(play, load)
    assert (judged.state, judged.verdict, judged.cycle_no) == ("judged", "pass", "41")


@pytest.mark.parametrize("minutes_before", [45, 20])
def test_the_late_log_of_an_earlier_cycle_is_not_the_running_loads(
    play: Play, root: Path, collector: Collector, steriliser: str, minutes_before: int
) -> None:
    load = started(play, steriliser)
    log = machine_log("40", began=play.clock.now - timedelta(minutes=minutes_before))
    play.clock.passes(minutes=25)
    (root / steriliser / "40.log").write_bytes(log)

    settle(play, collector)

    assert now(play, load).state == "running"
    assert inside(root / steriliser)["unclaimed"] == ["40.log"]


def test_of_two_logs_at_once_neither_is_guessed_to_be_the_running_loads(
    play: Play, root: Path, collector: Collector, steriliser: str
) -> None:
    load = started(play, steriliser)
    for number in ("41", "42"):
        log = machine_log(number, began=play.clock.now, seed=int(number))
        (root / steriliser / f"{number}.log").write_bytes(log)
    play.clock.passes(minutes=25)

    settle(play, collector)

    assert now(play, load).state == "running"
    assert len(log_rows.stray_logs(play.clinic.store)) == 2


def test_a_log_of_no_load_is_kept_and_asked_about_once(
    play: Play, root: Path, collector: Collector, steriliser: str
) -> None:
    log = machine_log("43", began=play.clock.now)
    for name in ("a.log", "b.log"):
        (root / steriliser / name).write_bytes(log)
        settle(play, collector)

    strays = log_rows.stray_logs(play.clinic.store)
    assert [(s.machine, s.name, s.cycle_no, s.layout) for s in strays] == [
        (steriliser, "a.log", "43", JSON)
    ]
    assert strays[0].why == "No load of this machine that waits for its log has cycle 43."
    assert files.fetch(play.clinic.store, strays[0].log) == log
    assert inside(root / steriliser)["unclaimed"] == ["a.log", "b.log"]
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_a_log_that_came_before_its_number_was_told_is_joined_when_it_is(
    play: Play, root: Path, collector: Collector, steriliser: str
) -> None:
    running = started(play, steriliser)
    later = machine_log("43", began=play.clock.now + timedelta(hours=3))
    (root / steriliser / "43.log").write_bytes(later)
    settle(play, collector)
    assert now(play, running).state == "running"

    play.scan(running.load, "end the load", "43")
    collector.collect()

    assert now(play, running).verdict == "pass"
    assert log_rows.stray_logs(play.clinic.store) == []


def test_the_log_of_another_load_that_has_its_evidence_says_so(
    play: Play, root: Path, collector: Collector, steriliser: str
) -> None:
    load = ended(play, steriliser, "41")
    for seed in (1, 2):
        (root / steriliser / f"{seed}.log").write_bytes(
            machine_log("41", began=play.clock.now, seed=seed)
        )

    settle(play, collector)

    assert now(play, load).verdict == "pass"
    assert "which has its evidence" in log_rows.stray_logs(play.clinic.store)[0].why


def test_a_log_that_names_another_machine_is_asked_about(
    play: Play, root: Path, collector: Collector, steriliser: str
) -> None:
    load = ended(play, steriliser, "41")
    (root / steriliser / "41.log").write_bytes(
        machine_log("41", began=play.clock.now, serial="SN 78")
    )

    settle(play, collector)

    assert now(play, load) == load
    assert "names the machine “SN 78”" in log_rows.stray_logs(play.clinic.store)[0].why


def test_the_log_of_a_recorded_test_cycle_is_no_question(
    play: Play, root: Path, collector: Collector, steriliser: str
) -> None:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        sheets.record(act, steriliser, "door-seal", passed=True, cycle_no="40")
    (root / steriliser / "40.log").write_bytes(machine_log("40", began=play.clock.now))

    settle(play, collector)

    assert inside(root / steriliser)["unclaimed"] == ["40.log"]
    assert log_rows.stray_logs(play.clinic.store) == []


def test_a_plain_log_has_no_number_and_is_asked_about(
    play: Play, root: Path, collector: Collector
) -> None:
    plain = play.add("steriliser-vacuum")
    load = ended(play, plain, "7")
    collector.collect()
    (root / plain / "7.csv").write_bytes(steam_log(7))

    settle(play, collector)

    stray = log_rows.stray_logs(play.clinic.store)[0]
    assert stray.why == "The log has no cycle number."
    with acting(play.clinic, by=play.people["nurse"]) as act:
        watched_folder.claim(act, load, stray.log)
    assert now(play, load).verdict == "pass"
    assert log_rows.stray_logs(play.clinic.store) == []


@pytest.mark.parametrize(
    ("data", "says"), [(b"", "empty"), (b"PK\x03\x04", "no text"), (b"1;2\n", "no reading")]
)
def test_what_cannot_be_read_is_put_aside_with_the_sentence_beside_it(
    play: Play, root: Path, collector: Collector, steriliser: str, data: bytes, says: str
) -> None:
    for _ in range(2):
        (root / steriliser / "x.log").write_bytes(data)
        settle(play, collector)

    assert inside(root / steriliser)["unread"] == [
        "x-2.log",
        "x-2.log.txt",
        "x.log",
        "x.log.txt",
    ]
    assert says in (root / steriliser / "unread" / "x.log.txt").read_text("utf-8")
    assert (root / steriliser / "unread" / "x.log").read_bytes() == data
    assert [where for where, _ in watched_folder.unread(root)] == [
        f"{steriliser}/unread/x-2.log",
        f"{steriliser}/unread/x.log",
    ]


def test_a_log_put_back_once_the_layout_is_mended_is_taken_in(
    play: Play, root: Path, collector: Collector
) -> None:
    machine = play.add("steriliser-vacuum")
    load = ended(play, machine, "41")
    collector.collect()
    (root / machine / "41.log").write_bytes(machine_log("41", began=play.clock.now))
    settle(play, collector)
    with acting(play.clinic, by=play.people["manager"]) as act:
        act.tell(facts.LayoutSet, machine=machine, layout=JSON, reason="mended")

    (root / machine / "unread" / "41.log").rename(root / machine / "41.log")
    settle(play, collector)

    assert now(play, load).verdict == "pass"
    assert watched_folder.unread(root) == []


@pytest.mark.parametrize("number", ["41", "99"])
def test_a_power_cut_between_the_entry_and_the_move_writes_nothing_twice(
    play: Play,
    root: Path,
    collector: Collector,
    steriliser: str,
    number: str,
) -> None:
    ended(play, steriliser, "41")
    log = machine_log(number, began=play.clock.now)
    path = root / steriliser / "c.log"
    path.write_bytes(log)
    settle(play, collector)
    where = "done" if number == "41" else "unclaimed"
    (root / steriliser / where / "c.log").rename(path)
    before = entries(play)

    settle(play, Collector(play.clinic, root))

    assert entries(play) == before
    assert inside(root / steriliser)[where] == ["c.log"]


def test_a_folder_that_cannot_be_written_stops_no_other_machine_and_is_told(
    play: Play, root: Path, collector: Collector, steriliser: str
) -> None:
    other = play.add("steriliser-vacuum")
    (root / other).mkdir()
    (root / other / "unclaimed").symlink_to(root / "nowhere")  # so that no folder can be made
    (root / other / "x.csv").write_bytes(steam_log(9))
    load = ended(play, steriliser, "41")
    (root / steriliser / "41.log").write_bytes(machine_log("41", began=play.clock.now))

    for _ in range(2):
        with pytest.raises(NotCollected, match="check who may read and write there"):
            settle(play, collector)

    assert now(play, load).verdict == "pass"
    assert (root / other / "x.csv").read_bytes() == steam_log(9)
    assert [s.name for s in log_rows.stray_logs(play.clinic.store)].count("x.csv") == 1


def test_a_folder_that_is_not_there_is_told(play: Play, tmp_path: Path) -> None:
    with pytest.raises(NotCollected, match="There is no folder"):
        Collector(play.clinic, tmp_path / "nowhere").collect()


def test_the_log_of_another_machine_is_claimed_by_nobody(
    play: Play, root: Path, collector: Collector, steriliser: str
) -> None:
    log = machine_log("43", began=play.clock.now)
    (root / steriliser / "43.log").write_bytes(log)
    settle(play, collector)
    load = ended(play, play.add("steriliser-vacuum"), "43")

    with pytest.raises(Refused, match="none of this machine"), acting(play.clinic, "") as act:
        watched_folder.claim(act, load, sha256(log).hexdigest())
