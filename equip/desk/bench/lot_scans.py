"""Lots as they are scanned at the bench: taken in hand for a step, put with a load."""

from equip import facts
from equip.desk.act.act import Act
from equip.desk.act.answer import LOT_REFUSED, Answer, no, note, refused
from equip.desk.bench import load_scans, soak_scans, timed_steps
from equip.desk.loads import soak_acts
from equip.desk.machines import lots
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.lots import Lot, why_not_serve
from equip.rules.wording import span
from equip.scan import show_tag
from equip.store.readings import load_rows, lot_rows

_WITH_A_LOAD: tuple[facts.LotSort, ...] = ("detergent", "agent", "other")
_READ_ON_A_PAGE: tuple[facts.LotSort, ...] = ("chemical-indicator", "spore-test")
_STEPS = ("clean", "disinfect", "rinse")


def scanned(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    """A lot was scanned: what it is for depends on what is in hand."""
    fills = context.asks == "bath-lot"
    context = transitions.asking(context, "")
    lot = lot_rows.lot_of(act.store, tag, act.house.zone)
    if lot is None:
        return context, refused(f"{show_tag(tag)} is no lot in this book.", "Add it under Lots.")
    if fills:
        return soak_scans.filled(act, context, lot)
    if lot.sort in _READ_ON_A_PAGE:
        return load_scans.indicator_scanned(act, context, lot)
    if context.load:
        return _put_with(act, context, lot)
    return _in_hand(act, context, lot)


def _put_with(act: Act, context: Context, lot: Lot) -> tuple[Context, Answer]:
    """A lot scanned while a load is in hand serves that load; one that may not is kept out."""
    load = load_rows.load_of(act.store, context.load)
    if load is None:
        return context, refused("No load is in hand: scan the machine or the load's label first.")
    sorts = (*_WITH_A_LOAD, "test-strip") if soak_acts.is_soak(load) else _WITH_A_LOAD
    if lot.sort not in sorts:
        way = "Scan what goes in, or “start over” first."
        return context, refused(f"{name(lot)} is not put with a load like this.", way)
    reasons = tuple(why_not_now(act, lot))
    if reasons:
        act.tell(facts.LoadRefused, load=load.load, item=lot.tag, reasons=reasons)
        return context, no(name(lot), reasons, item=lot.tag, word="Not in", next="Take another.")
    lots.put_with(act, load, lot.tag, sorts)
    return context, note(
        "Lot in", name(lot), item=lot.tag, says=_stated(act, lot), next="Scan what goes in."
    )


def _in_hand(act: Act, context: Context, lot: Lot) -> tuple[Context, Answer]:
    """A lot that may not serve stays in hand as well: each thing wiped with it is refused."""
    context = transitions.with_lot(context, lot.tag)
    step = context.step if context.mode == "step" else ""
    reasons = timed_steps.why_not_by_hand(act, context, lot) if step else why_not_now(act, lot)
    if reasons:
        way = "Take another lot and scan it, or say “start over”."
        return context, no(name(lot), reasons, item=lot.tag, word=LOT_REFUSED, next=way)
    return context, note(
        "Lot",
        name(lot),
        item=lot.tag,
        says=_stated(act, lot),
        next=f"Scan what went through “{step}” with it." if step else "Say which step it is for.",
        options=() if step else _STEPS,
    )


def why_not_now(act: Act, lot: Lot) -> list[facts.Told]:
    return why_not_serve(lot, act.house.today(act.at))


def name(lot: Lot) -> str:
    """A lot as it is called on screen."""
    return f"{lot.name}, {lot.number} {show_tag(lot.tag)}"


def _stated(act: Act, lot: Lot) -> list[str]:
    says = []
    if lot.stated.contact_s:
        says.append(f"It has to stay wet for {span(lot.stated.contact_s)}.")
    if lot.sort == "wipe":
        stops = lots.stops_in_words(act.house.rules(act.at), lot)
        says.append(f"{stops[0].upper()}{stops[1:]}.")
    if lot.opened is None:
        says.append("Its first use opens it.")
    if lot.last_day is not None:
        says.append(f"It may serve until {lot.last_day}.")
    return says
