"""What a bench has in hand, in words: always in view above the answer."""

from dataclasses import dataclass

from equip.desk.act.answer import Answer
from equip.desk.bench.doing import doing
from equip.desk.bench.patient_end import patient_end
from equip.desk.bench.scanning import Reply
from equip.desk.clinic import Clinic, House
from equip.rules.bench.transitions import Context, lot_in_hand
from equip.scan import show_tag
from equip.store.readings import lot_rows


@dataclass(frozen=True, slots=True)
class Strip:
    """The context as people see it; *patient* is "ends 7001", never the reference."""

    who: str
    patient: str
    token: str
    ear: str
    doing: str
    load: str
    place: str
    lies_ready: int
    lot: str = ""


def strip(clinic: Clinic, context: Context, signed: str) -> Strip:
    """The context in words, for whoever is signed in or scanned a badge."""
    house = clinic.house
    return Strip(
        who=_who(clinic, context, signed),
        patient=f"ends {patient_end(clinic, context.patient)}" if context.patient else "",
        token=context.patient,
        ear=context.ear,
        doing=_doing(house, context),
        load=show_tag(context.load) if context.load else "",
        place=house.place_name(context.place),
        lot=_lot(clinic, context),
        lies_ready=len(context.contents) + sum(loose.count for loose in context.loose),
    )


def _doing(house: House, context: Context) -> str:
    at = context.earlier
    return doing(context) + (f", as of {at.astimezone(house.zone):%H:%M}" if at else "")


def _who(clinic: Clinic, context: Context, signed: str) -> str:
    if context.lapsed and context.lapsed != signed:
        return f"nobody: the badge of {clinic.house.person_name(context.lapsed)} ran out"
    return clinic.house.person_name(context.badge or signed)


def _lot(clinic: Clinic, context: Context) -> str:
    tag = lot_in_hand(context)
    lot = lot_rows.lot_of(clinic.store, tag) if tag else None
    return f"{lot.name}, {lot.number}" if lot else ""


def as_json(clinic: Clinic, reply: Reply, signed: str) -> dict[str, object]:
    """The reply as the API gives it. Only the end of a patient's reference ever stands in it."""
    shown = strip(clinic, reply.context, signed)
    answer: Answer = reply.answer
    return {
        "id": reply.act,
        "seq": reply.seq,
        "replayed": reply.replayed,
        "answer": {
            "tone": answer.tone,
            "word": answer.word,
            "what": answer.what,
            "item": answer.item or None,
            "patient": answer.patient or None,
            "reasons": [{"code": r.code, "says": r.says} for r in answer.reasons],
            "next": answer.next,
            "options": list(answer.options),
        },
        "context": {
            "who": shown.who,
            "patient_ends": shown.patient.removeprefix("ends ") or None,
            "patient": shown.token or None,
            "ear": shown.ear or None,
            "doing": shown.doing,
            "load": reply.context.load or None,
            "place": shown.place or None,
            "lot": lot_in_hand(reply.context) or None,
            "timers": [
                {"item": one.item, "until": one.until.isoformat()} for one in reply.context.timers
            ],
        },
    }
