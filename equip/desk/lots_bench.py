"""Lots as they are scanned at the bench: taken in hand for a step, put with a load."""

from equip import facts
from equip.desk import wiping
from equip.desk.acting import Act
from equip.desk.answers import Answer, no, note, unread
from equip.rules import bench
from equip.rules.bench import Context
from equip.rules.lots import Lot, why_not_serve
from equip.rules.wording import span
from equip.scan import show_tag
from equip.store import readings

_STEPS = ("clean", "disinfect", "rinse")


def scanned(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    """A lot was scanned: what it is for depends on what is in hand."""
    context = bench.asking(context, "")
    lot = readings.lot_of(act.store, tag, act.house.zone)
    if lot is None:
        return context, unread(f"{show_tag(tag)} is no lot in this book.", "Add it under Lots.")
    return _in_hand(act, context, lot)


def _in_hand(act: Act, context: Context, lot: Lot) -> tuple[Context, Answer]:
    """A lot that may not serve stays in hand as well: each thing wiped with it is refused."""
    context = bench.with_lot(context, lot.tag)
    step = context.step if context.mode == "step" else ""
    reasons = wiping.why_not_by_hand(act, context, lot) if step else why_not_now(act, lot)
    if reasons:
        way = "Take another lot and scan it, or say “start over”."
        return context, no(name(lot), reasons, item=lot.tag, word="Do not use", next=way)
    return context, note(
        "Lot",
        name(lot),
        item=lot.tag,
        says=_stated(lot),
        next=f"Scan what went through “{step}” with it." if step else "Say which step it is for.",
        options=() if step else _STEPS,
    )


def why_not_now(act: Act, lot: Lot) -> list[facts.Told]:
    return why_not_serve(lot, act.house.today(act.at))


def name(lot: Lot) -> str:
    """A lot as it is called on screen."""
    return f"{lot.name}, {lot.number} {show_tag(lot.tag)}"


def _stated(lot: Lot) -> list[str]:
    says = []
    if lot.stated.contact_s:
        says.append(f"It has to stay wet for {span(lot.stated.contact_s)}.")
    if lot.opened is None:
        says.append("Its first use opens it.")
    if lot.last_day is not None:
        says.append(f"It may serve until {lot.last_day}.")
    return says
