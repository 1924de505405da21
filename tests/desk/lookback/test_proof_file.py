"""A proof file: what is in it, that it verifies alone, and that whatever is changed is found."""

import ast
import csv
import io
import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from equip import facts
from equip.deliver.proof import verify
from equip.desk.act.act import Refused, acting
from equip.desk.lookback import exposure_answer, exposure_json
from equip.desk.lookback.cases import case_acts
from equip.desk.lookback.exposure_answer import Scope
from equip.desk.lookback.proof import proof_file
from equip.desk.lookback.proof.evidence import extract, proofs, sizes
from equip.desk.lookback.proof.proof_file import ProofQuestion
from equip.rules.lookback import merkle
from equip.store.fold.rebuild import differences
from equip.store.ledger import extracts, ledger
from equip.store.ledger.about import told_about
from tests.support.past_play import as_file, bring_in, history, row
from tests.support.playing import Play
from tests.support.proofs import anew, edited, faults, files_in, lines_of, unpacked, with_lines

REFERENCES = ("12345601", "12345602", "12345603")


def use(play: Play, tag: str, patient: str) -> None:
    play.scan("start over", patient, tag, "finish")


@pytest.fixture
def load(play: Play) -> str:
    """Two hooks: one sterilised between two patients, one not, and one scanned to another."""
    machine, hook, other = play.add("steriliser-vacuum"), play.add("hook"), play.add("hook")
    first, second, third = REFERENCES
    use(play, play.sterile_pack(machine, hook), first)
    pack = play.sterile_pack(machine, hook)
    found = play.clinic.store.one("SELECT ref FROM touch WHERE item = ? ORDER BY at DESC", hook)
    assert found is not None
    play.clock.passes(hours=1)
    use(play, pack, second)
    use(play, other, first)
    use(play, other, third)
    return str(found[0])


def question(play: Play, load: str) -> ProofQuestion:
    return proof_file.of_loads(play.clinic, (load,))


def gathered(play: Play, load: str) -> proof_file.ProofFile:
    return proof_file.gathered(play.clinic, question(play, load), "", play.clock.now)


@pytest.fixture
def files(play: Play, load: str) -> dict[str, bytes]:
    return unpacked(gathered(play, load).made)


@pytest.fixture
def files_with_a_gap(play: Play) -> dict[str, bytes]:
    """A use that nothing known stands before, a load, another use; the load is doubted."""
    rows = [
        row(0, "use", "A", patient="REF1"),
        row(10, "load", "A", load="L1", machine="M1", result="pass"),
        row(20, "use", "A", patient="REF2"),
    ]
    bring_in(play.clinic, as_file(rows))
    return unpacked(gathered(play, exposure_answer.load_named(play.clinic, "L1")).made)


# --- it verifies -------------------------------------------------------------------------------


def test_a_proof_file_verifies_alone_in_its_folder_and_as_a_zip(
    play: Play, load: str, tmp_path: Path
) -> None:
    made = gathered(play, load).made
    folder = tmp_path / "unpacked"
    folder.mkdir()
    for name, data in unpacked(made).items():
        (folder / name).write_bytes(data)
    packed = tmp_path / "proof.zip"
    packed.write_bytes(made.data)

    for where, more in ((folder, []), (tmp_path, [str(packed)])):
        ran = subprocess.run(
            [sys.executable, "-I", str(folder / "verify.py"), *more, "--digest", made.digest],
            cwd=where,
            capture_output=True,
            text=True,
        )
        assert (ran.returncode, ran.stderr) == (0, "")
        assert f"\n{ran.stdout}".count("\nok ") == len(verify.CHECKS) + 2
        assert ran.stdout.endswith("This proof file is as it was made.\n")

    (folder / "answer.json").write_bytes((folder / "answer.json").read_bytes() + b" ")
    ran = subprocess.run(
        [sys.executable, "-I", "verify.py"], cwd=folder, capture_output=True, text=True
    )
    assert ran.returncode == 1
    assert "answer.json was changed" in ran.stdout
    assert "the digest that the book gave was not compared" in ran.stdout


