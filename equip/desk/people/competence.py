"""Competence of people: assessed, asked about when something is done, let through with a name.

Away from a release nobody is shut out: what lapsed is asked about once, answered by a reason or
by a supervisor's badge, and stands in every entry that follows.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.act.answer import Answer, no, note
from equip.desk.act.as_told import rules_used
from equip.desk.clinic import Clinic, House
from equip.facts import RuleUsed, Told
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.people import competence
from equip.rules.people.competence import OUTCOMES, OWN_REASON, TASKS, Assessment, Held
from equip.store.readings import people_rows

_LATE = timedelta(minutes=1)
_DIGEST = re.compile("[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Doer:
    """Whoever does something, as it is kept with what they do. *stops*: it is not done yet."""

    lapses: tuple[Told, ...] = ()
    supervisor: str = ""
    stops: bool = False


UNASKED = Doer()
"""Nothing stands against whoever does it, or nobody was asked."""


@dataclass(frozen=True, slots=True)
class TaskLine:
    """One task of a person as it stands on a day. *soon*: it has lapsed, or is about to."""

    task: str
    held: Held
    assessor: str
    says: str
    soon: bool


# --- what is recorded -----------------------------------------------------------------------


def assess(
    act: Act,
    person: str,
    task: str,
    outcome: str,
    since: date,
    *,
    until: date | None = None,
    assessor: str = "",
    outside: str = "",
    evidence: str = "",
    file: str = "",
) -> None:
    """Write down an assessment; without a last day of its own it counts as long as the rule says.

    Nobody assesses themselves: the assessor is another person of the house, or is named.
    """
    _check(act, person, task)
    if outcome not in OUTCOMES:
        raise Refused(f"“{outcome}” is no outcome: {', '.join(OUTCOMES)}.")
    if since > act.house.today(act.now):
        raise Refused(f"{since} has not come yet: give the day of the assessment.")
    if assessor == person or (not assessor and not outside.strip()):
        raise Refused("Say who assessed: somebody else who works here, or a name from outside.")
    if assessor and assessor not in act.house.staff:
        raise Refused(f"The badge {assessor} is on nobody's name here.")
    if file and not _DIGEST.fullmatch(file):
        raise Refused("A certificate is named by its SHA-256: 64 digits and letters a to f.")
    rules: tuple[RuleUsed, ...] = ()
    if outcome != "competent":
        until = None
    elif until is None:
        rule = act.house.rules(act.at)["competence.months"]
        until = competence.last_day(since, act.house.rules(act.at).whole(rule.id))
        rules = rules_used([rule])
    if until is not None and until < since:
        raise Refused(f"The last day, {until}, comes before the assessment on {since}.")
    act.tell(
        facts.CompetenceAssessed,
        person=person,
        task=task,
        outcome=outcome,
        since=since,
        until=until,
        assessor=assessor,
        outside=outside.strip(),
        evidence=evidence.strip(),
        file=file,
        rules=rules,
    )


def allow(act: Act, person: str, task: str, until: date, reason: str) -> None:
    """A named authority lets somebody else go on for some days although it has lapsed."""
    _check(act, person, task)
    today = act.house.today(act.now)
    if "override" not in act.house.rights(act.by):
        raise Refused("You have no right to set a refusal aside: ask somebody who has.")
    if person == act.by:
        raise Refused("Nobody gives leave to themselves: ask another person who has the right.")
    most = today + timedelta(days=act.house.rules(act.at).whole("competence.leave-days"))
    if not today <= until <= most:
        raise Refused(f"Leave is given from today until {most} at most; {until} was read.")
    if not reason.strip():
        raise Refused("Give a reason: it is read years later.")
    state = standing(act.house, person, task, today).state
    if state not in ("lapsed", "allowed", "unrecorded"):
        raise Refused(f"It has not lapsed: {_state_says(state)}.")
    act.tell(
        facts.LapseAllowed,
        person=person,
        task=task,
        since=today,
        until=until,
        reason=reason.strip(),
    )


def _check(act: Act, person: str, task: str) -> None:
    if person not in act.house.staff:
        raise Refused(f"The badge {person} is on nobody's name here.")
    if task not in TASKS:
        raise Refused(f"“{task}” is no task: {', '.join(TASKS)}.")


# --- what is asked when something is done ----------------------------------------------------


def standing(house: House, person: str, task: str, day: date) -> Held:
    return competence.held(house.competences, person, task, day)


def why_not(act: Act, person: str, task: str, day: date | None = None) -> Told | None:
    """What stands against *person* doing *task* on *day* (that of this act), leave or not."""
    held = standing(act.house, person, task, day or act.house.today(act.at))
    return competence.why_not(
        held, act.house.person_name(person), task, record_needed=_record_needed(act)
    )


def against(act: Act, person: str, task: str, day: date) -> tuple[Told, ...]:
    """What stood against *person* doing *task* on *day*, with leave if there was any.

    Nothing is asked: it was done, and it is written down with what is known of it. Nothing stands
    against nobody.
    """
    reason = why_not(act, person, task, day) if person else None
    if reason is None:
        return ()
    leave = _leave(act, person, task, day)
    return (reason, leave) if leave else (reason,)


def doer(act: Act, context: Context, task: str) -> Doer:
    """Whoever does *task* now: what is kept with it, or that a question comes first."""
    reason = why_not(act, act.by, task)
    if reason is None:
        return Doer()
    answer = context.vouched if context.vouched and context.vouched.who == act.by else None
    if answer and answer.supervisor and _supervises(act, answer.supervisor, task):
        return Doer((reason,), answer.supervisor)
    if leave := _leave(act, act.by, task):
        return Doer((reason, leave))
    if answer and task in answer.reasons and reason.code in OWN_REASON:
        return Doer((reason, _given(answer.reasons[task])))
    # What is told late was done: it is written down, with what stood against it.
    return Doer((reason,), stops=act.now - act.at < _LATE)


def question(act: Act, context: Context, task: str, who: Doer) -> tuple[Context, Answer]:
    """Asked once: by what right is this done? The answer holds for as long as a badge does."""
    reason = who.lapses[0]
    way = "Somebody who is competent scans their badge and stands by."
    if reason.code in OWN_REASON:
        way = f"Type why you do it all the same, and go on. Or: {way[0].lower()}{way[1:]}"
    return transitions.asked_of_competence(context, task, act.by), no(
        f"“{TASKS[task].capitalize()}”",
        [reason],
        word="Why?" if reason.code in OWN_REASON else "With whom?",
        next=way,
    )


def explained(act: Act, context: Context, reason: str) -> tuple[Context, Answer]:
    """The reason was typed: it is written down once, and with each entry that follows."""
    task = context.asked_for
    if context.asked_of != act.by:
        raise Refused("Somebody else was asked for that reason: scan the thing again.")
    found = why_not(act, act.by, task)
    if found is None or found.code not in OWN_REASON:
        raise Refused("That takes a supervisor: somebody who is competent scans their badge.")
    act.tell(facts.LapseExplained, person=act.by, task=task, reasons=(found,), reason=reason)
    return transitions.vouched(context, act.by, act.at, "", reason), note(
        "Go on",
        "Written down, with all that follows. Have it assessed again soon.",
        says=[found.says],
        next="Scan it again.",
        warn=True,
    )


def supervised(act: Act, context: Context, badge: str) -> tuple[Context, Answer]:
    """A competent person's badge answers the question: they stand by, and are named."""
    task, person = context.asked_for, context.asked_of
    name = act.house.person_name(badge)
    if not _supervises(act, badge, task):
        raise Refused(f"{name} cannot supervise “{TASKS[task]}”: it is not valid for them either.")
    return transitions.vouched(context, person, act.at, badge, ""), note(
        "Supervised",
        f"{name} stands by {act.house.person_name(person)}.",
        says=[f"To work here in their own name, {name} scans the badge once more."],
        next="Scan it again.",
    )


