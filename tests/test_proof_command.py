"""`proof` as a script calls it: the file it writes, the digest it prints, what it refuses."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from equip.deliver.proof import verify
from tests.support.proofs import faults, files_in
from tests.test_commands import call

PAST = Path(__file__).parent / "past" / "past.csv"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the invented history in it."""
    folder = tmp_path_factory.mktemp("proofs")
    status, _ = call(folder, "import", "past", str(PAST), "--json")
    assert status == 0
    return folder


def test_proof_writes_the_answer_of_lookback_and_prints_its_digest(folder: Path) -> None:
    question = ("--load", "L5-4")
    _, told = call(folder, "lookback", *question, "--json")

    status, answer = call(folder, "proof", *question, "--out", "a.zip", "--json")

    data = (folder / "a.zip").read_bytes()
    found = files_in(data)
    assert (status, answer["uses"], answer["bytes"]) == (0, len(told["exposures"]), len(data))
    assert faults(found, answer["digest"]) == []
    assert verify.csv_of(told) == found["exposures.csv"]
    assert b"REF5" not in data


def test_with_references_and_a_reason_patients_are_named(folder: Path) -> None:
    words = ("proof", "--patient", "REF5004", "--out", "b.zip", "--references", "--json")

    refused = call(folder, *words)
    status, answer = call(folder, *words, "--reason", "they are told")

    assert refused[0] == 64
    assert "--reason" in refused[1]["error"]
    found = files_in((folder / "b.zip").read_bytes())
    assert status == 0
    assert b"REF5004" in found["patients.csv"]
    assert faults(found, answer["digest"]) == []


def test_the_digest_is_printed_for_people_and_kept_in_the_book(folder: Path) -> None:
    status, lines = call(folder, "proof", "--load", "L5-6", "--out", "c.zip")
    (load,) = json.loads(files_in((folder / "c.zip").read_bytes())["evidence.json"])["loads"]
    _, history = call(folder, "history", "--load", load, "--json")

    assert status == 0
    told = [one["says"] for one in history["lines"] if one["kind"] == "proof-given"]
    assert len(told) == 1
    assert lines[-1][:12] in told[0]


@pytest.mark.parametrize("out", ["nowhere/a.zip", "."])
def test_a_file_that_cannot_be_written_is_refused_before_anything_is_told(
    folder: Path, out: str
) -> None:
    before = call(folder, "verify", "--chain", "--json")[1]["entries"]

    status, answer = call(folder, "proof", "--load", "L5-4", "--out", out, "--json")

    assert (status, "cannot be written" in answer["error"]) == (64, True)
    assert call(folder, "verify", "--chain", "--json")[1]["entries"] == before


def test_a_changed_byte_is_found_by_the_file_s_own_verifier(folder: Path) -> None:
    call(folder, "proof", "--load", "L5-4", "--out", "d.zip", "--json")
    data = (folder / "d.zip").read_bytes()
    (folder / "verify.py").write_bytes(files_in(data)["verify.py"])
    (folder / "d.zip").write_bytes(data.replace(b"certain", b"curtain", 1))

    ran = subprocess.run(
        [sys.executable, "-I", "verify.py", "d.zip"], cwd=folder, capture_output=True, text=True
    )

    assert (ran.returncode, ran.stderr) == (1, "")
    assert "d.zip cannot be read as a zip" in ran.stdout