def test_the_verifier_needs_nothing_but_python_3_9() -> None:
    source = Path(verify.__file__).read_text("utf-8")

    tree = ast.parse(source, feature_version=(3, 9))

    imported = [one.module for one in ast.walk(tree) if isinstance(one, ast.ImportFrom)]
    imported += [
        name.name for one in ast.walk(tree) if isinstance(one, ast.Import) for name in one.names
    ]
    assert {str(name).split(".")[0] for name in imported} <= sys.stdlib_module_names
    assert "strict=" not in source


def test_the_verifier_follows_the_tree_and_the_seal_as_the_book_does(play: Play, load: str) -> None:
    store = play.clinic.store
    seals = list(extracts.seals(store, "TEST", 2**62))
    tree = merkle.Tree(seals)
    for index, seal in enumerate(seals):
        path = list(tree.path(index))
        assert verify.root_by(seal, index, len(seals), path) == tree.root
        assert merkle.root_by(seal, index, len(seals), path) == tree.root
    for _, position, recorded, body, seal in ledger.rows(store, "TEST"):
        previous = seals[position - 2] if position > 1 else facts.FIRST
        assert verify.seal_of(previous, "TEST", position, recorded, body) == seal


def test_the_same_ledger_and_time_give_the_same_bytes(play: Play, load: str) -> None:
    assert gathered(play, load) == gathered(play, load)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 2**32))
def test_the_answer_to_any_question_of_any_history_verifies(
    fresh_play: Callable[[], Play], seed: int
) -> None:
    play = fresh_play()
    random = Random(seed)
    rows = history(random)
    bring_in(play.clinic, as_file(rows))
    named = sorted({one["load"] for one in rows if one["what"] == "load"})
    loads = [
        exposure_answer.load_named(play.clinic, one)
        for one in random.sample(named, min(2, len(named)))
    ]
    patients = sorted({one["patient"] for one in rows if one["patient"]})
    scopes = [Scope(loads=tuple(loads))]
    scopes += [Scope(patient=str(play.clinic.vault.find(one))) for one in patients[:2]]
    for scope in scopes:
        answer = exposure_answer.look_back(play.clinic, scope, generations=2)
        asked = ProofQuestion({"generations": 2}, "by somebody", answer)
        given = proof_file.gathered(play.clinic, asked, "", play.clock.now)

        assert faults(unpacked(given.made), given.made.digest) == []


def test_an_item_that_came_from_outside_and_a_mixed_pack_are_followed(play: Play) -> None:
    rows = [
        row(0, "use", "Q1", patient="REF1"),
        row(10, "load", "Q1", load="L1", machine="M1", result="fail", note="contents=2"),
        row(10, "load", "Q2", load="L1", machine="M1", result="fail", note="contents=3"),
        row(20, "packed", "Q3", load="L1", note="fine tip"),
        row(30, "use", "Q3", patient="REF2"),
    ]
    bring_in(play.clinic, as_file(rows))
    hook = play.add("hook", "loaned")
    use(play, hook, REFERENCES[0])
    token = str(play.clinic.vault.find("REF1"))
    answer = exposure_answer.look_back(play.clinic, Scope(patient=token))
    assert [one.certainty.word for one in answer.exposures] == ["possible"]
    open_now = tuple(exposure_answer.open_now(play.clinic))
    assert any(source.patient is None for one in open_now for source in one.sources)
    asked = ProofQuestion({}, "by patient", replace(answer, already_open=open_now))
    found = unpacked(proof_file.gathered(play.clinic, asked, "", play.clock.now).made)

    assert faults(found) == []
    path = json.loads(found["evidence.json"])["exposures"][0]["sources"][0]["path"]
    assert len(path) == 4
    for lost in path:
        assert any(lost in says for says in faults(without(found, lost)))


