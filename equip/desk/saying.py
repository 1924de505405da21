"""What a scan says: read in the context it was made in, handed to whoever does it, answered."""

from collections.abc import Callable

import msgspec

from equip import facts
from equip.desk import (
    chairside,
    checking_bench,
    loading_bench,
    lots_bench,
    mishaps,
    overriding,
    processing,
    soaking_bench,
    using,
)
from equip.desk.act.act import Act, Refused
from equip.desk.act.answer import Answer, note, unread
from equip.desk.lookback import injuries
from equip.desk.people import competence
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.standing import Standing
from equip.scan import FIRST_TYPE_CARD, Reading, UnreadableScan, read, show_tag
from equip.store import readings
from equip.store.fold.project import is_item

Handler = Callable[[Act, Context], tuple[Context, Answer]]


def answered(act: Act, context: Context, text: str) -> tuple[str, Context, Answer]:
    """What is kept of the reading (a patient as a token, free text not at all), and the answer."""
    try:
        reading = read(text, act.clinic.patients)
    except UnreadableScan as problem:
        return "", context, unread(str(problem))
    told_before, later_before = len(act.told), len(act.later)
    try:
        kept, context, answer = _dispatch(act, context, reading)
    except Refused as problem:
        del act.told[told_before:], act.later[later_before:]
        return "", transitions.asking(context, ""), unread(str(problem))
    if reading.remapped:
        says = "The scanner types for another keyboard: set it to this country's layout."
        answer = msgspec.structs.replace(
            answer, reasons=(*answer.reasons, facts.Told(code="scanner-layout", says=says))
        )
    return kept, context, answer


def _dispatch(act: Act, context: Context, reading: Reading) -> tuple[str, Context, Answer]:
    if context.asks and (reading.kind in ("text", "patient") or _is_badge(reading)):
        answered = _answer_to_question(act, context, reading)
        if answered is not None:
            return answered
    match reading.kind:
        case "word":
            if context.asks in ("competence", "check") and reading.value != "good":
                context = transitions.asking(context, "")
            context, answer = WORDS[reading.value](act, context)
            return reading.value, context, answer
        case "patient":
            token = act.clinic.vault.token(reading.value)
            context, answer = _patient(act, context, token)
            return token, context, answer
        case "tag" if reading.value[0] == "T":
            context, answer = lots_bench.scanned(act, context, reading.value)
            return reading.value, context, answer
        case "tag":
            context, answer = _tag(act, transitions.asking(context, ""), reading.value)
            return reading.value, context, answer
        case _:
            return _text(act, context, reading.value)


def _answer_to_question(
    act: Act, context: Context, reading: Reading
) -> tuple[str, Context, Answer] | None:
    match context.asks:
        case "patient-to-move-to" if reading.kind == "patient":
            token = act.clinic.vault.token(reading.value)
            context, answer = mishaps.moved(act, context, token)
            return token, context, answer
        case "cycle-number":
            return "", *loading_bench.ended(act, context, reading.value)
        case "reason" if reading.kind == "text":
            return "", *overriding.explained(act, context, reading.value)
        case "competence" if reading.kind == "text":
            return "", *competence.explained(act, context, reading.value)
        case "competence" if _is_badge(reading) and reading.value != context.asked_of:
            return reading.value, *competence.supervised(act, context, reading.value)
        case "check" if reading.kind in ("text", "patient"):
            return "", *checking_bench.answered(act, context, reading.value)
        case "count":
            return "", *_count(act, context, reading.value)
        case _:
            return None


def _is_badge(reading: Reading) -> bool:
    return reading.kind == "tag" and reading.value[0] == "B"


def _patient(act: Act, context: Context, token: str) -> tuple[Context, Answer]:
    if context.load and loading_bench.filling(act, context):
        return context, unread(
            "That is a patient, and a load is being filled.",
            "Scan what goes in, or “start over” first.",
        )
    if context.mode in ("step", "pack", "store") and context.contents:
        return context, unread(
            "That is a patient, and a pack is being filled.",
            "Close the pack with its tag, or “start over” first.",
        )
    same = context.patient == token
    context = transitions.with_patient(context, token)
    return context, note(
        "Patient",
        "Still in hand." if same else "In hand: scan what was used.",
        patient=token,
        next="Or say “start a use” before the instruments are opened.",
        options=("start a use", "left ear", "right ear", "both ears"),
    )


def _text(act: Act, context: Context, text: str) -> tuple[str, Context, Answer]:
    alias = readings.aliased(act.store, text)
    if alias is not None:
        context, answer = _tag(act, context, alias)
        return alias, context, answer
    if context.load:
        chosen = loading_bench.programme(act, context, text)
        if chosen is not None:
            return text, *chosen
    return (
        "",
        context,
        unread(
            "This is no tag, no act and no patient reference of this clinic.",
            "Scan it again, or type what is printed on the tag.",
        ),
    )


