"""A look-back from alarm to close: each step is an entry with who, when and why.

Opening holds what was confirmed in doubt at once. Keeping back, listing, deciding come after; a
decision is about the list as it stands, and about nothing that turns up later.
"""

from collections.abc import Iterable, Sequence

from equip import facts
from equip.desk.act import keep_back
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.desk.lookback.cases import exposed_list
from equip.facts import Note, Risk, Told, micros
from equip.rules.fitness.standing import Kept
from equip.rules.lookback import case_stages
from equip.rules.lookback.case_stages import Case
from equip.rules.lookback.doubt_scope import Gate, Proposal
from equip.rules.lookback.sweep import Exposure
from equip.scan import show_tag
from equip.store.fold.met import Contacts, clears
from equip.store.kept import files
from equip.store.ledger import ledger
from equip.store.ledger.about import told_about
from equip.store.readings import load_rows


def raise_doubt(act: Act, loads: Sequence[str], why: str) -> str:
    """A person doubts these loads: they count as failed from now on. The name of the case."""
    for load in loads:
        if load_rows.load_of(act.store, load) is None:
            raise Refused(f"{show_tag(load) if len(load) == 10 else load} is no load in this book.")
    case = _name(act)
    act.tell(facts.DoubtRaised, case=case, loads=tuple(loads), why=why)
    return case


def open_case(
    act: Act,
    proposal: Proposal,
    about: str,
    why: str,
    loads: Iterable[str],
    gates: Iterable[Gate],
) -> str:
    """A person confirms what is proposed, or narrows it, with a reason; the name of the case."""
    reason = _given(why)
    chosen, steps = set(loads), set(gates)
    strange = chosen.difference(proposal.loads) or steps.difference(proposal.gates)
    if strange:
        raise Refused("That is not among what the evidence puts in doubt: load the page again.")
    case = _name(act)
    kept = tuple(load for load in proposal.loads if load in chosen)
    act.tell(facts.DoubtRaised, case=case, loads=(), why=reason)
    act.tell(
        facts.DoubtScoped,
        case=case,
        says=proposal.says,
        reason=reason,
        evidence=proposal.evidence,
        about=about,
        loads=kept,
        gates=_spelled(gate for gate in proposal.gates if gate in steps),
        left_out=(
            *(load for load in proposal.loads if load not in chosen),
            *_spelled(gate for gate in proposal.gates if gate not in steps),
        ),
        held=proposal.held,
        patient=proposal.patient,
        since=proposal.since,
        until=proposal.until,
    )
    return case


def rescope(act: Act, name: str, loads: Iterable[str], gates: Iterable[Gate], reason: str) -> None:
    """What is in doubt is narrowed, or widened by more loads."""
    case = _open(act, name)
    if case.unfounded:
        raise Refused("It was found unfounded: open another look-back for new evidence.")
    wanted, steps = dict.fromkeys(loads), set(gates)
    for load in wanted:
        if load not in case.loads and load_rows.load_of(act.store, load) is None:
            raise Refused(f"{show_tag(load)} is no load in this book.")
    if steps.difference(case.gates):
        raise Refused("That step is not among what was in doubt: load the page again.")
    act.tell(
        facts.DoubtScoped,
        case=name,
        says=case.says or "As a person named it.",
        reason=_given(reason),
        evidence=case.evidence,
        about=case.about,
        loads=tuple(wanted),
        gates=_spelled(gate for gate in case.gates if gate in steps),
        left_out=(
            *(load for load in case.loads if load not in wanted),
            *_spelled(gate for gate in case.gates if gate not in steps),
        ),
        held=case.held,
        patient=case.patient,
        since=case.since,
        until=case.until,
        hazard=case.hazard,
    )


def contain(act: Act, name: str, *, bag_it: bool = False) -> list[str]:
    """Every item in doubt is kept back wherever it is, in one act; what was not before."""
    case = _open(act, name)
    why = why_kept(name)
    items = []
    for item in in_doubt(act, case):
        standing = act.standing(item)
        if standing.where == "retired" or why in [kept.why for kept in standing.quarantines]:
            continue
        keep_back.quarantine(act, item, why, "bag-it" if bag_it else "clean-it-now")
        items.append(item)
    act.tell(facts.DoubtContained, case=name, items=tuple(items))
    return items


def in_doubt(act: Act, case: Case) -> list[str]:
    """Items that rest on what is in doubt: nothing effective was done to them since."""
    history = Contacts(act.store, case.hazard)
    begun = [(gate.item, gate.at) for load in case.loads for gate in history.gates_of(load)]
    begun += [
        (item, gate.at)
        for item, ref in case.gates
        for gate in history.gates_of(ref)
        if gate.item == item
    ]
    if case.patient:
        first = micros(case.since) if case.since else -(2**62)
        last = micros(case.until) if case.until else 2**62
        uses = history.uses_on(case.patient)
        begun += [(one.item, one.at) for one in uses if first <= one.at <= last]
    found = {
        item: None
        for item, at in begun
        if not any(one.at > at and clears(one) for one in history.after(item, at))
    }
    for tag in (*case.loads, *case.held):
        load = load_rows.load_of(act.store, tag)
        for item in load.released if load else ():
            if any(done.load == tag for done in act.standing(item).done):
                found[item] = None
    return list(found)