def without(files: dict[str, bytes], path: str) -> dict[str, bytes]:
    left = [one for one in lines_of(files) if f"{one['site']}/{one['position']}" != path]
    return with_lines(files, left)


def test_a_use_that_was_moved_is_on_the_patient_it_was_moved_to(play: Play, load: str) -> None:
    play.scan("start over", REFERENCES[1])
    before = question(play, load)
    use_id = before.answer.exposures[0].use
    with acting(play.clinic, by=play.people["nurse"]) as act:
        was = before.answer.exposures[0].patient
        token = play.clinic.vault.token("99887766")
        covers = (before.answer.exposures[0].item,)
        act.tell(facts.MovedToPatient, use=use_id, was=was, patient=token, covers=covers)
    found = unpacked(gathered(play, load).made)

    answer = json.loads(found["answer.json"])
    assert [one["patient"] for one in answer["exposures"]] == [token]
    assert faults(found) == []
    lost = edited(found, "evidence.json", lambda told: told["moved"].clear())
    assert any("a use on another patient" in says for says in faults(lost))


# --- what is in it -----------------------------------------------------------------------------


def test_the_answer_is_the_one_of_the_command_line(play: Play, load: str) -> None:
    asked = question(play, load)
    names = exposure_json.AnswerNames(play.clinic)

    answer = json.loads(files_in(gathered(play, load).made.data)["answer.json"])

    assert answer == exposure_json.of_answer(asked.answer, names, asked.asked)
    assert (answer["uses"], len(answer["already_open"])) == (1, 1)


def test_the_table_has_a_line_for_each_source_and_no_formula() -> None:
    source = {"patient": None, "used_at": "t", "certainty": "certain", "share": 1.0}
    one = {"patient": "t1", "item": "=1+1", "used_at": "u", "certainty": "certain", "share": 0.5}
    listed = {**one, "sources": [source, {**source, "patient": "t2"}], "path": ["A/1", "A/2"]}
    answer = {"exposures": [listed], "already_open": [], "gaps": [one]}

    rows = list(csv.reader(io.StringIO(verify.csv_of(answer).decode(), newline="")))

    assert [row[0] for row in rows] == ["list", "exposures", "exposures", "gaps"]
    assert [row[2] for row in rows[1:]] == ["'=1+1"] * 3
    assert [row[6] for row in rows[1:]] == ["outside", "t2", ""]


def test_the_report_says_what_was_asked_who_was_found_and_what_proves_it(
    play: Play, load: str
) -> None:
    found = unpacked(gathered(play, load).made)
    pages = PdfReader(io.BytesIO(found["report.pdf"])).pages
    text = " ".join(" ".join(page.extract_text().split()) for page in pages)
    tree = json.loads(found["proofs.json"])["sites"]["TEST"]

    assert "1 patient in 1 use" in text
    assert "Open without it: 1" in text
    assert "Asked by the console" in text
    assert "Whom to tell and test is for a competent person" in text
    assert f"page {len(pages)} of {len(pages)}" in text
    packed = text.replace(" ", "")
    assert tree["root"] in packed
    assert tree["head"]["seal"] in packed
    assert play.clinic.house.book.digest in packed


def test_no_reference_is_in_it_unless_patients_are_named(play: Play, load: str) -> None:
    by = play.people["manager"]
    given = proof_file.give(play.clinic, question(play, load), by)
    text = all_text(given.made.data)

    assert not any(reference in text for reference in REFERENCES)
    assert "patients.csv" not in files_in(given.made.data)


def all_text(data: bytes) -> str:
    found = files_in(data)
    pages = PdfReader(io.BytesIO(found["report.pdf"])).pages
    paper = "".join("".join(page.extract_text().split()) for page in pages)
    return data.decode("latin-1") + paper


