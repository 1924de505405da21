"""What ran out since the last scan: a use, a load, a step that nobody went on with; a badge.

The next scan says so and writes nothing down: what it would have meant then, it means no longer.
"""

from datetime import datetime, timedelta

import msgspec

from equip import acts
from equip.desk.act.answer import Answer, no, note, remarks
from equip.desk.bench.doing import doing
from equip.desk.clinic import House
from equip.rules.bench.transitions import Context
from equip.rules.wording import when
from equip.scan import Reading, show_tag

_FOR_ANYBODY = (acts.GO_ON, "start over")


def whose_work(house: House, context: Context, reading: Reading) -> Answer | None:
    """The question who works here, if a badge lapsed and *reading* would be somebody's work."""
    if not context.lapsed or _is_nobodys_work(reading):
        return None
    was, now = house.person_name(context.lapsed), house.person_name(context.signed)
    at = context.lapsed_at
    return no(
        f"The badge of {was} ran out {_since(house, at, context.at) if at else ''}".strip() + ".",
        remarks(["This scan is written down for nobody."]),
        word="Whose work?",
        next=f"Scan your badge, or choose “{acts.GO_ON}” to work on as {now}; then scan again.",
        options=(acts.GO_ON,),
    )


def _is_nobodys_work(reading: Reading) -> bool:
    if reading.kind == "word":
        return reading.value in _FOR_ANYBODY
    return reading.kind == "patient" or (reading.kind == "tag" and reading.value[0] in "BR")


def ended(house: House, before: Context, now: Context, idle: timedelta) -> Answer | None:
    """That what was in hand in *before* ran out until *now*, and when; None if it did not."""
    if not ran_out(before, now.at, idle) or before.finished:
        return None
    if before.at is None or before.mode in ("", "lay-up"):
        return None
    at, minutes = _since(house, before.at + idle, now.at), int(idle.total_seconds() // 60)
    after = f"{at}, after {minutes} minutes without a scan"
    if before.patient:
        return note(
            "Ended",
            f"The use for this patient ended {after}.",
            patient=before.patient,
            says=["Nothing is written down for this scan."],
            next="Scan the patient, then scan this again. Without a patient, a scan only asks "
            "whether the item may be used.",
            warn=True,
        )
    what = f"Load {show_tag(before.load)}" if before.load else f"What was in hand ({doing(before)})"
    return note(
        "Ended",
        f"{what} was put down {after}.",
        says=["Nothing is written down for this scan."],
        next="Say again what you are doing, then scan this again.",
        warn=True,
    )


def ran_out(before: Context, now: datetime | None, idle: timedelta) -> bool:
    """Whether what was in hand in *before* is in hand no longer at *now*."""
    return before.at is not None and now is not None and now - before.at > idle


def leans_on(before: Context, reading: Reading) -> bool:
    """Whether *reading* means what it means only by what was in hand in *before*."""
    match reading.kind:
        case "tag":
            is_item = reading.value[0] in "EPSD"
            return is_item and not (before.mode == "load" and reading.value[0] == "D")
        case "word":
            card = next(card for card in acts.CARDS if card.word == reading.value)
            return before.mode in card.modes and "" not in card.modes and card.group != "back"
        case _:
            return False


def with_ended(answer: Answer, ended: Answer) -> Answer:
    """*answer* to a scan that stands by itself, saying first what ran out before it."""
    says = ended.what.replace("this patient", "the patient before")
    return msgspec.structs.replace(answer, reasons=(*remarks([says]), *answer.reasons))


def _since(house: House, moment: datetime, now: datetime | None) -> str:
    """When it ran out: "at 11:05", or "yesterday 17:20"."""
    asked = now or moment
    text, zone = when(moment, asked, house.zone), house.zone
    today = moment.astimezone(zone).date() == asked.astimezone(zone).date()
    return f"at {text}" if today else text
