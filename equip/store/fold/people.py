"""Assessments of people, and leave given, to their table."""

from equip import facts
from equip.store.database import Store
from equip.store.ledger.ledger import Entry


def keep_competence(store: Store, entry: Entry) -> None:
    fact = entry.fact
    if isinstance(fact, facts.CompetenceAssessed):
        outcome, until = str(fact.outcome), fact.until
        more = (fact.assessor, fact.outside, fact.evidence, fact.file)
    elif isinstance(fact, facts.LapseAllowed):
        outcome, until = "allowed", fact.until
        more = ("", "", fact.reason, "")
    else:
        return
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
        *more,
        fact.by,
    )
