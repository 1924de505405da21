"""Checks ahead of a session by scan: the card, the thing, one question after the other."""

import msgspec

from equip.desk.act.act import Act, Refused, told
from equip.desk.act.answer import Answer, no, note, refused, unread
from equip.desk.bench import session_acts, session_rooms, unfinished
from equip.desk.fitness.out_of_use import out_of_use
from equip.desk.fitness.session import lines_of
from equip.desk.people import competence
from equip.facts import Quarantined, SessionCheck, Told
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.session import KINDS, CheckKind, in_words, why_not
from equip.rules.fitness.standing import Standing
from equip.rules.wording import several, when

GOOD = "good"
NOT_GOOD = "not good"
LATER = "leave it out"
_TASK = "check"
_ALL_THE_SAME = "Its checks are good, and the reasons above stand: see to them first."
_LEFT = "See to what is left, or hand it over."
_KEPT_BACK = "It is in quarantine now: leave it there, and tell the practice manager."


def card(act: Act, context: Context) -> tuple[Context, Answer]:
    """With a patient in hand it is about the thing scanned last, and nobody is let go."""
    if not context.patient:
        return transitions.checks(context), note(
            "Check", "Each thing is checked for this session.", next="Scan the first thing."
        )
    if not context.item:
        return context, refused("Nothing was scanned before.", "Scan the thing, then this card.")
    return scanned(act, context, act.standing(context.item))


