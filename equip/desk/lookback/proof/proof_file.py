"""A proof file is given: a question of exposure answered, with what proves the answer.

Three acts in a row. Where patients are to be named, that each was looked up, and why, is written
down first. Then everything is gathered from the ledger as it stands. That the file was given, and
the digest that binds it, is written down last: entries made meanwhile stand behind its tree.
"""

import csv
import io
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from equip import facts
from equip.deliver.paper.proof_report import pdf
from equip.deliver.proof import proof_zip
from equip.deliver.proof.proof_zip import ProofZip
from equip.deliver.proof.verify import cell, csv_of
from equip.desk.act.act import Refused, acting
from equip.desk.clinic import Clinic
from equip.desk.lookback.cases import case_acts, exposed_list
from equip.desk.lookback.exposure_answer import ExposureAnswer, Scope, look_back
from equip.desk.lookback.exposure_json import AnswerNames, of_answer
from equip.desk.lookback.proof.evidence import Evidence, Json, extract, heads_of, proofs, sizes
from equip.desk.lookback.proof.report import QuestionPut, report_of
from equip.facts import Hazard, ProofGiven, TreeHead
from equip.rules.fitness.stopping import USUAL
from equip.store.ledger import extracts
from equip.store.ledger.about import told_about


@dataclass(frozen=True, slots=True)
class ProofQuestion:
    """What was asked: as the answer repeats it, in a word, and what came of it."""

    asked: Json
    word: str
    answer: ExposureAnswer
    case: str = ""


@dataclass(frozen=True, slots=True)
class ProofFile:
    """A proof file that was given, and how it is called."""

    made: ProofZip
    trees: tuple[TreeHead, ...]
    name: str


def is_case(clinic: Clinic, name: str) -> bool:
    return case_acts.case_of(clinic, name) is not None


def of_case(clinic: Clinic, name: str) -> ProofQuestion:
    """What a look-back of the book holds in doubt, asked again now."""
    case = case_acts.case_of(clinic, name)
    if case is None:
        raise Refused("There is no such look-back.")
    asked = {"case": name, "hazard": case.hazard, "generations": 1}
    return ProofQuestion(asked, "by look-back", exposed_list.answer(clinic, case), name)


def of_loads(clinic: Clinic, loads: tuple[str, ...], hazard: Hazard = USUAL) -> ProofQuestion:
    """These loads taken for nothing, whether a look-back holds them in doubt or not."""
    asked = {"load": list(loads), "hazard": hazard, "generations": 1}
    return ProofQuestion(asked, "by load", look_back(clinic, Scope(loads=loads), hazard))


def given_before(clinic: Clinic, subject: str) -> list[ProofGiven]:
    """The proof files that were given about a case or a load, the newest first."""
    told = (entry.fact for entry in told_about(clinic.store, subject))
    return [fact for fact in told if isinstance(fact, ProofGiven)][::-1]


def give(
    clinic: Clinic, question: ProofQuestion, by: str, unmask: bool = False, reason: str = ""
) -> ProofFile:
    """The proof file of an answer. Naming patients is the caller's to guard: it takes a reason."""
    references = _unmasked(clinic, question.answer, by, reason) if unmask else {}
    now = clinic.clock()
    given = gathered(clinic, question, by, now, references)
    with acting(clinic, by, signed=by) as act:
        act.tell(
            ProofGiven,
            question=question.word,
            digest=given.made.digest,
            trees=given.trees,
            case=question.case,
            loads=question.answer.scope.loads,
            patient=question.answer.scope.patient,
            unmasked=unmask,
            reason=reason.strip() if unmask else "",
        )
    return given


def _unmasked(clinic: Clinic, answer: ExposureAnswer, by: str, reason: str) -> dict[str, str]:
    """Who those are that the answer lists as exposed, and whom it asks from; nobody else is looked
    up. Each look-up is an entry of its own."""
    if not reason.strip():
        raise Refused("Say why patients are named: it is written down who was looked up, and why.")
    tokens = sorted({one.patient for one in answer.exposures} | ({answer.scope.patient} - {""}))
    why = reason.strip() if by else f"console: {reason.strip()}"
    with acting(clinic, by, signed=by) as act:
        for token in tokens:
            act.tell(facts.Unmasked, patient=token, reason=why)
    return {token: clinic.vault.reveal(token) for token in tokens}


def gathered(
    clinic: Clinic,
    question: ProofQuestion,
    by: str,
    now: datetime,
    references: Mapping[str, str] | None = None,
) -> ProofFile:
    """The file and what binds it; the same bytes for the same ledger, question and time."""
    references = references or {}
    names = AnswerNames(clinic, references)
    evidence = Evidence(clinic, names)
    shown = evidence.of(question.answer, question.case)
    # The heads are read last: whatever the answer rests on stands before them.
    upto = sizes(clinic)
    found = list(extracts.lines(clinic.store, evidence.paths))
    proved = proofs(clinic, found, upto)
    answer = of_answer(question.answer, names, question.asked)
    paper = report_of(clinic, question.answer, names, QuestionPut(question.asked, by, now), proved)
    files = {
        "answer.json": _spelled(answer),
        "evidence.json": _spelled(shown),
        "entries.jsonl": extract(found),
        "proofs.json": _spelled(proved),
        "exposures.csv": csv_of(answer),
        "report.pdf": pdf(paper),
    }
    if references:
        files["patients.csv"] = _patients(references)
    about = f"{paper.clinic}, made {paper.made}. {paper.outcome} {paper.says[0]}"
    made = proof_zip.make(files, about)
    return ProofFile(made, heads_of(proved), f"proof-{now:%Y%m%d-%H%M}-{made.digest[:12]}.zip")


def _patients(references: Mapping[str, str]) -> bytes:
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(["token", "reference"])
    table.writerows([token, cell(reference)] for token, reference in sorted(references.items()))
    return out.getvalue().encode()


def _spelled(told: Json) -> bytes:
    return (json.dumps(told, ensure_ascii=False, indent=1) + "\n").encode()
