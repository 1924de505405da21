"""What a scan says: read in the context it was made in, handed to whoever does it, answered."""

from collections.abc import Callable
from datetime import timedelta

import msgspec

from equip import facts
from equip.acts import Mode
from equip.desk.act.act import Act, Refused
from equip.desk.act.answer import Answer, note, refused, unread
from equip.desk.bench import (
    counts,
    earlier,
    fired_twice,
    lapses,
    load_scans,
    lot_scans,
    mishaps,
    missing_pieces,
    override,
    packing,
    session_scans,
    taking_back,
    uses,
    whose,
)
from equip.desk.bench.handlers import HANDLERS
from equip.desk.people import competence
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.standing import Standing
from equip.scan import FIRST_TYPE_CARD, Reading, UnreadableScan, read, show_tag
from equip.store.fold.items import is_item
from equip.store.readings import item_rows
from equip.typed import Mistyped


def answered(
    act: Act, context: Context, text: str, before: Context, idle: timedelta
) -> tuple[str, Context, Answer]:
    """What is kept of the reading (a patient as a token, free text not at all), and the answer.

    *before* was in hand at the last scan; *context* is what is left of it, after *idle* none.
    """
    try:
        reading = read(text, act.clinic.patients)
    except UnreadableScan as problem:
        context = transitions.unknown(_not_left_open(context, ""))
        return "", context, unread(str(problem))
    question = lapses.whose_work(act.house, context, reading)
    if question is not None:
        return "", context, question
    runs = before.mode == "load" and not load_scans.filling(act, before)
    ended = None if runs else lapses.ended(act.house, before, context, idle)
    if ended is not None and lapses.leans_on(before, reading):
        return "", context, ended
    if reading.value == "undo" and fired_twice.in_a_moment(before.at, act.at):
        context = transitions.asking(context, "")  # it is named again, not done unseen
    kept, context, answer = _answered(act, context, reading)
    if ended is not None:
        answer = lapses.with_ended(answer, ended)
    if lapses.ran_out(before, act.at, idle) and before.no_patient:
        answer = whose.left(act, before, answer)
    return kept, context, answer


def _answered(act: Act, context: Context, reading: Reading) -> tuple[str, Context, Answer]:
    told_before, later_before, scanned_at = len(act.told), len(act.later), act.at
    try:
        if (at := earlier.dated(act, context, reading)) is not None:
            act.tells_of(at)
        kept, context, answer = _dispatch(act, context, reading)
    except (Refused, Mistyped) as problem:
        del act.told[told_before:], act.later[later_before:]
        # An answer is kept: what was typed may be a patient's and is not repeated in it.
        if isinstance(problem, Mistyped):
            return "", transitions.asking(context, ""), unread(f"That {problem.says}")
        return "", transitions.asking(context, ""), refused(str(problem))
    finally:
        act.at = scanned_at
    answer = earlier.shown(act, context, answer)
    if reading.remapped:
        says = "The scanner types for another keyboard: set it to this country's layout."
        answer = msgspec.structs.replace(
            answer, reasons=(*answer.reasons, facts.Told(code="scanner-layout", says=says))
        )
    return kept, context, answer


def _not_left_open(context: Context, said: str) -> Context:
    """What was named to be taken back is left as it is by anything that was not said of it."""
    if context.asks == "undo" and not taking_back.goes_on(said):
        return transitions.asking(context, "")
    return context


def _dispatch(act: Act, context: Context, reading: Reading) -> tuple[str, Context, Answer]:
    context = _not_left_open(context, reading.value)
    if (stays := earlier.not_told_late(context, reading)) is not None:
        return "", context, stays
    typed_answer = reading.kind in ("text", "patient") or _is_badge(reading)
    if context.asks and (typed_answer or (context.asks == "piece" and reading.kind == "tag")):
        answered = _answer_to_question(act, context, reading)
        if answered is not None:
            return answered
    match reading.kind:
        case "word":
            if context.asks in _LEFT_BY_A_WORD and reading.value != "good":
                context = transitions.asking(context, "")
            waited = context if reading.value != "one more" else Context()
            context, answer = HANDLERS[reading.value](act, context)
            if waited.no_patient:
                answer = whose.left(act, waited, answer)
                context = transitions.nobodys(context)
            return reading.value, context, answer
        case "patient":
            token = act.clinic.vault.token(reading.value)
            context, answer = _patient(act, context, token)
            return token, context, answer
        case "tag" if reading.value[0] == "T":
            context, answer = lot_scans.scanned(act, context, reading.value)
            return reading.value, context, answer
        case "tag":
            if context.asks != "whose":
                context = transitions.asking(context, "")
            context, answer = _tag(act, context, reading.value)
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
        case "whose" if reading.kind == "patient":
            token = act.clinic.vault.token(reading.value)
            return token, *whose.named(act, context, token)
        case "cycle-number":
            return "", *load_scans.ended(act, context, reading.value)
        case "reason" if reading.kind == "text":
            return "", *override.explained(act, context, reading.value)
        case "competence" if reading.kind == "text":
            return "", *competence.explained(act, context, reading.value)
        case "competence" if _is_badge(reading) and reading.value != context.asked_of:
            return reading.value, *competence.supervised(act, context, reading.value)
        case "check" if reading.kind in ("text", "patient"):
            return "", *session_scans.answered(act, context, reading.value)
        case "count":
            return "", *packing.counted(act, context, reading.value)
        case "piece" if reading.kind == "text" or missing_pieces.names(act, context, reading.value):
            return "", *missing_pieces.chosen(act, context, reading.value)
        case "when" if (at := earlier.answered(act, context, reading)) is not None:
            return "", *at
        case "undo":
            return "", *taking_back.down_to(act, context, reading.value)
        case "where" if reading.kind == "text":
            return "", *missing_pieces.placed(act, context, reading.value)
        case _:
            return None


