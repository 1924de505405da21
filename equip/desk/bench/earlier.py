"""Telling late: what is told now has happened earlier today, and is written down for that time.

Uses, steps by hand and marks may be told late. They land in their order of time: what was done in
between, and is in the book already, counts. Loads and packs are told when they happen.
"""

from datetime import datetime, time, timedelta

import msgspec

from equip import acts, facts
from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, note, refused, remarks, unread
from equip.facts import Fact
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.standing import Standing, settled
from equip.rules.wording import when
from equip.scan import Reading, show_tag
from equip.store.ledger.about import told_about
from equip.store.readings import use_rows
from equip.typed import Mistyped, minute_of_day

TODAY = "earlier today"
"""The answer that asks for a time; a time that is typed needs no question."""

_AGO = (15, 30, 60, 120)
_ROUND = timedelta(minutes=5)

_TOLD_LATE = frozenset(
    (
        *("finish", "one more", "left ear", "right ear", "both ears", "soil", "opened, not used"),
        *acts.words("soil"),
        *("wipe", "clean", "rinse", "dry", "disinfect", "inspect pass", "inspect fail"),
        *("dropped", "blocked", "bent", "image fault", "tube touched scope", "wet pack"),
        *("torn pack", "unpack"),
    )
)
"""Acts that may have happened earlier than they are told."""

_AT_ONCE = frozenset(
    ("earlier", "now", "start over", "undo", "take it back", "other patients too")
) | {"move to another patient"}
"""Acts that happen when they are said, whatever time is told of."""


# --- when it was ------------------------------------------------------------------------------


def card(act: Act, context: Context) -> tuple[Context, Answer]:
    return transitions.asking(context, "when"), note(
        "When?",
        "When did it happen?",
        next="Type the time, such as 09:40; or choose.",
        options=("now", TODAY),
    )


def now(act: Act, context: Context) -> tuple[Context, Answer]:
    return transitions.from_now(context), note("Now", "What is told from here on happens now.")


def answered(act: Act, context: Context, reading: Reading) -> tuple[Context, Answer] | None:
    """The time was said; None where a patient was scanned instead of it."""
    if reading.value.casefold() == TODAY:
        return context, note(
            "What time?",
            "At what time today did it happen?",
            next="Type the time, such as 09:40; or choose.",
            options=_times(act),
        )
    try:
        minutes = minute_of_day(reading.value)
    except Mistyped as problem:
        if reading.kind == "patient":
            return None
        return context, unread(f"That {problem.says}", "Type it, or say “now”.")
    return _since(act, context, minutes)


def _times(act: Act) -> tuple[str, ...]:
    """Some times to choose from, for hands in gloves."""
    zone = act.house.zone
    here = act.at.astimezone(zone)
    past = [here - timedelta(minutes=ago + here.minute % 5) for ago in _AGO]
    return tuple(f"{one:%H:%M}" for one in past if one.date() == here.date())


def _since(act: Act, context: Context, minutes: int) -> tuple[Context, Answer]:
    zone = act.house.zone
    here = act.at.astimezone(zone)
    at = datetime.combine(here.date(), time(*divmod(minutes, 60)), zone).astimezone(act.at.tzinfo)
    if at > act.at:
        return context, refused(
            f"{at.astimezone(zone):%H:%M} is still to come: it is {here:%H:%M} now.",
            "Type when it was today, or say “now”.",
        )
    use = use_rows.use_of(act.store, context.use) if context.use else None
    begun_after = use is not None and use.at > at
    context = transitions.since(context, at, begun_after=begun_after)
    return context, note(
        "Earlier",
        f"What is told from here on happened at {at.astimezone(zone):%H:%M}.",
        patient=context.patient,
        next="Scan the patient, or say the step; then scan what it was. Say “now” when it is told.",
        options=("now",),
    )


def dated(act: Act, context: Context, reading: Reading) -> datetime | None:
    """When that which is scanned has happened, if it is told late."""
    at_once = (reading.kind == "word" and reading.value in _AT_ONCE) or (
        reading.kind == "tag" and reading.value[0] in "BR"
    )
    if context.earlier is None or at_once or context.asks == "when":
        return None
    return min(context.earlier, act.at)


def shown(act: Act, context: Context, answer: Answer) -> Answer:
    """*answer*, saying which time is told of for as long as it is not now."""
    if context.earlier is None or answer.word == "Earlier":
        return answer
    says = f"Told as of {when(context.earlier, act.at, act.house.zone)}. Say “now” to end that."
    options = answer.options if "now" in answer.options else (*answer.options, "now")
    reasons = (*answer.reasons, *remarks([says]))
    return msgspec.structs.replace(answer, reasons=reasons, options=options)


# --- what may not be told late ----------------------------------------------------------------


def not_told_late(context: Context, reading: Reading) -> Answer | None:
    """The answer to what is told when it happens, or only asks; None if it may be told late."""
    if context.earlier is None or context.asks:
        return None
    if reading.kind == "word" and reading.value not in _TOLD_LATE | _AT_ONCE:
        return refused(f"“{reading.value}” is told when it happens.", _SAY_NOW)
    if reading.kind == "tag" and reading.value[0] == "L":
        return refused("A load is told when it happens.", _SAY_NOW)
    if reading.kind == "tag" and reading.value[0] in "EDPS" and context.mode not in _TELLS:
        return refused(
            "Nothing is asked about an earlier time.",
            "Scan the patient, or say the step, then this. Or say “now”.",
        )
    return None


_TELLS = ("tell", "step")
_SAY_NOW = "Say “now” first."


def why_not_then(act: Act, standing: Standing) -> Answer | None:
    """The answer where the item cannot have met this at the time told; None if it can."""
    then = when(act.at, act.now, act.house.zone)
    says = _out_of_reach(act, standing, then)
    if not says:
        return None
    return refused(says, "Say “earlier” and type when it was; or scan another item.")


def _out_of_reach(act: Act, standing: Standing, then: str) -> str:
    tag = show_tag(standing.item)
    if standing.at is None or standing.at > act.at:
        return f"{tag} was not in this book yet at {then}: {_first(act, standing.item)}."
    if act.kind(standing).process is not None:
        return f"{tag} runs loads, and a load is told when it happens."
    if standing.where != "here":
        return f"{tag} was {standing.where} at {then}."
    if standing.load_state in ("filling", "running"):
        return f"{tag} was in load {show_tag(standing.load)} at {then}."
    load = _sealed_into(act, standing)
    if load:
        return f"{tag} lay in a sealed pack at {then} that went into load {show_tag(load)} since."
    return ""


def _first(act: Act, item: str) -> str:
    """When it came into the book."""
    told = [fact for fact in _told(act, item) if isinstance(fact, facts.ItemAdded | facts.Packed)]
    at = when(told[0].at, act.now, act.house.zone) if told else "later"
    sealed = bool(told) and isinstance(told[0], facts.Packed)
    return f"it was sealed {at}" if sealed else f"it came on the register {at}"


def _sealed_into(act: Act, standing: Standing) -> str:
    """The load that it went into after the time told, sealed as it lay then; "" if into none."""
    if not standing.pack and (standing.made is None or standing.opened is not None):
        return ""
    for fact in _told(act, standing.item):
        if fact.at <= act.at:
            continue
        if isinstance(fact, facts.Packed):
            return ""
        if isinstance(fact, facts.LoadAdded):
            return fact.load
    return ""


def _told(act: Act, item: str) -> list[Fact]:
    told = [entry.fact for entry in told_about(act.store, item)]
    return [fact for _, fact in settled(told)]