def why_kept(name: str) -> Told:
    """The reason that stands at whatever a look-back keeps back."""
    return Told(code="in-look-back", says=f"it is in doubt by look-back {name}")


def take_list(act: Act, name: str) -> facts.DoubtListed:
    """The list as it is now, kept: its bytes as a file, its digest and counts as an entry."""
    case = _open(act, name)
    found = exposed_list.answer(act.clinic, case)
    return act.tell(
        facts.DoubtListed,
        case=name,
        heads={site: head.position for site, head in sorted(ledger.heads(act.store).items())},
        uses=len(found.exposures),
        patients=exposed_list.patients_in(found.exposures),
        gaps=exposed_list.gap_uses(found.gaps),
        digest=files.keep(act.store, exposed_list.spelled(found), f"{name}.json"),
    )


def judge_risk(act: Act, name: str, category: Risk, reason: str) -> None:
    _open(act, name)
    act.tell(facts.RiskJudged, case=name, category=category, reason=_given(reason))


def decide(
    act: Act,
    name: str,
    decision: str,
    reason: str,
    *,
    unfounded: bool = False,
    already_open: bool = False,
) -> None:
    """A person decides about the list as it stands, or that the doubt was unfounded.

    *already_open* takes in the uses that were open without this doubt. Nothing else is decided.
    """
    case = _case(act.clinic, name)
    if problem := case_stages.why_not_decide(case, unfounded=unfounded):
        raise Refused(problem)
    if unfounded and case.decided:
        raise Refused("It was decided about already: lifting the doubt would undo that.")
    left: list[Exposure] = []
    if not unfounded:
        found = exposed_list.answer(act.clinic, case)
        if case.listed is None or exposed_list.digest(found) != case.listed.digest:
            raise Refused("The list has changed since it was taken: list it again, then decide.")
        both = (*found.exposures, *(found.already_open if already_open else ()))
        left = exposed_list.undecided(act.clinic, both)
        if case.decided and not left:
            raise Refused("It has been decided already; what was decided stays in the book.")
    told = {"case": name, "decision": _given(decision), "reason": _given(reason)}
    act.tell(facts.DoubtDecided, **told, unfounded=unfounded)
    if left:
        act.tell(facts.UsesDecided, **told, uses=exposed_list.as_uses(left))


def note(act: Act, name: str, step: Note, says: str, patients: Sequence[str] = ()) -> None:
    """Something done that the book cannot see: who was told, how they fared, what was learnt."""
    case = _case(act.clinic, name)
    if case.closed is not None and step != "learn":
        raise Refused("It is closed: only what is learnt from it can be added.")
    act.tell(facts.DoubtStep, case=name, step=step, says=_given(says), patients=tuple(patients))


def close(act: Act, name: str, reason: str) -> None:
    case = _case(act.clinic, name)
    found = exposed_list.answer(act.clinic, case)
    left = exposed_list.undecided(act.clinic, found.exposures)
    if problem := case_stages.why_not_close(case, len(left), len(found.exposures)):
        raise Refused(problem)
    act.tell(facts.DoubtClosed, case=name, reason=_given(reason))


def kept_back(clinic: Clinic, name: str) -> list[tuple[str, Kept]]:
    """What this look-back keeps back, each with the reason that it gave."""

    def its(why: Told) -> bool:
        return why.code in ("in-look-back", "load-in-doubt") and why.says.endswith(name)

    return keep_back.kept_back(clinic.store, its)


def let_out(act: Act, name: str, reason: str, confirmed_by: str = "") -> int:
    """Once it is decided: what this look-back keeps back goes free of that reason; how many."""
    if not _case(act.clinic, name).decided:
        raise Refused("It is not decided yet: until then what is in doubt stays kept back.")
    held = kept_back(act.clinic, name)
    if not held:
        raise Refused("Nothing is kept back by this look-back.")
    keep_back.let_out(act, held, reason, confirmed_by)
    return len({item for item, _ in held})


def case_of(clinic: Clinic, name: str) -> Case | None:
    """The look-back of that name as it stands; None if there is none."""
    entries = told_about(clinic.store, name) if name.startswith("case-") else []
    found = case_stages.fold(name, [entry.fact for entry in entries])
    return None if found.raised is None else found


def _case(clinic: Clinic, name: str) -> Case:
    found = case_of(clinic, name)
    if found is None:
        raise Refused("There is no such look-back.")
    return found


def _open(act: Act, name: str) -> Case:
    found = _case(act.clinic, name)
    if found.closed is not None:
        raise Refused("It is closed: open another look-back for what came to light since.")
    return found


def _given(text: str) -> str:
    if not text.strip():
        raise Refused("Give a reason: it is read years later.")
    return text.strip()


def _name(act: Act) -> str:
    return f"case-{act.id[:8]}"


def _spelled(gates: Iterable[Gate]) -> tuple[str, ...]:
    return tuple(f"{item} {ref}" for item, ref in gates)
