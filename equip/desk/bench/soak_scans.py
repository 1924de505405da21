"""A soak bath at the bench: what it is filled with, until when a load stays in, out of it."""

import msgspec

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.act.answer import Answer, no, note
from equip.desk.bench import release_scans
from equip.desk.bench.release_scans import load_in_hand
from equip.desk.loads import soak_acts
from equip.desk.loads.end import end_load
from equip.desk.machines import baths
from equip.facts import Told
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.agents import agent_of
from equip.rules.fitness.clocks import left_s
from equip.rules.fitness.lots import Lot
from equip.rules.loads import fold as loads
from equip.rules.loads.load import Load
from equip.rules.wording import clock, span
from equip.scan import show_tag

_FILLING = ("start the load", "take out", "fill the bath")


def opened(act: Act, load: str, machine: str, label: str) -> Answer:
    """A load was opened on a bath: what is in the bath, on which day, or why it must not serve."""
    now_in = baths.filling(act.clinic, machine, act.at)
    name = now_in.lot.stated.agent if now_in else ""
    what = f"{show_tag(load)} on {label}"
    way = "Scan what goes in, then “start the load”."
    reasons = _why_not(act, machine, name)
    if reasons:
        return Answer(
            "warn",
            "Load open",
            what,
            reasons=tuple(reasons),
            next="Say “fill the bath”, then scan the lot.",
            options=_FILLING[::-1],
        )
    says = [_day(act, machine, name)]
    return note("Load open", what, says=says, next=way, options=_FILLING)


def _why_not(act: Act, machine: str, name: str) -> list[Told]:
    if not name:
        says = "Nobody recorded what the bath is filled with."
        return [Told(code="bath-empty", says=says)]
    return baths.why_not(act.clinic, machine, name, act.at)


def _day(act: Act, machine: str, name: str) -> str:
    now_in = baths.filling(act.clinic, machine, act.at)
    assert now_in is not None  # noqa: S101 — else it could not serve
    day, days = now_in.day_of_use(act.at, act.house.zone), baths.days_of(act.clinic, name, act.at)
    return f"Filled with {now_in.lot.name}, {now_in.lot.number}: day {day} of {days}."


# --- filling --------------------------------------------------------------------------------


def fill_card(act: Act, context: Context) -> tuple[Context, Answer]:
    """The next lot scanned is what the bath in hand is filled with."""
    load = load_in_hand(act, context)
    if load.state != "filling":
        raise Refused("Something is in the bath: take it out, and end its load first.")
    if not soak_acts.is_soak(load):
        raise Refused(f"{act.label(act.standing(load.machine))} is no soak bath.")
    return transitions.asking(context, "bath-lot"), note(
        "Fill", "Day 1 is today.", next="Scan the lot that goes in."
    )


def filled(act: Act, context: Context, lot: Lot) -> tuple[Context, Answer]:
    load = load_in_hand(act, context)
    machine = act.standing(load.machine)
    what = f"{lot.name}, {lot.number} {show_tag(lot.tag)}"
    reasons = baths.why_not_with(act, machine, lot)
    if reasons:
        return context, no(what, reasons, item=lot.tag, next="Take another lot.")
    baths.fill(act, machine, lot.tag)
    days = baths.days_of(act.clinic, lot.stated.agent, act.at)
    return context, note(
        "Filled",
        f"{act.label(machine)}: {what}",
        says=[f"Today is day 1 of {days}."],
        next="Scan what goes in, then “start the load”.",
        options=_FILLING,
    )


# --- in and out -----------------------------------------------------------------------------


def started(act: Act, load: Load) -> Answer:
    """Until when it stays in; the time runs from this scan."""
    running = msgspec.structs.replace(load, state="running", started=act.at)
    until = soak_acts.ready_at(act.house, running)
    things = "1 thing" if len(load.inside) == 1 else f"{len(load.inside)} things"
    assert until is not None  # noqa: S101 — it was started just now
    return note(
        f"Soak until {clock(until, act.house.zone)}",
        f"{show_tag(load.load)}, {agent_of(load.programme)}, {things}",
        next="When the time is up: take it out, and say “end the load”.",
        options=("end the load",),
    )


def ended(act: Act, context: Context, load: Load) -> tuple[Context, Answer]:
    """Out of the bath: too early is refused here; whoever must end it early says so on its page."""
    what = f"{show_tag(load.load)}, {agent_of(load.programme)}"
    until = soak_acts.ready_at(act.house, load)
    if until is not None and act.at < until:
        says = f"It has to stay in until {clock(until, act.house.zone)}."
        return context, no(
            what,
            [Told(code="soaks-yet", says=says)],
            word=f"{span(left_s(until, act.at))} more",
            next="Leave it in. If it must come out now, say so on the load’s page: it fails then.",
        )
    end_load(act, load)
    judged = next((fact for fact in act.told if isinstance(fact, facts.LoadJudged)), None)
    if judged is None:
        way = "Rinse it. Then its temperature and strip, under Loads; then it can be released."
        return context, note("Ended", what, next=way)
    if judged.verdict == "pass":
        for fact in act.told:
            load = loads.after(load, fact)
        return context, release_scans.passed(act, load, what, "Rinse it.")
    word = "Failed" if judged.verdict == "fail" else "Cannot be judged"
    return context, no(what, judged.reasons, word=word, next="Say “run again”.")
