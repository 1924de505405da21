"""Checks ahead of a session by scan: the card, the thing, one question after the other."""

from equip.desk.act.act import Act, Refused, told
from equip.desk.act.answer import Answer, no, note, unread
from equip.desk.bench import session_acts
from equip.desk.fitness.session import lines_of
from equip.desk.people import competence
from equip.facts import Quarantined, SessionCheck
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.session import KINDS, CheckKind, in_words, why_not
from equip.rules.fitness.standing import Standing
from equip.rules.wording import several, when
from equip.store.readings import item_rows

GOOD = "good"
NOT_GOOD = "not good"
LATER = "leave it out"
_TASK = "check"
_KEPT_BACK = "It is in quarantine now: leave it there, and tell the practice manager."


def card(act: Act, context: Context) -> tuple[Context, Answer]:
    """With a patient in hand it is about the thing scanned last, and nobody is let go."""
    if not context.patient:
        return transitions.checks(context), note(
            "Check", "Each thing is checked for this session.", next="Scan the first thing."
        )
    if not context.item:
        return context, unread("Nothing was scanned before.", "Scan the thing, then this card.")
    return scanned(act, context, act.standing(context.item))


def scanned(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    """What is not in force is asked for; where all of it is, all of it anew."""
    kind = act.kind(standing)
    if not kind.checks:
        return context, unread(
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
    return context, _question(act, context)


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
        return context, unread("Nothing is being checked.", "Say “check”, then scan the thing.")
    return answered(act, context, GOOD)


def session_over(act: Act, context: Context) -> tuple[Context, Answer]:
    """The checks of all things end, or of those of the place in hand."""
    there = [
        standing.item
        for standing in item_rows.standings(act.store)
        if not context.place or standing.place == context.place
    ]
    ended = session_acts.end_session(act, there)
    where = act.house.place_name(context.place)
    return transitions.over(context), note(
        "Over",
        f"The session{f' in {where}' if where else ''} has ended.",
        says=[
            f"Checked anew before it is used again: {act.label(act.standing(item))}."
            for item in ended
        ],
    )


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
    if reasons:
        kept_back = any(isinstance(fact, Quarantined) for fact in act.told)
        return no(
            act.label(standing),
            reasons,
            item=standing.item,
            word="Not good" if any(line.state == "failed" for line in found) else "Not all",
            next=_KEPT_BACK if kept_back else "Put it right and check it again, or take another.",
        )
    until = min(line.until for line in found if line.until is not None)
    return note(
        "Checked",
        act.label(standing),
        item=standing.item,
        says=[f"In force until {when(until, act.at, zone)}."],
        next=again,
    )