def scanned(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    """What is not in force is asked for; where all of it is, all of it anew."""
    kind = act.kind(standing)
    if not kind.checks:
        return context, refused(
            f"{act.label(standing)}: nothing of it is checked ahead of a session.",
            "Scan what is checked, then this card; its type says what is, in Setup.",
        )
    who = competence.doer(act, context, _TASK)
    if who.stops and not context.patient:
        return competence.question(act, context, _TASK, who)
    found = lines_of(act.clinic, standing.item, kind, act.at)
    wanted = [line for line in found if line.state != "in force"] or found
    asked = [line.asked.check for line in wanted]
    looked_at = [check for check in asked if not KINDS[check].measured]
    measured = [check for check in asked if KINDS[check].measured]
    context = transitions.checking(context, standing.item, (*looked_at, *measured))
    question = _question(act, context)
    against = out_of_use(act.clinic, standing, act.at)
    if against:
        reasons = (*against, *question.reasons)
        question = msgspec.structs.replace(question, tone="warn", reasons=reasons)
    return context, question


def answered(act: Act, context: Context, text: str) -> tuple[Context, Answer]:
    """What was typed or said of the check in hand. What cannot be one is asked for again."""
    said, now = " ".join(text.split()).lower(), _asked_now(context)
    try:
        context = _told(act, context, now, said)
    except Refused as problem:
        return context, unread(str(problem), "Answer again, or scan something else.")
    return context, _question(act, context) if context.to_check else _result(act, context)


def good(act: Act, context: Context) -> tuple[Context, Answer]:
    """The card for those whose hands are not free to type."""
    if context.asks != "check":
        return context, refused("Nothing is being checked.", "Say “check”, then scan the thing.")
    return answered(act, context, GOOD)


def session_over(act: Act, context: Context) -> tuple[Context, Answer]:
    """The checks of the room in hand end, or of all where no room is; what is left is listed."""
    place = context.place
    where = act.house.place_name(place)
    if place and not session_rooms.is_room(act.clinic, place):
        return context, refused(
            f"{where} is no room with a session.", "Scan the room, then say “session over” again."
        )
    if (chair := _in_the_chair(act, context)) is not None:
        return context, chair
    covered = session_rooms.checked_for(act.clinic, place, act.bench, act.at)
    if covered:
        session_acts.end_session(act, [one.item for one in covered])
    left = unfinished.unfinished(act.clinic, place, act.at)
    return transitions.over(context), note(
        "Over",
        _ended(where, any_checks=bool(covered)),
        says=[
            *(
                f"Checked anew before it is used again: {_named(act, one, place)}"
                for one in covered
            ),
            *left,
        ],
        next=_LEFT if left else "Nothing is left unfinished.",
        warn=bool(left),
    )


def _in_the_chair(act: Act, context: Context) -> Answer | None:
    """A no while a patient is open, here or at another bench of the room that would be ended."""
    if session_rooms.patient_open(context):
        told = Told(code="patient-open", says="A patient is in hand at this bench.")
        way = "Say “finish”, or “start over” if nothing was used, then “session over” again."
        return no("The session goes on.", [told], word="Not yet", next=way)
    others = session_rooms.benches_with_patient(act.clinic, context.place, act.at, act.bench)
    if not others:
        return None
    told = Told(code="patient-open", says=f"A patient is in hand at {several(others)}.")
    way = "Finish there, or scan the room whose session is over, then say “session over” again."
    return no("The session goes on.", [told], word="Not yet", next=way)


def _ended(where: str, *, any_checks: bool) -> str:
    if not any_checks:
        return f"No check is in force{f' in {where}' if where else ''} that could end."
    if where:
        return f"The session in {where} has ended."
    return "The session has ended in every room: nobody scanned which room this bench is in."


def _named(act: Act, standing: Standing, place: str) -> str:
    unplaced = " Nobody said where it stands." if place and not standing.place else ""
    return f"{act.label(standing)}.{unplaced}"


def _asked_now(context: Context) -> tuple[SessionCheck, ...]:
    """What is looked at is asked about together, what is measured one by one."""
    looked_at = tuple(check for check in context.to_check if not KINDS[check].measured)  # type: ignore[index]
    return looked_at or context.to_check[:1]  # type: ignore[return-value]


def _told(act: Act, context: Context, now: tuple[SessionCheck, ...], said: str) -> Context:
    who = competence.doer(act, context, _TASK)
    rest = tuple(check for check in context.to_check if check not in now)
    if said == LATER:
        return transitions.checking(context, context.item, rest)
    if KINDS[now[0]].measured:
        bad = said == NOT_GOOD
        read = "" if bad or said == GOOD else said
        session_acts.record(act, context.item, now[0], good=not bad, read=read, who=who)
        return transitions.checking(context, context.item, rest)
    wrong = [check for check in now if said == _wrong(KINDS[check])]
    if len(now) == 1 and said == NOT_GOOD:
        wrong = list(now)
    if said != GOOD and not wrong:
        raise Refused(f"“{said[:30]}” is no answer: say “{GOOD}”, or which is not.")
    for check in wrong or now:
        session_acts.record(act, context.item, check, good=not wrong, who=who)
    return transitions.checking(context, context.item, rest)


def _wrong(kind: CheckKind) -> str:
    return f"{kind.name} {NOT_GOOD}"


def _question(act: Act, context: Context) -> Answer:
    now = _asked_now(context)
    standing = act.standing(context.item)
    asks = [KINDS[check].asks for check in now]
    options: tuple[str, ...] = (GOOD, *(_wrong(KINDS[check]) for check in now), LATER)
    says, way = [], "Say “good”, or which is not."
    if KINDS[now[0]].measured:
        kind = KINDS[now[0]]
        options = (NOT_GOOD, LATER)
        asked = next(asked for asked in act.kind(standing).checks if asked.check == now[0])
        band = session_acts.band_for(act, asked)
        unit = asked.unit or kind.units[0]
        says = [f"Allowed: {band.says}."] if band else ["Good is what its maker says."]
        way = f"Type the number, in {in_words(unit)} unless you type another unit."
        if now[0] == "water-temperature":
            says.append(session_acts.CAUTION)
    return note(
        several([KINDS[check].name for check in now]).capitalize(),
        f"{act.label(standing)}. {' '.join(asks)}",
        item=context.item,
        says=says,
        next=way,
        options=options,
    )


def _result(act: Act, context: Context) -> Answer:
    standing, zone = act.standing(context.item), act.house.zone
    found = session_acts.lines_now(act, context.item)
    reasons = told(why_not(found, act.at, zone))
    again = (
        "Scan it again to use it." if context.mode in ("use", "tell") else "Scan the next thing."
    )
    against = out_of_use(act.clinic, standing, act.at)
    if reasons:
        kept_back = any(isinstance(fact, Quarantined) for fact in act.told)
        return no(
            act.label(standing),
            (*reasons, *against),
            item=standing.item,
            word="Not good" if any(line.state == "failed" for line in found) else "Not all",
            next=_KEPT_BACK if kept_back else "Put it right and check it again, or take another.",
        )
    until = min(line.until for line in found if line.until is not None)
    checked = note(
        "Checked",
        act.label(standing),
        item=standing.item,
        says=[f"In force until {when(until, act.at, zone)}."],
        next=again,
        warn=bool(against),
    )
    if not against:
        return checked
    reasons = (*against, *checked.reasons)
    return msgspec.structs.replace(checked, reasons=reasons, next=_ALL_THE_SAME)