def by_reason(act: Act, task: str, reason: str) -> Doer:
    """The same on a page, where the reason is typed beside the button."""
    found = why_not(act, act.by, task)
    if found is None:
        return Doer()
    if leave := _leave(act, act.by, task):
        return Doer((found, leave))
    if found.code not in OWN_REASON:
        raise Refused(f"{found.says} Somebody who is competent does this.")
    if not reason.strip():
        raise Refused(f"{found.says} Say why you do it all the same.")
    return Doer((found, _given(reason.strip())))


def asks_why(clinic: Clinic, person: str, task: str, now: datetime) -> str:
    """What a page asks a reason for beside its button; "" if nothing."""
    house = clinic.house
    held = standing(house, person, task, house.today(now))
    needed = house.rules(now).flag("competence.record-needed")
    found = competence.why_not(held, house.person_name(person), task, record_needed=needed)
    return found.says if found and held.state != "allowed" else ""


def for_release(act: Act, by: str) -> tuple[tuple[Told, ...], list[Told]]:
    """What is kept with a release by *by*, and what stands against it.

    A reason of one's own does not do, and no badge that lies about: only a named authority's leave
    lets somebody release whose competence has lapsed.
    """
    reason = why_not(act, by, "release")
    if reason is None:
        return (), []
    if leave := _leave(act, by, "release"):
        return (reason, leave), []
    return (), [_needs_authority(reason)]


