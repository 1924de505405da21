"""What the report of a proof file says, in words; `deliver/paper/proof_report` sets it on paper."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from equip.deliver.paper.proof_report import ProofReport, ReportedExposure, ReportedGap
from equip.desk.clinic import Clinic, House
from equip.desk.lookback.exposure_answer import ExposureAnswer
from equip.desk.lookback.exposure_json import AnswerNames
from equip.desk.lookback.proof.evidence import Json, by_time
from equip.facts import moment
from equip.rules.lookback.sweep import Certainty, Contact, Exposure, Source
from equip.scan import show_tag
from equip.store.readings import item_rows
from equip.typed import maybe_tag

_SURE = {
    Certainty.certain: "certain",
    Certainty.no_proof: "no proof",
    Certainty.possible: "possible",
}
_HAZARD = {
    "bacteria-viruses": "bacteria and viruses",
    "spores": "spores",
    "prions": "prions",
}
_ASKED = {
    "case": "Look-back",
    "load": "Load in doubt",
    "machine": "Machine",
    "item": "Thing",
    "who": "Person",
    "lot": "Lot",
    "patient": "Source patient",
    "from": "From",
    "to": "To",
}
CAUTIONS = (
    "This says who may have been exposed on what is recorded, not that anybody was harmed or is at "
    "risk. Whom to tell and test is for a competent person, local policy and law; the maker’s "
    "instructions come first.",
    "How sure it is takes nobody off the list. A use with nothing known before it is no exposure "
    "and no proof of the contrary.",
)


@dataclass(frozen=True, slots=True)
class QuestionPut:
    """A question, and who put it: *asked* as the answer repeats it."""

    asked: Json
    by: str
    now: datetime


def report_of(
    clinic: Clinic, answer: ExposureAnswer, names: AnswerNames, question: QuestionPut, proved: Json
) -> ProofReport:
    says = _Saying(clinic, clinic.house, names)
    patients = len({one.patient for one in answer.exposures})
    return ProofReport(
        clinic=f"{clinic.house.name} (site {clinic.house.site})",
        outcome=_outcome(patients, len(answer.exposures)),
        nobody=not answer.exposures,
        says=tuple(_beside(answer)),
        asked=tuple(_asked(says, answer, question)),
        exposures=tuple(says.listed(one) for one in answer.exposures),
        already_open=tuple(says.listed(one) for one in answer.already_open),
        gaps=tuple(says.gap(one) for one in answer.gaps),
        cautions=CAUTIONS,
        proof=tuple(_proof(clinic, proved)),
        made=says.when(question.now),
    )


@dataclass(frozen=True, slots=True)
class _Saying:
    """Times, people, patients and things in words that last."""

    clinic: Clinic
    house: House
    names: AnswerNames

    def when(self, at: datetime) -> str:
        """The whole date, with the zone's short name: nobody must guess which summer time."""
        there = at.astimezone(self.house.zone)
        return f"{there.day} {there:%b %Y %H:%M %Z}"

    def thing(self, tag: str) -> str:
        """Its type, what people call it, its tag."""
        row = item_rows.item_row(self.clinic.store, tag)
        name = self.names(tag)
        if row is None:
            return shown(name)
        called = row.name or (name if name != tag else "")
        kind = self.house.kind(row.type).name
        return ", ".join(one for one in (kind, called, show_tag(tag)) if one)

    def patient(self, token: str | None) -> str:
        return self.names.patient(token) or "from outside"

    def listed(self, exposure: Exposure) -> ReportedExposure:
        surest = max(exposure.sources, key=lambda source: (source.certainty, -source.at))
        return ReportedExposure(
            patient=self.patient(exposure.patient),
            thing=self.thing(exposure.item),
            used=self.when(moment(exposure.at)),
            sure=_SURE[exposure.certainty],
            share=percent(float(exposure.share)),
            after="; ".join(self._after(source) for source in by_time(exposure.sources)),
            way=" ".join(surest.path.entries()),
        )

    def _after(self, source: Source) -> str:
        how = _SURE[source.certainty]
        if source.share != 1:
            how += f", {percent(float(source.share))}"
        return f"{self.patient(source.patient)} {self.when(moment(source.at))} ({how})"

    def gap(self, gap: Contact) -> ReportedGap:
        used = self.when(moment(gap.at))
        return ReportedGap(self.patient(gap.patient), self.thing(gap.item), used, gap.entry)


def percent(share: float) -> str:
    """A share of untagged contents, never rounded to none or to all."""
    if share in (0, 1):
        return f"{share:.0%}"
    return f"{min(max(share, 0.001), 0.999):.1%}"


def shown(text: str) -> str:
    """A tag in its groups; any other name as it is."""
    tag = maybe_tag(text) if len(text) == 10 else None
    return text if tag is None else show_tag(tag)


def _outcome(patients: int, uses: int) -> str:
    if not uses:
        return "Nobody on what is recorded"
    return (
        f"{patients} {'patient' if patients == 1 else 'patients'} in "
        f"{uses} {'use' if uses == 1 else 'uses'}"
    )


def _beside(answer: ExposureAnswer) -> Iterator[str]:
    open_anyway, gaps = len(answer.already_open), len(answer.gaps)
    yield "may have been exposed." if answer.exposures else "may have been exposed by it."
    yield (
        f"{open_anyway} {'use was' if open_anyway == 1 else 'uses were'} open without it; "
        f"{gaps} of {answer.uses_looked_at} uses looked at "
        f"{'has' if gaps == 1 else 'have'} nothing known before."
    )


def _asked(
    says: _Saying, answer: ExposureAnswer, question: QuestionPut
) -> Iterator[tuple[str, str]]:
    house = says.house
    for key, word in _ASKED.items():
        if key == "patient" and answer.scope.patient:
            yield word, says.patient(answer.scope.patient)
        elif key in question.asked and key != "patient":
            told = question.asked[key]
            each = told if isinstance(told, list) else [told]
            yield word, ", ".join(shown(str(one)) for one in each)
    scope = answer.scope
    yield "Loads in doubt", ", ".join(shown(says.names(load)) for load in scope.loads) or "none"
    if scope.gates:
        told = "; ".join(f"{says.thing(item)} in {shown(ref)}" for item, ref in scope.gates)
        yield "Steps in doubt", told
    yield "Hazard", _HAZARD[answer.hazard]
    yield "Generations", str(question.asked.get("generations", 1))
    yield "Asked by", house.person_name(question.by) if question.by else "the console"
    yield "Rule book", f"{house.book.name}, digest {house.book.digest}"


def _proof(clinic: Clinic, proved: Json) -> Iterator[tuple[str, str]]:
    for site, tree in proved["sites"].items():
        yield f"Newest seal of {site}", f"{tree['head']['seal']} at {site}/{tree['size']}"
        yield f"Tree over {site}", f"{tree['size']} seals, root {tree['root']}"
    yield (
        "How to check",
        "verify.py, which lies beside this report, checks every entry, its place in the tree and "
        "that the answer says what the entries say. The digest of the whole file is kept in the "
        "clinic’s ledger: ask for it there.",
    )