def test_patients_are_named_with_a_reason_that_is_written_down_for_each(
    play: Play, load: str
) -> None:
    by = play.people["manager"]
    asked = question(play, load)
    with pytest.raises(Refused, match="Say why"):
        proof_file.give(play.clinic, asked, by, unmask=True, reason=" ")

    given = proof_file.give(play.clinic, asked, by, unmask=True, reason="they are to be told")

    found = unpacked(given.made)
    tokens = {one.patient for one in asked.answer.exposures}
    rows = list(csv.DictReader(io.StringIO(found["patients.csv"].decode())))
    assert {row["token"]: row["reference"] for row in rows} == {
        token: play.clinic.vault.reveal(token) for token in tokens
    }
    assert all(row["reference"] in all_text(given.made.data) for row in rows)
    assert faults(found, given.made.digest) == []
    for token in tokens:
        told = [one.fact for one in told_about(play.clinic.store, token)]
        looked_up = [one for one in told if isinstance(one, facts.Unmasked)]
        assert [(one.by, one.reason) for one in looked_up] == [(by, "they are to be told")]
    sources = exposure_json.tokens_in(asked.answer) - tokens
    assert sources
    for token in sources:
        assert play.clinic.vault.reveal(token) not in all_text(given.made.data)
        told = [one.fact for one in told_about(play.clinic.store, token)]
        assert not [one for one in told if isinstance(one, facts.Unmasked)]
    (named,) = {row["reference"] for row in rows}
    swapped = found["patients.csv"].replace(named.encode(), b"12345609")
    assert any("another patient" in one for one in faults(anew({**found, "patients.csv": swapped})))


def test_that_a_proof_file_was_given_is_written_down_with_its_digest(play: Play, load: str) -> None:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        case = case_acts.raise_doubt(act, [load], "the strip faded")
    asked = proof_file.of_case(play.clinic, case)
    assert len(asked.answer.exposures) == 1
    before = sizes(play.clinic)["TEST"]

    given = proof_file.give(play.clinic, asked, play.people["auditor"])

    (told,) = proof_file.given_before(play.clinic, case)
    assert proof_file.given_before(play.clinic, load) == [told]
    assert (told.digest, told.case, told.unmasked) == (given.made.digest, case, False)
    assert [(tree.site, tree.size) for tree in told.trees] == [("TEST", before)]
    kinds = {json.loads(one["body"])["kind"] for one in lines_of(unpacked(given.made))}
    assert "doubt-raised" in kinds
    assert faults(unpacked(given.made), given.made.digest) == []
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_an_answer_with_nobody_in_it_is_given_as_well(play: Play) -> None:
    machine = play.add("steriliser-vacuum")
    play.sterile_pack(machine, play.add("hook"))
    (load,) = play.clinic.store.one("SELECT tag FROM load") or ("",)

    found = unpacked(gathered(play, load).made)

    assert faults(found) == []
    assert json.loads(found["answer.json"])["uses"] == 0
    assert "Nobody on what is recorded" in found["README.txt"].decode()


# --- whatever is changed is found --------------------------------------------------------------


