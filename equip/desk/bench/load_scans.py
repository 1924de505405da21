"""Loads as they are filled, run and let go at the bench, by scan."""

from equip import typed
from equip.desk.act.act import Act, Refused
from equip.desk.act.answer import LOT_REFUSED, Answer, no, note, refused
from equip.desk.act.rights import as_themselves
from equip.desk.bench import release_scans, soak_scans
from equip.desk.bench.release_scans import load_in_hand
from equip.desk.loads import loads, soak_acts
from equip.desk.loads.end import end_load
from equip.desk.machines import baths
from equip.desk.people import competence
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.lots import Lot, why_not_serve
from equip.rules.fitness.standing import Standing
from equip.rules.loads.load import Load
from equip.rules.wording import counted
from equip.scan import show_tag
from equip.store.readings import load_rows

_FILLING = ("start the load", "take out")


def filling(act: Act, context: Context) -> bool:
    """Whether the load in hand still waits for what goes in."""
    load = load_rows.load_of(act.store, context.load)
    return load is not None and load.state == "filling"


def machine_scanned(act: Act, context: Context, machine: Standing) -> tuple[Context, Answer]:
    """A machine that runs loads: go on with the one it has, or open a new one."""
    there = load_rows.load_on(act.store, machine.item)
    if there is not None:
        context = transitions.loading(context, there.load)
        if there.state == "filling" and soak_acts.is_soak(there):
            return context, soak_scans.opened(act, there.load, machine.item, act.label(machine))
        return context, _what_next(act, there)
    load = loads.open_load(act, machine)
    process = loads.process_of(act, machine)
    if baths.agents_of(process):
        answer = soak_scans.opened(act, load, machine.item, act.label(machine))
        return transitions.loading(context, load), answer
    others = [one.judged_by for one in process.programmes[1:]]
    says = [f"Programme {process.programmes[0].judged_by}."]
    if others:
        says.append(f"For another, type {' or '.join(others)}.")
    return transitions.loading(context, load), note(
        "Load open",
        f"{show_tag(load)} on {act.label(machine)}",
        says=says,
        next="Scan what goes in, then “start the load”.",
        options=_FILLING,
    )


def load_scanned(act: Act, context: Context, tag: str) -> tuple[Context, Answer]:
    load = load_rows.load_of(act.store, tag)
    if load is None:
        return context, refused(f"{show_tag(tag)} is no load in this book.")
    return transitions.loading(context, tag), _what_next(act, load)


def indicator_scanned(act: Act, context: Context, lot: Lot) -> tuple[Context, Answer]:
    """A lot of indicators or spore tests: it is put in and read on the page of the load in hand."""
    load = load_in_hand(act, context)
    spoilt = why_not_serve(lot, act.house.today(act.at))
    what = f"{lot.name}, lot {lot.number}, for load {show_tag(load.load)}"
    if spoilt:
        return context, no(what, spoilt, item=lot.tag, word=LOT_REFUSED, next="Take another lot.")
    verb = "Put it in or read it" if lot.sort == "spore-test" else "Write down how it turned"
    word = "Spore test" if lot.sort == "spore-test" else "Indicator"
    return context, note(word, what, next=f"{verb} on the load's page, under Loads.")


def _what_next(act: Act, load: Load) -> Answer:
    inside = f"{counted(len(load.inside), 'item')} in it"
    what = f"{show_tag(load.load)} on {act.label(act.standing(load.machine))}: {inside}"
    match load.state:
        case "filling":
            return note("Load open", what, next="Scan what goes in.", options=_FILLING)
        case "running":
            return note(
                "Running", what, next="When it is done: end the load.", options=("end the load",)
            )
        case "ended":
            return note("To be judged", what, next="Hand in its log, or its values, under Loads.")
        case "judged" if load.verdict == "pass":
            return release_scans.passed(act, load, what)
        case "judged":
            word = "Failed" if load.verdict == "fail" else "Cannot be judged"
            return no(what, load.reasons, word=word, next="Say “run again” for the same contents.")
        case _:
            return note(load.state.capitalize(), what, options=("run again",))