def _tag(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    match tag[0]:
        case "B":
            return _badge(act, context, tag)
        case "R":
            return _place(act, context, tag)
        case "L":
            return loading_bench.load_scanned(act, context, tag)
        case "C" if int(tag[1:9]) >= FIRST_TYPE_CARD:
            return _type_card(act, context, tag)
        case _:
            return _thing(act, context, tag)


def _badge(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    person = act.house.staff.get(tag)
    if person is None or not person.active:
        return context, unread(
            "That badge is on nobody's name here.", "Sign in, or ask the manager."
        )
    return transitions.with_badge(context, tag, act.at), note(
        "Badge", f"{person.name} works here now."
    )


def _place(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    place = act.house.places.get(tag)
    if place is None:
        return context, unread(f"{show_tag(tag)} is no place in this book.", "Add it in Setup.")
    way = "Scan what goes there." if context.mode == "store" else ""
    return transitions.at_place(context, tag), note("Place", place.name, next=way)


def _type_card(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    kind = act.house.card_type(tag)
    if kind is None:
        return context, unread(f"{show_tag(tag)} stands for no type in this book.")
    if context.mode != "pack":
        return context, unread(
            f"{kind.name} carries no tag of its own.", "Say “pack” first, or scan its pack."
        )
    return processing.count_loose(act, context, kind.code)


def _thing(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    known = act.row(tag)
    if known is None and (other := readings.aliased(act.store, tag)) is not None:
        tag, known = other, act.row(other)
    if context.mode == "pack" and tag[0] == "P":
        return processing.seal(act, context, tag)
    if known is None or not is_item(tag):
        way = "Close it as a pack first." if tag[0] == "P" else "Add it to the register in Setup."
        return context, unread(f"{show_tag(tag)} is not on the register.", way)
    stands = act.standing(tag)
    if tag[0] == "D" and act.kind(stands).process is not None and context.mode != "store":
        if context.mode == "pack" and context.loose:
            return processing.out_of(act, context, stands)
        return loading_bench.machine_scanned(act, context, stands)
    return _BY_MODE[context.mode](act, context, stands)


def _count(act: Act, context: Context, text: str) -> tuple[Context, Answer]:
    if not context.loose or not text.isascii() or not text.isdigit() or not 0 <= int(text) <= 99:
        return transitions.asking(context, ""), unread(
            "A count is a number from 0 to 99, after an untagged type was scanned.",
            "Scan its card, say “count”, type the number.",
        )
    return processing.count_loose(act, context, context.loose[-1].type, int(text))


def _ask_count(act: Act, context: Context) -> tuple[Context, Answer]:
    if not context.loose:
        return context, unread("Nothing untagged was scanned.", "Scan its card first.")
    name = act.house.kind(context.loose[-1].type).name
    return transitions.asking(context, "count"), note("Count", f"How many × {name}?")


def _lay_up(act: Act, context: Context) -> tuple[Context, Answer]:
    return transitions.laying_up(context), note(
        "Lay up", "Each scan asks whether it may be used.", next="Scan the first thing."
    )


def _start_over(act: Act, context: Context) -> tuple[Context, Answer]:
    return transitions.over(context), note("Start over", "Nothing is in hand.")


_BY_MODE: dict[str, Callable[[Act, Context, Standing], tuple[Context, Answer]]] = {
    "": using.ask,
    "lay-up": using.ask,
    "use": using.use,
    "tell": using.tell,
    "step": processing.step,
    "pack": processing.into_pack,
    "store": processing.put_away,
    "load": loading_bench.put_in,
    "take-out": loading_bench.take_out,
    "check": checking_bench.scanned,
}


def _mark(word: str) -> Handler:
    return lambda act, context: mishaps.mark(act, context, word)


def _step(word: str) -> Handler:
    return lambda act, context: processing.step_card(act, context, word)


def _soil(what: str) -> Handler:
    return lambda act, context: using.soil(act, context, what)


WORDS: dict[str, Handler] = {
    "lay up": _lay_up,
    "start a use": using.start,
    "finish": using.finish,
    "opened, not used": using.opened_only,
    "left ear": lambda act, context: using.ear(act, context, "left"),
    "right ear": lambda act, context: using.ear(act, context, "right"),
    "both ears": lambda act, context: using.ear(act, context, "both"),
    "soil": _soil(""),
    "used anyway": overriding.card,
    "I was hurt": injuries.hurt,
    "pack": processing.pack_card,
    "store": processing.store_card,
    "undo": mishaps.undo,
    "move to another patient": mishaps.move,
    "start over": _start_over,
    "count": _ask_count,
    "start the load": loading_bench.start,
    "end the load": loading_bench.end,
    "run again": loading_bench.run_again,
    "take out": loading_bench.take_out_card,
    "release": loading_bench.release,
    "fill the bath": soaking_bench.fill_card,
    "indicator not turned": chairside.not_turned,
    "check": checking_bench.card,
    "good": checking_bench.good,
    "session over": checking_bench.session_over,
    **{what: _soil(what) for what in using.SOILS},
    **{word: _mark(word) for word in mishaps.MARKS},
    **{word: _step(word) for word in processing.STEPS},
}
"""What each act card does. Every card that `scan` prints is here (tested)."""
