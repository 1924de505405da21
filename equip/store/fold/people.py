"""People as the ledger tells of them: who works here, what each was found competent for."""

from datetime import date

from equip import facts
from equip.store.database import Store
from equip.store.fold.by_kind import Folds
from equip.store.fold.past import keep_old_names
from equip.store.fold.register import raise_revision
from equip.store.ledger.ledger import Entry


def _person(store: Store, entry: Entry, fact: facts.PersonAdded) -> None:
    store.run(
        "INSERT INTO staff (tag, name, role, rights, active) VALUES (?, ?, ?, ?, ?)"
        " ON CONFLICT (tag) DO UPDATE SET name = excluded.name, role = excluded.role,"
        " rights = excluded.rights, active = excluded.active",
        fact.person,
        fact.name,
        fact.role,
        ",".join(fact.rights),
        int(fact.active),
    )
    if fact.old:
        keep_old_names(store, "person", [(fact.old, fact.person)])
    raise_revision(store)


def _assessment(store: Store, entry: Entry, fact: facts.CompetenceAssessed) -> None:
    told = (fact.assessor, fact.outside, fact.evidence, fact.file)
    _keep_competence(store, entry, fact, str(fact.outcome), fact.until, told)


def _leave(store: Store, entry: Entry, fact: facts.LapseAllowed) -> None:
    """Leave to go on where competence has lapsed."""
    _keep_competence(store, entry, fact, "allowed", fact.until, ("", "", fact.reason, ""))


def _keep_competence(
    store: Store,
    entry: Entry,
    fact: facts.CompetenceAssessed | facts.LapseAllowed,
    outcome: str,
    until: date | None,
    told: tuple[str, str, str, str],
) -> None:
    store.run(
        "INSERT INTO competence (site, position, person, task, outcome, since, until, assessor,"
        " outside, evidence, file, who) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        entry.site,
        entry.position,
        fact.person,
        fact.task,
        outcome,
        fact.since.isoformat(),
        until.isoformat() if until else None,
        *told,
        fact.by,
    )
    raise_revision(store)


FOLDS: Folds = {
    facts.PersonAdded: _person,
    facts.CompetenceAssessed: _assessment,
    facts.LapseAllowed: _leave,
}
"""The kinds of fact about people, each with the function that folds it."""
