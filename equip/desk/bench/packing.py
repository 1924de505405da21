"""Packing and putting away: what lies ready, what is counted, the pouch's tag, the place."""

from equip import facts, typed
from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, no, note, refused, unread
from equip.desk.bench.hands_off import not_to_be_touched
from equip.desk.people import competence
from equip.desk.register import set_counts
from equip.facts import Step, Told
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.clocks import why_wait
from equip.rules.fitness.gates import missing_steps, steps_ahead
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import waits_ahead
from equip.rules.people.competence import STEP_TASKS
from equip.rules.wording import several
from equip.scan import show_tag
from equip.store.kept import counters
from equip.store.readings import item_rows, load_rows
from equip.typed import Mistyped


def pack_card(act: Act, context: Context) -> tuple[Context, Answer]:
    return transitions.packing(context), note(
        "Pack", "Scan what goes in, then the tag of the pouch.", next="Scan the first thing."
    )


def into_pack(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    """One more thing lies ready for the pouch."""
    if (refused := not_to_be_touched(act, standing)) is not None:
        return transitions.noticed(context, standing.item), refused
    if (waits := why_wait(standing, act.now, act.house.zone)) is not None:
        return transitions.noticed(context, standing.item), no(
            act.label(standing), [waits], item=standing.item, word="Wait", next="Leave it wet."
        )
    if standing.pack:
        reason = Told(code="in-a-pack", says=f"It is sealed in pack {show_tag(standing.pack)}.")
        return context, no(act.label(standing), [reason], item=standing.item)
    context = transitions.packed_with(context, (standing.item, *standing.members))
    kind = act.kind(standing)
    skipped = [step for step in missing_steps(standing, kind, act.at) if step != "pack"]
    says = [f"Nobody recorded the step “{step}”." for step in skipped]
    says += waits_ahead(standing, kind, act.at)
    return context, note(
        "In",
        act.label(standing),
        item=standing.item,
        says=says,
        next=_lies_ready(act, context),
        warn=bool(says),
    )


def ask_count(act: Act, context: Context) -> tuple[Context, Answer]:
    """The card “count”: how many of the untagged type that was scanned last."""
    if not context.loose:
        return context, refused("Nothing untagged was scanned.", "Scan its card first.")
    name = act.house.kind(context.loose[-1].type).name
    return transitions.asking(context, "count"), note("Count", f"How many × {name}?")


def counted(act: Act, context: Context, text: str) -> tuple[Context, Answer]:
    """The number was typed."""
    try:
        count = typed.whole(text, most=99) if context.loose else None
    except Mistyped:
        count = None
    if count is None:
        return transitions.asking(context, ""), unread(
            "A count is a number from 0 to 99, after an untagged type was scanned.",
            "Scan its card, say “count”, type the number.",
        )
    return count_loose(act, context, context.loose[-1].type, count)


def count_loose(
    act: Act, context: Context, code: str, count: int | None = None
) -> tuple[Context, Answer]:
    context = transitions.counted(context, code, count)
    name = act.house.kind(code).name
    number = next((loose.count for loose in context.loose if loose.type == code), 0)
    return context, note("In", f"{number} × {name}", next=_lies_ready(act, context))


def out_of(act: Act, context: Context, machine: Standing) -> tuple[Context, Answer]:
    """What lies ready untagged came out of the last load of a machine, mixed with all in it."""
    load = load_rows.last_ended_load(act.store, machine.item)
    label = act.label(machine)
    if load is None:
        return context, refused(
            f"No load of {label} has ended.", "Scan the machine that they came out of."
        )
    packs = sum(1 for one in item_rows.standings(act.store, load.covers) if one.loose)
    if not packs:
        return context, refused(
            f"Nothing untagged went into load {show_tag(load.load)} of {label}.",
            "Scan the machine that they came out of, or close the pouch without it.",
        )
    what = f"Load {show_tag(load.load)} of {label}"
    says = "What lay in 1 pack went in." if packs == 1 else f"What lay in {packs} packs went in."
    context = transitions.out_of(context, load.load)
    return context, note("Out of it", what, says=[says], next=_lies_ready(act, context))


def by_hand(act: Act, context: Context, step: Step) -> tuple[Context, Answer]:
    """What lies ready untagged went through *step* by hand."""
    who = competence.doer(act, context, STEP_TASKS[step])
    if who.stops:
        return competence.question(act, context, STEP_TASKS[step], who)
    context = transitions.done_by_hand(context, step)
    count = sum(loose.count for loose in context.loose)
    what = "1 untagged instrument" if count == 1 else f"{count} untagged instruments"
    return context, note(
        step.capitalize(),
        f"{what}: “{step}” by hand",
        says=[one.says for one in who.lapses],
        next=_lies_ready(act, context),
        warn=bool(who.lapses),
    )


def _lies_ready(act: Act, context: Context) -> str:
    count = len(context.contents) + sum(loose.count for loose in context.loose)
    lies = "1 instrument lies" if count == 1 else f"{count} instruments lie"
    unsaid = _unsaid(act, context)
    if unsaid:
        words = several([f"“{step}”" for step in unsaid])
        return f"{lies} ready: scan the machine that washed them, or say {words} if done by hand."
    return f"{lies} ready: scan more, or the pouch's tag to close it."


def seal(act: Act, context: Context, pack: str) -> tuple[Context, Answer]:
    """A fresh tag closes the pouch around what lies ready."""
    name = f"Pack {show_tag(pack)}"
    if item_rows.item_row(act.store, pack) is not None:
        reason = Told(code="pack-used-before", says="This label was on a pack before.")
        return context, no(name, [reason], item=pack, next="Take a fresh label for this pack.")
    if not context.contents and not context.loose:
        reason = Told(code="pack-empty", says="Nothing was scanned that goes in.")
        return context, no(name, [reason], item=pack, next="Scan what goes in, then its tag.")
    lacks = [one.says for one in set_counts.uncounted_for_pack(act, context.contents)]
    if lacks and act.house.rules(act.at).text("count.pack") == "condition":
        reasons = [Told(code="set-uncounted", says=says) for says in lacks]
        return context, no(name, reasons, item=pack, next="Scan the set and count it, then this.")
    counters.taken(act.store, pack)
    unsaid = _unsaid(act, context)
    act.tell(
        facts.Packed,
        pack=pack,
        contents=context.contents,
        loose=context.loose,
        load=context.out_of if context.loose else "",
        by_hand=context.by_hand if context.loose else (),
        unsaid=unsaid,
    )
    held = [show_tag(item) for item in context.contents]
    held += [f"{loose.count} × {act.house.kind(loose.type).name}" for loose in context.loose]
    says, way = list(lacks), "Scan the next pack's contents."
    if unsaid:
        steps = several([f"“{step}”" for step in unsaid])
        says += [f"Nobody recorded {steps} of its untagged contents: this pack is not to be used."]
        way = "Say “undo”, scan the machine that washed them, then the pouch's tag."
    return transitions.sealed(context, pack), note(
        "Packed", f"{name}: {several(held)}", item=pack, says=says, next=way, warn=bool(says)
    )


def _unsaid(act: Act, context: Context) -> tuple[Step, ...]:
    """Required steps ahead of the last decontamination of which nobody said how they were done.

    The load that untagged contents came out of answers for all of them.
    """
    if context.out_of:
        return ()
    steps = [step for loose in context.loose for step in steps_ahead(act.house.kind(loose.type))]
    return tuple(step for step in dict.fromkeys(steps) if step not in context.by_hand)


# --- putting away ---------------------------------------------------------------------------


def store_card(act: Act, context: Context) -> tuple[Context, Answer]:
    where = act.house.place_name(context.place)
    way = f"Scan what goes to {where}, or another place." if where else "Scan the place first."
    return transitions.storing(context), note("Store", "Putting away.", next=way)


def put_away(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    if not context.place:
        return context, refused("Where to?", "Scan the place, then what goes there.")
    act.tell(facts.Placed, item=standing.item, place=context.place, covers=standing.members)
    where = act.house.place_name(context.place)
    return transitions.noticed(context, standing.item), note(
        "Stored", f"{act.label(standing)}: {where}", item=standing.item
    )