def programme(act: Act, context: Context, text: str) -> tuple[Context, Answer] | None:
    """A text that is the name of one of the machine's programmes chooses it; else None."""
    load = load_in_hand(act, context)
    process = loads.process_of(act, act.standing(load.machine))
    if text.lower() not in {one.judged_by for one in process.programmes}:
        return None
    chosen = loads.choose_programme(act, load, text.lower())
    return context, note("Programme", chosen.name or chosen.judged_by)


def put_in(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    load = load_in_hand(act, context)
    done = loads.put_in(act, load, standing)
    context = transitions.noticed(context, standing.item)
    label = act.label(standing)
    if not done.accepted:
        return context, no(
            label, done.reasons, item=standing.item, word="Not in", next="Keep it out of this load."
        )
    count = len(load.inside) + 1
    return context, Answer(
        "warn" if done.reasons else "note",
        "In",
        label,
        item=standing.item,
        reasons=done.reasons,
        next=f"{count} in this load. Scan the next, or “start the load”.",
        options=_FILLING,
    )


def take_out_card(act: Act, context: Context) -> tuple[Context, Answer]:
    load = load_in_hand(act, context)
    return transitions.taking_out(context), note(
        "Take out", f"Scan what leaves {show_tag(load.load)}."
    )


def take_out(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    load = load_in_hand(act, context)
    loads.take_out(act, load, standing)
    return transitions.loading(context, load.load), note(
        "Out", act.label(standing), item=standing.item, next="Scan what goes in."
    )


def start(act: Act, context: Context) -> tuple[Context, Answer]:
    load = load_in_hand(act, context)
    who = competence.doer(act, context, "run")
    if who.stops:
        return competence.question(act, context, "run", who)
    loads.start(act, load, who=who)
    if soak_acts.is_soak(load):
        return context, soak_scans.started(act, load)
    return context, note(
        "Started",
        f"{show_tag(load.load)}, {load.programme}, {counted(len(load.inside), 'item')}",
        next="When the machine is done, say “end the load”.",
        options=("end the load",),
    )


def end(act: Act, context: Context) -> tuple[Context, Answer]:
    """A cycle outlasts what a bench keeps in hand: the only load that runs is the one meant."""
    if not context.load:
        running = [load for load in load_rows.open_loads(act.store) if load.state == "running"]
        if len(running) == 1:
            context = transitions.loading(context, running[0].load)
    load = load_in_hand(act, context)
    if load.state not in ("filling", "running"):
        raise Refused(f"Load {show_tag(load.load)} has ended already.")
    if soak_acts.is_soak(load):
        return soak_scans.ended(act, context, load)
    return transitions.asking(context, "cycle-number"), note(
        "Which cycle?",
        "Type the machine's own cycle number.",
        next="If it shows none, type 0.",
    )


def ended(act: Act, context: Context, text: str) -> tuple[Context, Answer]:
    """The machine's cycle number was typed: the load has ended and waits for its evidence."""
    # Stricter than a form: longer digits, or those of a patient, are no number of a machine here.
    if not typed.is_digits(text, 8) or act.clinic.vault.find(text) is not None:
        raise Refused("A cycle number is up to eight digits, as the machine shows it.")
    load = load_in_hand(act, context)
    number = typed.cycle_number(text)
    end_load(act, load, cycle_no=number)
    return transitions.asking(context, ""), note(
        "Ended",
        f"{show_tag(load.load)}, cycle {number or 'without a number'}",
        next="Hand in its log, or its values, under Loads; then it can be released.",
    )


def run_again(act: Act, context: Context) -> tuple[Context, Answer]:
    before = load_in_hand(act, context)
    if before.state in ("ended", "judged"):
        # Running it again rejects it.
        act.by = as_themselves(act, context.badge, "reject a load")
    load, out = loads.run_again(act, before)
    return transitions.loading(context, load), Answer(
        "warn" if out else "note",
        "Again",
        f"{show_tag(load)}: the contents of {show_tag(before.load)}",
        reasons=tuple(out),
        next="Say “start the load” when the machine is on.",
        options=_FILLING,
    )
