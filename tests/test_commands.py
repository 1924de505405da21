"""The command line as a script calls it: JSON, statuses, one sentence for what goes wrong."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from peewee import sqlite3

from equip.store.database import Store, migrate
from tests.support.playing import Play
from tests.support.stopped import StoppedClock

ROOT = Path(__file__).parents[1]
LOGS = Path(__file__).parent / "published" / "cycles"


def call(folder: Path, *words: str, given: str = "", **environ: str) -> tuple[int, Any]:
    """Run `python app.py …` in its own process from an empty data folder; status and JSON."""
    ours = {"PATH": os.environ["PATH"], "EQUIP_DATA": str(folder / "data"), **environ}
    done = subprocess.run(
        [sys.executable, str(ROOT / "app.py"), *words],
        input=given,
        capture_output=True,
        text=True,
        env=ours,
        cwd=folder,
        check=False,
        timeout=120,
    )
    lines = done.stdout.strip().splitlines()
    return done.returncode, json.loads(lines[-1]) if lines and lines[-1][0] == "{" else lines


HEAVY = {
    "PIL",
    "apscheduler",
    "argon2",
    "cryptography",
    "flask",
    "holidays",
    "msgspec",
    "numpy",
    "peewee",
    "playhouse",
    "psycopg",
    "pysqlite3",
    "qrcode",
    "reportlab",
    "waitress",
    "werkzeug",
}
ONLY_TO_SERVE = {"PIL", "apscheduler", "flask", "numpy", "qrcode", "reportlab", "waitress"}


def loaded(folder: Path, *words: str, given: str = "") -> set[str]:
    """The top-level packages that a process has loaded once it ran `app.py` with *words*."""
    script = (
        "import runpy, sys\n"
        f"sys.path.insert(0, {str(ROOT)!r})\n"
        f"sys.argv = ['app.py', *{words!r}]\n"
        "try:\n"
        f"    runpy.run_path({str(ROOT / 'app.py')!r}, run_name='__main__')\n"
        "except SystemExit as end:\n"
        "    assert end.code == 0, end.code\n"
        "print('\\n'.join(sorted({name.partition('.')[0] for name in sys.modules})))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        input=given,
        capture_output=True,
        text=True,
        env={"PATH": os.environ["PATH"], "EQUIP_DATA": str(folder / "data")},
        cwd=folder,
        check=True,
        timeout=120,
    )
    return set(done.stdout.splitlines())


@pytest.mark.parametrize(
    ("words", "given"),
    [
        (("--help",), ""),
        (("check", "tag"), '{"text": "E000000019"}'),
        (
            ("check", "f0"),
            '{"seconds": [0, 60], "celsius": [121, 121], "z_kelvin": 10, "reference_celsius": 121}',
        ),
    ],
)
def test_a_command_that_needs_no_rule_reads_no_rule_book_and_loads_nothing_heavy(
    tmp_path: Path, words: tuple[str, ...], given: str
) -> None:
    packages = loaded(tmp_path, *words, given=given)

    assert "equip" in packages
    assert packages & (HEAVY | {"tomllib"}) == set()


def test_a_check_by_a_rule_reads_the_rule_book_and_loads_nothing_heavy(tmp_path: Path) -> None:
    asked = '{"seconds": [0, 60], "celsius": [90, 90], "target_s": 60}'

    packages = loaded(tmp_path, "check", "a0", given=asked)

    assert "tomllib" in packages
    assert packages & HEAVY == set()


def test_a_command_that_reads_the_book_does_not_load_what_only_a_server_needs(
    tmp_path: Path,
) -> None:
    packages = loaded(tmp_path, "due", "--json")

    assert "peewee" in packages
    assert packages & ONLY_TO_SERVE == set()


@pytest.mark.parametrize(
    ("log", "status", "verdict"),
    [("clean-134", 0, "pass"), ("short-134", 1, "fail"), ("air-134", 1, "fail")],
)
def test_judge_says_its_verdict_by_its_status(
    tmp_path: Path, log: str, status: int, verdict: str
) -> None:
    got = call(tmp_path, "judge", str(LOGS / f"{log}.csv"), "--programme", "steam-134", "--json")

    assert got[0] == status
    assert got[1]["verdict"] == verdict
    assert set(got[1]) >= {"verdict", "reasons", "figures", "rules"}
    assert not (tmp_path / "data").exists()


LAYOUTS = Path(__file__).parent / "published" / "layouts"


def test_judge_reads_a_machines_own_log_by_its_layout(tmp_path: Path) -> None:
    words = ("judge", str(LOGS / "gauge-bar-semicolon.txt"), "--programme", "steam-134", "--json")

    status, answer = call(tmp_path, *words, "--layout", str(LAYOUTS / "gauge-bar-semicolon.json"))
    plain, refused = call(tmp_path, *words)

    assert (status, answer["verdict"], answer["figures"]["hold_s"]) == (0, "pass", 236)
    assert answer["log"] == {"machine": "D000000058", "cycle_no": "004117", "started": None}
    assert any("air pressure were added" in reason["says"] for reason in answer["reasons"])
    assert (plain, list(refused)) == (64, ["error"])


@pytest.mark.parametrize(
    ("layout", "says"),
    [
        ("nowhere.json", "could not be opened"),
        ('{"delimiter": "comma", "decimal": "comma"}', "Commas cannot part both"),
        ('{"columns": 3}', "is no layout of a log"),
        ("\x00", "is no layout of a log"),
        ('{"probes": ["Oven"]}', "no column"),
    ],
)
def test_a_layout_that_will_not_do_is_64_and_one_sentence(
    tmp_path: Path, layout: str, says: str
) -> None:
    path = tmp_path / "layout.json"
    if not layout.endswith(".json"):
        path.write_text(layout, "utf-8")
    words = ("judge", str(LOGS / "clean-134.csv"), "--programme", "steam-134", "--json")

    status, answer = call(tmp_path, *words, "--layout", str(path))

    assert (status, list(answer)) == (64, ["error"])
    assert says in answer["error"]


def test_without_a_layout_judge_answers_as_it_always_did(tmp_path: Path) -> None:
    words = ("judge", str(LOGS / "clean-134.csv"), "--programme", "steam-134", "--json")

    assert set(call(tmp_path, *words)[1]) == {"verdict", "reasons", "figures", "rules"}


def test_a_judgement_within_the_sensors_uncertainty_is_undecided(tmp_path: Path) -> None:
    words = ("judge", str(LOGS / "clean-134.csv"), "--programme", "steam-134", "--json")

    status, answer = call(tmp_path, *words, "--uncertainty", "1.45")

    assert (status, answer["verdict"]) == (2, "undecided")


@pytest.mark.parametrize(
    ("words", "given"),
    [
        (("judge", "nowhere.csv", "--programme", "steam-134"), ""),
        (("judge", "nowhere.csv"), ""),
        (("judge", str(LOGS / "clean-134.csv"), "--programme", "steam-999"), ""),
        (("check", "tag"), "no json"),
        (("check", "tag"), '{"text": "E000000018"}'),
        (("check", "f0"), '{"seconds": [0, NaN], "celsius": [1, 2]}'),
        (("check", "unheard-of"), "{}"),
        (("check", "tag"), ""),
        (("check", "tag"), "[]"),
        (("check", "tag"), "[" * 100_000),
        (("check", "tag"), '{"a":' * 100_000),
        (("check", "tag"), '{"text": "E000000019", "text": "E000000027"}'),
        (("check", "tag"), '{"text": "\\ud800"}'),
        (("check", "steam", "--on", "20260101"), '{"kpa": 300}'),
        (("check", "steam", "--book", "france"), '{"kpa": 300}'),
        (("unheard-of",), ""),
        ((), ""),
        (("history", "--item", "E000000019"), ""),
        (("import", "register", "nowhere.csv"), ""),
        (("due", "--on", "2026-02-30"), ""),
    ],
)
def test_what_makes_no_sense_is_64_and_one_sentence(
    tmp_path: Path, words: tuple[str, ...], given: str
) -> None:
    status, answer = call(tmp_path, *words, "--json", given=given)

    assert status == 64
    assert list(answer) == ["error"]
    assert answer["error"].endswith(".")


def test_a_constant_that_json_does_not_know_is_named(tmp_path: Path) -> None:
    status, answer = call(tmp_path, "check", "steam", "--json", given='{"kpa": Infinity}')

    assert (status, answer) == (64, {"error": "Infinity is no number: give a finite value."})


def test_a_byte_order_mark_before_the_object_is_passed_over(tmp_path: Path) -> None:
    status, answer = call(tmp_path, "check", "steam", "--json", given='\ufeff{"celsius": 100}')

    assert status == 0
    assert answer["kpa"] == pytest.approx(101.418, abs=1e-3)


@pytest.mark.parametrize("encoding", ["utf-8", "ascii"])
def test_any_text_comes_back_as_it_was_whatever_the_terminal_can_show(
    tmp_path: Path, encoding: str
) -> None:
    loads = [{"load": "é“\ud800", "spore": "positive"}]
    given = json.dumps({"process": "other", "loads": loads})

    status, answer = call(
        tmp_path, "check", "spore", "--json", given=given, PYTHONIOENCODING=encoding
    )

    assert status == 0
    assert answer["in_doubt"] == ["é“\ud800"]


def test_wrong_settings_are_all_named_at_once(tmp_path: Path) -> None:
    status, answer = call(tmp_path, "due", "--json", EQUIP_BOOK="france", EQUIP_ZONE="Mars/North")

    assert status == 64
    assert "EQUIP_BOOK" in answer["error"]
    assert "EQUIP_ZONE" in answer["error"]


def test_the_first_command_makes_the_book_and_its_keys(tmp_path: Path) -> None:
    status, answer = call(tmp_path, "due", "--json")

    assert (status, answer["due"]) == (0, [])
    assert (tmp_path / "data" / "book.sqlite3").exists()
    modes = {path.stat().st_mode & 0o777 for path in (tmp_path / "data" / "keys").iterdir()}
    assert modes == {0o600}


def test_a_register_is_taken_in_whole_or_not_at_all(tmp_path: Path) -> None:
    good = tmp_path / "good.csv"
    good.write_text("type,arrival,name\nhook,factory-new,one\nHook,loaned,two\n")
    bad = tmp_path / "bad.csv"
    bad.write_text("type,arrival\nhook,factory-new\nhooc,factory-new\nhook,borrowed\n")

    refused = call(tmp_path, "import", "register", str(bad), "--json")
    partly = call(tmp_path, "import", "register", str(bad), "--partial", "--json")
    whole = call(tmp_path, "import", "register", str(good), "--json")

    assert refused[0] == 64
    assert refused[1]["taken"] == []
    assert [fault["line"] for fault in refused[1]["faults"]] == [3, 4]
    assert (partly[0], len(partly[1]["taken"])) == (0, 1)
    assert (whole[0], len(whole[1]["taken"])) == (0, 2)


def test_history_and_verify_answer_a_script(tmp_path: Path) -> None:
    register = tmp_path / "register.csv"
    register.write_text("type,arrival,old_name\nhook,factory-new,H-17\n")
    call(tmp_path, "import", "register", str(register), "--json")

    history = call(tmp_path, "history", "--item", "H-17", "--json")
    proof = call(tmp_path, "verify", "--json")

    assert history[0] == 0
    assert history[1]["lines"][0]["kind"] == "item-added"
    assert history[1]["lines"][0]["path"].startswith("HOME/")
    assert (proof[0], proof[1]["verdict"]) == (0, "pass")


def test_a_book_whose_triggers_are_gone_is_not_opened_but_can_be_verified(
    tmp_path: Path,
) -> None:
    call(tmp_path, "due", "--json")
    with sqlite3.connect(str(tmp_path / "data" / "book.sqlite3")) as book:
        book.execute("DROP TRIGGER ledger_no_delete")
    book.close()

    opened = call(tmp_path, "due", "--json")
    proof = call(tmp_path, "verify", "--json")

    assert opened[0] == 64
    assert "ledger_no_delete is missing" in opened[1]["error"]
    assert proof[0] == 1
    assert "ledger_no_delete" in proof[1]["unguarded"][0]


def test_a_tail_that_was_cut_with_its_head_is_found_by_what_was_kept_apart(
    tmp_path: Path,
) -> None:
    call(tmp_path, "manager", "Mo Reed", given="a long password\n")
    book = sqlite3.connect(str(tmp_path / "data" / "book.sqlite3"))
    triggers = book.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in triggers:
        book.execute(f"DROP TRIGGER {name}")
    last, seal = book.execute(
        "SELECT position, seal FROM ledger ORDER BY position DESC LIMIT 1 OFFSET 1"
    ).fetchone()
    book.execute("DELETE FROM ledger WHERE position > ?", (last,))
    book.execute("UPDATE head SET position = ?, seal = ?", (last, seal))
    for _, sql in triggers:
        book.execute(sql)
    book.commit()
    book.close()

    by_acts = call(tmp_path, "verify", "--chain", "--json")
    with sqlite3.connect(str(tmp_path / "data" / "book.sqlite3")) as book:
        book.execute("DELETE FROM act")
    book.close()
    by_heads = call(tmp_path, "verify", "--chain", "--json")

    for status, answer in (by_acts, by_heads):
        assert status == 1
        assert answer["fault"]["position"] == last + 1
        assert "tail is cut" in answer["fault"]["says"]


def test_the_first_manager_signs_in_by_name(tmp_path: Path) -> None:
    short = call(tmp_path, "manager", "Mo Reed", "--json", given="short\n")
    made = call(tmp_path, "manager", "Mo Reed", given="a long password\n")

    assert short[0] == 64
    assert made[0] == 0
    assert "Mo Reed signs in" in made[1][0]


def test_the_cycle_record_of_a_load_is_written_to_a_file(tmp_path: Path) -> None:
    data = tmp_path / "data"
    data.mkdir()
    store = Store.open(str(data / "book.sqlite3"))
    migrate(store)
    store.connect()
    play = Play.begin(store, StoppedClock(), data)
    load = play.run(play.add("steriliser-vacuum"), play.add("hook"), hold_s=140)
    store.dispose()

    made = call(tmp_path, "record", load, "--out", "it.pdf", "--json", EQUIP_SITE="TEST")
    nowhere = call(tmp_path, "record", load, "--out", "no/it.pdf", "--json", EQUIP_SITE="TEST")
    unknown = call(tmp_path, "record", "L000000019", "--out", "x.pdf", "--json", EQUIP_SITE="TEST")
    no_tag = call(tmp_path, "record", "today", "--out", "x.pdf", "--json", EQUIP_SITE="TEST")

    size = (tmp_path / "it.pdf").stat().st_size
    assert made == (0, {"load": load, "verdict": "fail", "file": "it.pdf", "bytes": size})
    assert (tmp_path / "it.pdf").read_bytes().startswith(b"%PDF-")
    for status, answer in (nowhere, unknown, no_tag):
        assert status == 64
        assert answer["error"].endswith((".", "check the tag."))
    assert not (tmp_path / "x.pdf").exists()


def test_a_past_is_brought_in_with_a_summary_and_a_faulty_one_by_its_lines(tmp_path: Path) -> None:
    header = "when,what,item,patient,load,machine,programme,result,who,ear,note\n"
    uses = "2026-01-05T08:00:00Z,use,A,REF1,,,,,,,\n2026-01-05T09:00:00Z,use,A,REF2,,,,,,,\n"
    (tmp_path / "good.csv").write_text(header + uses, encoding="utf-8")
    (tmp_path / "bad.csv").write_text(header + "never,use,A,REF1,,,,,,,\n", encoding="utf-8")

    status, lines = call(tmp_path, "import", "past", "good.csv")
    refused = call(tmp_path, "import", "past", "bad.csv")
    absent = call(tmp_path, "import", "past", "none.csv", "--json")

    assert (status, lines[0]) == (
        0,
        "Taken in: 2 of 2 lines, 0 were here already. New: 1 thing, no loads.",
    )
    assert "nothing between that cleared the thing: 1; " in lines[1]
    assert "nothing known before them: 1." in lines[1]
    assert refused[0] == 64
    assert refused[1][0].startswith("Line 2: “never”")
    assert refused[1][-1] == "1 fault: nothing was taken in."
    assert absent == (64, {"error": "There is no file none.csv."})