_LEFT_BY_A_WORD = ("competence", "check", "piece", "where", "whose", "when")
"""Questions that are over once an act is said instead of an answer."""


def _is_badge(reading: Reading) -> bool:
    return reading.kind == "tag" and reading.value[0] == "B"


def _patient(act: Act, context: Context, token: str) -> tuple[Context, Answer]:
    if context.load and load_scans.filling(act, context):
        return context, refused(
            "That is a patient, and a load is being filled.",
            "Scan what goes in, or “start over” first.",
        )
    if context.mode in ("step", "pack", "store") and context.contents:
        return context, refused(
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
    alias = item_rows.aliased(act.store, text)
    if alias is not None:
        context, answer = _tag(act, context, alias)
        return alias, context, answer
    if context.load:
        chosen = load_scans.programme(act, context, text)
        if chosen is not None:
            return text, *chosen
    return (
        "",
        transitions.unknown(context),
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
            return load_scans.load_scanned(act, context, tag)
        case "C" if int(tag[1:9]) >= FIRST_TYPE_CARD:
            return _type_card(act, context, tag)
        case _:
            return _thing(act, context, tag)


def _badge(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    person = act.house.staff.get(tag)
    if person is None or not person.active:
        return context, refused(
            "That badge is on nobody's name here.", "Sign in, or ask the manager."
        )
    return transitions.with_badge(context, tag, act.at), note(
        "Badge", f"{person.name} works here now."
    )


def _place(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    place = act.house.places.get(tag)
    if place is None:
        return context, refused(f"{show_tag(tag)} is no place in this book.", "Add it in Setup.")
    way = "Scan what goes there." if context.mode == "store" else ""
    return transitions.at_place(context, tag), note("Place", place.name, next=way)


def _type_card(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    kind = act.house.card_type(tag)
    if kind is None:
        return context, refused(f"{show_tag(tag)} stands for no type in this book.")
    if context.counting:
        context, answer = counts.loose_piece(act, context, kind)
        if answer is not None:
            return context, answer
    if context.mode != "pack":
        return context, refused(
            f"{kind.name} carries no tag of its own.", "Say “pack” first, or scan its pack."
        )
    return packing.count_loose(act, context, kind.code)


def _thing(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    known = act.row(tag)
    if known is None and (other := item_rows.aliased(act.store, tag)) is not None:
        tag, known = other, act.row(other)
    if context.mode == "pack" and tag[0] == "P":
        return packing.seal(act, context, tag)
    if known is None or not is_item(tag):
        way = "Close it as a pack first." if tag[0] == "P" else "Add it to the register in Setup."
        return transitions.unknown(context), refused(
            f"{show_tag(tag)} is not on the register.", way
        )
    standing = act.standing(tag)
    if context.earlier and (stays := earlier.why_not_then(act, standing)) is not None:
        return context, stays
    if context.counting:
        context, counted = counts.piece(act, context, standing)
        if counted is not None:
            return context, counted
    if tag[0] == "D" and act.kind(standing).process is not None and context.mode != "store":
        if context.mode == "pack" and context.loose:
            return packing.out_of(act, context, standing)
        return load_scans.machine_scanned(act, context, standing)
    return _BY_MODE[context.mode](act, context, standing)


_BY_MODE: dict[Mode, Callable[[Act, Context, Standing], tuple[Context, Answer]]] = {
    "": uses.ask,
    "lay-up": uses.ask,
    "use": uses.use,
    "tell": whose.tell,
    "step": counts.step,
    "pack": counts.into_pack,
    "store": packing.put_away,
    "load": counts.put_in,
    "take-out": load_scans.take_out,
    "check": session_scans.scanned,
}