@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_any_changed_bit_is_found_and_its_file_named(
    files: dict[str, bytes], data: st.DataObject
) -> None:
    name = data.draw(st.sampled_from(sorted(files)))
    at = data.draw(st.integers(0, len(files[name]) - 1))
    spoilt = bytearray(files[name])
    spoilt[at] ^= 1 << data.draw(st.integers(0, 7))

    found = faults({**files, name: bytes(spoilt)})

    assert any(name in says for says in found)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_any_changed_bit_of_the_zip_itself_is_found(
    play: Play, load: str, tmp_path: Path, data: st.DataObject
) -> None:
    spoilt = bytearray(_once(play, load))
    spoilt[data.draw(st.integers(0, len(spoilt) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    path = tmp_path / "spoilt.zip"
    path.write_bytes(bytes(spoilt))

    assert verify.main([str(path)]) == 1


_MADE: dict[str, bytes] = {}


def _once(play: Play, load: str) -> bytes:
    if load not in _MADE:
        _MADE.clear()
        _MADE[load] = gathered(play, load).made.data
    return _MADE[load]


def test_a_file_that_is_gone_or_added_is_named(files: dict[str, bytes]) -> None:
    for name in files:
        left = {one: data for one, data in files.items() if one != name}
        assert any(name in says for says in faults(left)), name
        if name not in (verify.MANIFEST, "patients.csv"):
            assert any(name in says for says in faults(anew(left))), name
    assert any("more.txt" in says for says in faults({**files, "more.txt": b""}))


def test_with_the_list_made_anew_any_change_of_an_entry_is_still_found(
    files: dict[str, bytes],
) -> None:
    lines = lines_of(files)
    assert len(lines) >= 10
    for index, line in enumerate(lines):
        body = json.loads(line["body"])
        at = f"{line['site']}/{line['position']}"
        for other in (
            {**line, "body": json.dumps({**body, "by": "B000000099"})},
            {**line, "recorded_us": line["recorded_us"] + 1},
            {**line, "position": line["position"] + 1},
            {**line, "seal": "00" * 32},
            {**line, "previous": "11" * 32},
            {**line, "recorded_at": "2026-01-01T00:00:00+00:00"},
        ):
            assert faults(with_lines(files, [*lines[:index], other, *lines[index + 1 :]])), at
        gone = faults(with_lines(files, lines[:index] + lines[index + 1 :]))
        assert any(at in says for says in gone)


def test_an_entry_whose_seal_was_made_anew_is_not_in_the_tree(files: dict[str, bytes]) -> None:
    lines = lines_of(files)
    line = lines[-1]
    body = line["body"].replace('"by":"', '"by":"B0000000990')
    sealed = verify.seal_of(
        bytes.fromhex(line["previous"]),
        line["site"],
        line["position"],
        line["recorded_us"],
        body.encode(),
    )
    forged = {**line, "body": body, "seal": sealed.hex()}

    found = faults(with_lines(files, [*lines[:-1], forged]))

    assert any("does not lead to the root" in says for says in found)


def test_a_use_swapped_for_another_true_entry_of_the_ledger_is_found(
    play: Play, files: dict[str, bytes]
) -> None:
    """A forger with the ledger in hand puts another use, with its true proof, in place of one."""
    shown = json.loads(files["evidence.json"])["exposures"][0]
    uses = [
        one.path
        for one in ledger.everything(play.clinic.store)
        if isinstance(one.fact, facts.Used) and one.path != shown["entry"]
    ]
    assert len(uses) >= 3
    for other in uses:
        swapped = files["answer.json"].replace(shown["entry"].encode(), other.encode())
        evidence = files["evidence.json"].replace(shown["entry"].encode(), other.encode())
        paths = {f"{one['site']}/{one['position']}" for one in lines_of(files)} - {shown["entry"]}
        found = list(extracts.lines(play.clinic.store, {*paths, other}))
        proved = proofs(play.clinic, found, sizes(play.clinic))
        forged = {
            **files,
            "answer.json": swapped,
            "evidence.json": evidence,
            "entries.jsonl": extract(found),
            "proofs.json": json.dumps(proved).encode(),
            "exposures.csv": verify.csv_of(json.loads(swapped)),
        }
        assert any("exposures 1" in says for says in faults(anew(forged))), other


@pytest.mark.parametrize("name", ["exposures", "already_open", "gaps"])
def test_with_the_list_made_anew_an_answer_that_says_otherwise_is_found(
    files: dict[str, bytes], files_with_a_gap: dict[str, bytes], name: str
) -> None:
    files = files_with_a_gap if name == "gaps" else files
    later = "2026-11-18T23:59:00+00:00"
    edits: list[Callable[[dict[str, object]], object]] = [
        lambda one: one.update(patient="tabcdefgh2345"),
        lambda one: one.update(item="E000000999"),
        lambda one: one.update(used_at=later),
    ]
    if name != "gaps":
        edits += [
            lambda one: one.update(path=one["path"][:-1]),  # type: ignore[index]
            lambda one: one["sources"].pop(),  # type: ignore[attr-defined]
            lambda one: one["sources"][0].update(patient="tabcdefgh2345"),  # type: ignore[index]
            lambda one: one["sources"][0].update(used_at=later),  # type: ignore[index]
            lambda one: one.update(certainty="possible"),
        ]
    assert json.loads(files["answer.json"])[name]
    for number, edit in enumerate(edits):
        forged = edited(files, "answer.json", lambda told, edit=edit: edit(told[name][0]))
        assert any(f"{name} 1" in says for says in faults(forged)), number
    shorter = edited(files, "answer.json", lambda told: told[name].pop())
    assert any(f"how many {name}" in says for says in faults(shorter))


def test_totals_loads_and_the_table_are_held_to_the_lists(files: dict[str, bytes]) -> None:
    def wrong(key: str, value: object) -> list[str]:
        return faults(edited(files, "answer.json", lambda told: told.update({key: value})))

    assert any("other uses" in says for says in wrong("uses", 7))
    assert any("other patients" in says for says in wrong("patients", 7))
    assert any("loads in doubt" in says for says in wrong("loads_in_doubt", ["L000000999"]))
    table = files["exposures.csv"].replace(b"certain", b"possible")
    says = faults(anew({**files, "exposures.csv": table}))
    assert says == ["exposures.csv: it does not say what answer.json says"]


def test_what_only_the_book_can_work_out_is_bound_by_the_digest(play: Play, load: str) -> None:
    made = gathered(play, load).made
    found = unpacked(made)
    forged = edited(found, "answer.json", lambda told: told["exposures"][0].update(share=0.25))

    assert faults(forged) == []
    assert any("has the digest" in says for says in faults(forged, made.digest))


def test_a_proof_of_another_tree_is_found(files: dict[str, bytes]) -> None:
    def tree(edit: Callable[[dict[str, object]], object]) -> list[str]:
        return faults(edited(files, "proofs.json", lambda told: edit(told["sites"]["TEST"])))

    assert tree(lambda one: one.update(root="00" * 32))
    assert tree(lambda one: one.update(size=one["size"] + 1))  # type: ignore[operator]
    assert tree(lambda one: one["head"].update(seal="00" * 32))  # type: ignore[attr-defined]
    assert tree(lambda one: one["paths"].popitem())  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", ["answer.json", "evidence.json", "proofs.json", "entries.jsonl"])
@pytest.mark.parametrize("data", [b"", b"null\n", b"[]\n", b"{}\n", b"\xff\xfe\n", b'{"a":1}\n'])
def test_nonsense_is_a_fault_and_never_a_crash(
    files: dict[str, bytes], name: str, data: bytes
) -> None:
    assert faults(anew({**files, name: data}))


def test_a_name_that_no_entry_gives_is_found(play: Play) -> None:
    rows = [row(0, "use", "hook 7", patient="REF1"), row(10, "use", "hook 7", patient="REF2")]
    bring_in(play.clinic, as_file(rows))
    token = str(play.clinic.vault.find("REF1"))
    answer = exposure_answer.look_back(play.clinic, Scope(patient=token))
    found = unpacked(
        proof_file.gathered(
            play.clinic, ProofQuestion({}, "by patient", answer), "", play.clock.now
        ).made
    )
    assert json.loads(found["answer.json"])["exposures"][0]["item"] == "hook 7"
    assert faults(found) == []
    renamed = {
        **found,
        "answer.json": found["answer.json"].replace(b"hook 7", b"hook 8"),
        "evidence.json": found["evidence.json"].replace(b"hook 7", b"hook 8"),
    }
    renamed["exposures.csv"] = verify.csv_of(json.loads(renamed["answer.json"]))

    assert any("is called hook 8" in says for says in faults(anew(renamed)))