def why_not_release(house: House, by: str, now: datetime) -> list[Told]:
    """The same for the page, which has no bench: what stands against a release today."""
    held = standing(house, by, "release", house.today(now))
    needed = house.rules(now).flag("competence.record-needed")
    reason = competence.why_not(held, house.person_name(by), "release", record_needed=needed)
    return [_needs_authority(reason)] if reason and held.state != "allowed" else []


def _needs_authority(reason: Told) -> Told:
    says = (
        f"{reason.says} Somebody else who is competent releases it, or a named authority gives "
        "leave under Setup, People."
    )
    return Told(code=reason.code, says=says)


def _supervises(act: Act, badge: str, task: str) -> bool:
    person = act.house.staff.get(badge)
    if person is None or not person.active or badge == act.by or person.role == "auditor":
        return False
    held = standing(act.house, badge, task, act.house.today(act.at))
    return competence.may_supervise(held, record_needed=_record_needed(act))


def _leave(act: Act, person: str, task: str, day: date | None = None) -> Told | None:
    leave = standing(act.house, person, task, day or act.house.today(act.at)).leave
    if leave is None:
        return None
    who = act.house.person_name(leave.by)
    says = f"{who} gave leave until {leave.until}: “{leave.evidence}”."
    return Told(code="competence-leave", says=says)


def _given(reason: str) -> Told:
    return Told(code="competence-reason", says=f"Reason given: “{reason}”.")


def _record_needed(act: Act) -> bool:
    return act.house.rules(act.at).flag("competence.record-needed")


# --- what is shown ---------------------------------------------------------------------------


def lines(clinic: Clinic, person: str, today: date, soon_days: int) -> list[TaskLine]:
    """Every task as *person* stands for it today."""
    house = clinic.house
    return [_line(house, person, task, today, soon_days) for task in TASKS]


def _line(house: House, person: str, task: str, today: date, soon_days: int) -> TaskLine:
    held = standing(house, person, task, today)
    found = held.found
    until = held.until
    soon = until is not None and until <= today + timedelta(days=soon_days)
    by = house.person_name(found.assessor) if found and found.assessor else ""
    return TaskLine(
        task, held, by or (found.outside if found else ""), _state_says(held.state), soon
    )


def _state_says(state: str) -> str:
    return {
        "unrecorded": "not recorded",
        "competent": "competent",
        "allowed": "lapsed, leave given",
        "lapsed": "lapsed",
        "trainee": "in training",
        "not-competent": "not competent",
    }[state]


def history(house: House, person: str) -> Sequence[Assessment]:
    """What was told of one person, the newest first."""
    return [found for found in reversed(house.competences) if found.person == person]


def lapsing(clinic: Clinic, today: date, within_days: int) -> list[tuple[str, Assessment]]:
    """Whose competence ends within some days, or has ended, with their names."""
    found = people_rows.lapsing(clinic.store, today, within_days)
    return [(clinic.house.person_name(one.person), one) for one in found]
