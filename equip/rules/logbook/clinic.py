"""What the house is and who works in it, each as one line: the register, people, rules."""

from equip import facts
from equip.rules.logbook.names import Names, Tellers, because
from equip.rules.people.competence import OUTCOMES, TASKS
from equip.rules.wording import several

_ARRIVED = {
    "factory-new": "new from its maker",
    "loaned": "on loan from outside",
    "repaired": "back from repair",
    "second-hand": "second-hand",
    "go-live": "taken over on going live",
}


def _assessed(fact: facts.CompetenceAssessed, names: Names) -> str:
    found = OUTCOMES[fact.outcome]
    until = f", until {fact.until}" if fact.until else ""
    by = f", assessed by {fact.assessor or fact.outside}" if fact.assessor or fact.outside else ""
    paper = f" Certificate {fact.file[:12]}…." if fact.file else ""
    evidence = f" {fact.evidence}" if fact.evidence else ""
    return (
        f"{fact.person} for “{TASKS[fact.task]}”: {found} from {fact.since}{until}{by}."
        f"{evidence}{paper}"
    )


TELLERS: Tellers = {
    facts.SiteOpened: lambda f, n: f"{f.name} opened its book: site {f.site}, rules {f.book}.",
    facts.TypeDefined: lambda f, n: f"Type “{f.type.name}” ({f.type.code}) defined.",
    facts.ProcedureDefined: lambda f, n: (
        f"Procedure “{f.procedure.name}” {'defined' if f.procedure.offered else 'taken off'}: "
        f"{f.procedure.minutes} min, "
        + several([f"{one.count} × {n.kind(one.type)}" for one in f.procedure.needs])
        + "."
    ),
    facts.ItemAdded: lambda f, n: (
        f"{n.kind(f.type)} {f.item} on the register, {_ARRIVED[f.arrival]}"
        + (f", declared fit by {f.declared_by}" if f.declared_by else "")
        + (f", decontaminated on {f.decontaminated}" if f.decontaminated else "")
        + (", sealed since" if f.sealed else "")
        + (f", known as {several(list(f.aliases))}" if f.aliases else "")
        + "."
    ),
    facts.Arrived: lambda f, n: (
        f"{f.item} came in, {_ARRIVED[f.arrival]}"
        + (f", from {f.sender}" if f.sender else "")
        + "."
    ),
    facts.SentOut: lambda f, n: f"{f.item} sent to {f.receiver} ({f.why}).",
    facts.Retired: lambda f, n: f"{f.item} retired: {f.why}.",
    facts.TagReplaced: lambda f, n: f"{f.item} carries the tag {f.tag} now: {f.why}.",
    facts.Joined: lambda f, n: f"{f.item} joined set {f.set}.",
    facts.Left: lambda f, n: f"{f.item} left set {f.set}.",
    facts.PlaceAdded: lambda f, n: f"Place {f.place}: {f.name}.",
    facts.PersonAdded: lambda f, n: (
        f"Person {f.person}: {f.name}, {f.role}"
        + (f", may {several(list(f.rights))}" if f.rights else "")
        + ("" if f.active else "; no longer works here")
        + "."
    ),
    facts.CompetenceAssessed: _assessed,
    facts.LapseAllowed: lambda f, n: (
        f"{f.person} may go on with “{TASKS[f.task]}” from {f.since} until {f.until} although "
        f"their competence lapsed: {f.reason}"
    ),
    facts.LapseExplained: lambda f, n: (
        f"{f.person} goes on with “{TASKS[f.task]}”.{because(f.reasons)} Reason given: {f.reason}"
    ),
    facts.RuleSet: lambda f, n: f"Rule {f.rule} set to {f.value} from {f.since}: {f.reason}",
    facts.PastBroughtIn: lambda f, n: (
        f"Brought in from the past: “{f.name}” up to line {f.line}, {f.rows} rows."
    ),
    facts.Unmasked: lambda f, n: f"Who patient {f.patient} is was looked up: {f.reason}",
}
