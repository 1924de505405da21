"""The weakest links of a look-back: which missing answer would settle most patients, in words."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from equip import facts
from equip.desk.clinic import Clinic
from equip.desk.lookback import gate_words
from equip.desk.lookback.exposure_answer import ExposureAnswer
from equip.rules.lookback.missing_answers import Link, Question, Unproven, patients_in, ranked
from equip.rules.lookback.sweep import Certainty, Contact, Exposure, Source
from equip.rules.wording import counted, several
from equip.scan import show_tag
from equip.store.fold.met import Contacts, Doubted
from equip.store.ledger import ledger
from equip.store.readings import item_rows, load_rows


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """A question as people read it, and what answering it would bring."""

    link: Link
    says: str


@dataclass(frozen=True, slots=True)
class Weakest:
    """What makes patients unprovable, the question that settles most of them first."""

    asked: tuple[OpenQuestion, ...]
    patients: int
    unproven: int

    @property
    def best(self) -> str:
        """The best next question in a sentence, with how many patients it would settle."""
        if not self.asked:
            return ""
        first = self.asked[0]
        return f"{first.says} {brings(first.link, self.patients)}"


def weakest(clinic: Clinic, answer: ExposureAnswer) -> Weakest:
    """Every question that *answer* leaves, ranked and in words."""
    unproven = unproven_in(clinic, answer)
    links = ranked(unproven)
    return Weakest(
        asked=tuple(OpenQuestion(link, says(clinic, link.question)) for link in links),
        patients=patients_in(unproven),
        unproven=len(unproven),
    )


def best_question(clinic: Clinic, answer: ExposureAnswer) -> str:
    """The best next question of a look-back; "" if nothing is left to ask."""
    return weakest(clinic, answer).best


def brings(link: Link | facts.WeakLink, patients: int) -> str:
    """How many patients a question settles, or that it needs others answered beside it."""
    if link.settles:
        return (
            f"Answered either way, that settles {link.settles} of {counted(patients, 'patient')}."
        )
    return (
        f"It bears on {link.bears_on} of {counted(patients, 'patient')}; "
        "each needs another answer beside it."
    )


# --- what is unproven ---------------------------------------------------------------------------


def unproven_in(clinic: Clinic, answer: ExposureAnswer) -> list[Unproven]:
    """Uses on the list that are no surer than “no proof”, with the weak points of every way to
    them, and the gaps that were met."""
    ways = _Ways(clinic, _history(clinic, answer))
    found = [
        Unproven(
            exposure.patient,
            exposure.item,
            exposure.use,
            tuple(ways(exposure, source) for source in exposure.sources),
        )
        for exposure in answer.exposures
        if exposure.certainty is not Certainty.certain
    ]
    return found + _gaps(clinic, answer.gaps)


def _gaps(clinic: Clinic, gaps: Iterable[Contact]) -> list[Unproven]:
    """Of what was taken over on going live whoever declared it fit is asked, once for all of it."""
    asked = [(gap, *_whom_to_ask(clinic, gap.item)) for gap in gaps]
    first: dict[str, int] = {}
    for gap, about, _ in asked:
        first[about] = min(gap.at, first.get(about, gap.at))
    return [
        Unproven(
            gap.patient,
            gap.item,
            gap.ref,
            (frozenset({Question(first[about], "before", about, item)}),),
            is_gap=True,
        )
        for gap, about, item in asked
    ]


def _whom_to_ask(clinic: Clinic, item: str) -> tuple[str, str]:
    """The badge of whoever declared it fit on going live; else the thing itself, twice."""
    standing = item_rows.standing_of(clinic.store, item)
    if standing is not None and standing.arrival == "go-live" and standing.declared_by:
        return standing.declared_by, ""
    return item, item


def _history(clinic: Clinic, answer: ExposureAnswer) -> Contacts:
    scope = answer.scope
    doubted = Doubted(frozenset(scope.loads), frozenset(scope.gates), scope.standing)
    return Contacts(clinic.store, answer.hazard, doubted)


@dataclass
class _Ways:
    """The weak points of ways; each entry is looked up once."""

    clinic: Clinic
    history: Contacts
    _gates: dict[str, list[Contact]] = field(default_factory=dict)
    _made: dict[str, str] = field(default_factory=dict)

    def __call__(self, exposure: Exposure, source: Source) -> frozenset[Question]:
        entries = source.path.entries()
        found = [question for path in entries for question in self._at(path, exposure)]
        return frozenset(found)

    def _at(self, path: str, exposure: Exposure) -> Iterable[Question]:
        gates = self._unproven_at(path)
        if load := self._made[path]:
            began = min((gate.at for gate in self.history.gates_of(load)), default=0)
            yield Question(began, "contents", load)
        if gates:
            of_item = [gate for gate in gates if gate.item == exposure.item]
            yield self._asked(min(of_item or gates))

    def _asked(self, gate: Contact) -> Question:
        missing = gate_words.lack(self.clinic, gate).missing
        item = gate.item if missing == "steps" else ""
        return Question(gate.at, missing, gate.ref, item)

    def _unproven_at(self, path: str) -> list[Contact]:
        """The gates without proof that an entry tells of; beside, the load a pack came out of."""
        if path not in self._gates:
            site, _, position = path.rpartition("/")
            entry = ledger.entry(self.clinic.store, site, int(position))
            fact = None if entry is None else entry.fact
            ref = path if isinstance(fact, facts.Stepped) else ""
            if isinstance(fact, facts.LoadEnded | facts.LoadTakenOver):
                ref = fact.load
            self._made[path] = fact.load if isinstance(fact, facts.Packed) else ""
            gates = self.history.gates_of(ref)
            self._gates[path] = [gate for gate in gates if gate.effect == "unproven"]
        return self._gates[path]


# --- in words -----------------------------------------------------------------------------------


def says(clinic: Clinic, question: Question) -> str:
    """The question as somebody would ask it."""
    load = show_tag(question.about) if question.about.startswith("L") else "a step by hand"
    match question.sort:
        case "verdict":
            return _of_verdict(clinic, question.about, load)
        case "release":
            return f"Was load {load} fit to be let go? It passed, and nobody let it go."
        case "steps":
            steps = several([f"“{one}”" for one in _steps(clinic, question)]) or "ahead of it"
            where = f"load {load}" if question.about.startswith("L") else load
            return (
                f"Was the step {steps} of {show_tag(question.item)} done before {where}? "
                "Nobody recorded it."
            )
        case "contents":
            return f"Which untagged instruments of load {load} went into which pack?"
        case _ if not question.item:
            who = clinic.house.person_name(question.about)
            return (
                f"What did {who} declare things fit by on going live? "
                "No load of ours stands before their first uses."
            )
        case _:
            return f"What stood before the first use of {show_tag(question.item)} that is known?"


def _of_verdict(clinic: Clinic, tag: str, load: str) -> str:
    found = load_rows.load_of(clinic.store, tag)
    if found is not None and found.verdict == "undecided":
        return f"Was load {load} any good? What is told of it cannot be judged."
    return f"Was load {load} any good? It has no verdict: find its log or its strip."


def _steps(clinic: Clinic, question: Question) -> list[facts.Step]:
    gate = Contact(question.at, question.item, "gate", "", question.about)
    return gate_words.steps_missing(clinic, gate)
