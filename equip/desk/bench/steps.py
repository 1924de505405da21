"""The way back to fit for use, by hand: steps, packing, putting away."""

from equip import facts
from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, no, note, unread
from equip.desk.bench import timed_steps
from equip.desk.people import competence
from equip.facts import Step, Told
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.contact_time import why_wait
from equip.rules.fitness.gates import gate_step, missing_after, missing_steps, proof, steps_behind
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.waiting import why_too_late
from equip.rules.people.competence import STEP_TASKS
from equip.rules.wording import several
from equip.scan import show_tag
from equip.store.kept import counters
from equip.store.readings import item_rows, load_rows

STEPS: dict[str, tuple[Step, bool]] = {
    "wipe": ("wipe", True),
    "clean": ("clean", True),
    "rinse": ("rinse", True),
    "dry": ("dry", True),
    "disinfect": ("disinfect", True),
    "inspect pass": ("inspect", True),
    "inspect fail": ("inspect", False),
}
_FIRST_TOUCH = ("wipe", "clean", "rinse")


def step_card(act: Act, context: Context, word: str) -> tuple[Context, Answer]:
    """The card says which step; every scan after it is a thing that went through it."""
    step, passed = STEPS[word]
    context = transitions.stepping(context, step, passed)
    who = competence.doer(act, context, STEP_TASKS[step])
    if who.stops:
        return competence.question(act, context, STEP_TASKS[step], who)
    return context, note(word.capitalize(), "Scan what went through this step.")


def step(act: Act, context: Context, stands: Standing) -> tuple[Context, Answer]:
    done = context.step
    assert done  # noqa: S101 — only called in this mode
    if (refused := _not_to_be_touched(act, stands)) is not None:
        return transitions.noticed(context, stands.item), refused
    who = competence.doer(act, context, STEP_TASKS[done])
    if who.stops:
        return competence.question(act, context, STEP_TASKS[done], who)
    lot = timed_steps.lot_in_hand(act, context)
    context = transitions.noticed(context, stands.item)
    if (refused := timed_steps.refused(act, context, stands, lot)) is not None:
        return context, refused
    told = timed_steps.stepped(act, context, stands, lot, who)
    context = transitions.touched(context, stands.item)
    if not context.passed:
        return context, no(
            act.label(stands),
            [Told(code="inspection-failed", says="It failed inspection and is out of use.")],
            item=stands.item,
            word="Failed",
            next="Say what is wrong (bent, blocked, image fault), or send it round again.",
        )
    way = _next_step(act, stands, done)
    if (other := timed_steps.answered(act, context, stands, told, way)) is not None:
        return other
    says = _waited(act, stands, done) + _off_route(act, stands, done)
    says += [one.says for one in who.lapses]
    return context, note(
        "Done",
        act.label(stands),
        item=stands.item,
        says=says + timed_steps.remark(act, context, stands, told),
        next=way,
        warn=bool(says),
    )


def _not_to_be_touched(act: Act, stands: Standing) -> Answer | None:
    if act.kind(stands).reuse == "single-use" and stands.soiling is not None:
        reason = Told(code="single-use-again", says="It is for one use only.")
        return no(act.label(stands), [reason], item=stands.item, word="Stop", next="Throw it away.")
    bagged = [kept for kept in stands.quarantines if kept.how == "bag-it"]
    if bagged:
        reason = Told(code="quarantined", says=f"In quarantine as it is: {bagged[0].why.says}.")
        return no(
            act.label(stands),
            [reason],
            item=stands.item,
            word="Stop",
            next="Bag it, do not clean it. Tell the practice manager.",
        )
    return None


def _waited(act: Act, stands: Standing, done: str) -> list[str]:
    """The use-to-clean clock: soil that dries is harder to remove."""
    soiling = stands.soiling
    if soiling is None or done not in _FIRST_TOUCH or stands.done:
        return []
    limit = act.house.rules(act.at).whole("wait.use-to-clean-minutes")
    late = why_too_late(soiling.ended or soiling.at, act.at, limit)
    return [reason.says for reason in late]


def _off_route(act: Act, stands: Standing, done: str) -> list[str]:
    route = [step.step for step in act.kind(stands).route]
    if not route or done in route:
        return []
    return [f"“{done}” is not on its route: {several(list(route))}."]


def _next_step(act: Act, stands: Standing, done: str) -> str:
    kind = act.kind(stands)
    gate = gate_step(kind)
    if gate is None:
        return ""
    missing = [step for step in missing_steps(stands, kind, act.at) if step != done]
    if missing:
        return f"Still to do: {several([*missing, gate.step])}."
    behind = [step for step in steps_behind(kind) if step != done]
    if done == gate.step:
        return f"Then {several(behind)}." if behind else "Put it away."
    if done not in steps_behind(kind):
        return f"Now {gate.step}."
    return _behind_the_gate(act, stands, done)


def _behind_the_gate(act: Act, stands: Standing, done: str) -> str:
    """What is left to do where the effective decontamination came before this step, or did not."""
    kind, gate = act.kind(stands), gate_step(act.kind(stands))
    before = proof(stands, kind, act.at)
    if before is not None:
        left = [step for step in missing_after(stands, kind, before) if step != done]
        return f"Still to do: {several(left)}." if left else "Put it away."
    runs = [one for one in stands.done if one.load and gate and gate.step in one.steps]
    if runs and not runs[-1].void:
        return f"Then load {show_tag(runs[-1].load)} is released."
    return f"Now {gate.step}." if gate else ""


# --- packing --------------------------------------------------------------------------------


def pack_card(act: Act, context: Context) -> tuple[Context, Answer]:
    return transitions.packing(context), note(
        "Pack", "Scan what goes in, then the tag of the pouch.", next="Scan the first thing."
    )


def into_pack(act: Act, context: Context, stands: Standing) -> tuple[Context, Answer]:
    """One more thing lies ready for the pouch."""
    if (refused := _not_to_be_touched(act, stands)) is not None:
        return transitions.noticed(context, stands.item), refused
    if (waits := why_wait(stands, act.now, act.house.zone)) is not None:
        return transitions.noticed(context, stands.item), no(
            act.label(stands), [waits], item=stands.item, word="Wait", next="Leave it wet."
        )
    if stands.pack:
        reason = Told(code="in-a-pack", says=f"It is sealed in pack {show_tag(stands.pack)}.")
        return context, no(act.label(stands), [reason], item=stands.item)
    context = transitions.packed_with(context, (stands.item, *stands.members))
    kind = act.kind(stands)
    skipped = [step for step in missing_steps(stands, kind, act.at) if step != "pack"]
    says = [f"Nobody recorded the step “{step}”." for step in skipped]
    return context, note(
        "In",
        act.label(stands),
        item=stands.item,
        says=says,
        next=_lies_ready(context),
        warn=bool(says),
    )


def count_loose(
    act: Act, context: Context, code: str, count: int | None = None
) -> tuple[Context, Answer]:
    context = transitions.counted(context, code, count)
    name = act.house.kind(code).name
    number = next((loose.count for loose in context.loose if loose.type == code), 0)
    return context, note("In", f"{number} × {name}", next=_lies_ready(context))


def out_of(act: Act, context: Context, machine: Standing) -> tuple[Context, Answer]:
    """What lies ready untagged came out of the last load of a machine, mixed with all in it."""
    load = load_rows.last_ended_load(act.store, machine.item)
    label = act.label(machine)
    if load is None:
        return context, unread(
            f"No load of {label} has ended.", "Scan the machine that they came out of."
        )
    packs = sum(1 for one in item_rows.standings(act.store, load.covers) if one.loose)
    if not packs:
        return context, unread(
            f"Nothing untagged went into load {show_tag(load.load)} of {label}.",
            "Scan the machine that they came out of, or close the pouch without it.",
        )
    what = f"Load {show_tag(load.load)} of {label}"
    says = "What lay in 1 pack went in." if packs == 1 else f"What lay in {packs} packs went in."
    context = transitions.out_of(context, load.load)
    return context, note("Out of it", what, says=[says], next=_lies_ready(context))


def _lies_ready(context: Context) -> str:
    count = len(context.contents) + sum(loose.count for loose in context.loose)
    things = "1 thing lies" if count == 1 else f"{count} things lie"
    if context.loose and not context.out_of:
        return f"{things} ready: scan more, the machine that washed them, or the pouch's tag."
    return f"{things} ready: scan more, or the pouch's tag to close it."


def seal(act: Act, context: Context, pack: str) -> tuple[Context, Answer]:
    """A fresh tag closes the pouch around what lies ready."""
    name = f"Pack {show_tag(pack)}"
    if item_rows.item_row(act.store, pack) is not None:
        reason = Told(code="pack-used-before", says="This label was on a pack before.")
        return context, no(name, [reason], item=pack, next="Take a fresh label for this pack.")
    if not context.contents and not context.loose:
        reason = Told(code="pack-empty", says="Nothing was scanned that goes in.")
        return context, no(name, [reason], item=pack, next="Scan what goes in, then its tag.")
    counters.taken(act.store, pack)
    load = context.out_of if context.loose else ""
    act.tell(facts.Packed, pack=pack, contents=context.contents, loose=context.loose, load=load)
    held = [show_tag(item) for item in context.contents]
    held += [f"{loose.count} × {act.house.kind(loose.type).name}" for loose in context.loose]
    return transitions.sealed(context, pack), note(
        "Packed", f"{name}: {several(held)}", item=pack, next="Scan the next pack's contents."
    )


# --- putting away ---------------------------------------------------------------------------


def store_card(act: Act, context: Context) -> tuple[Context, Answer]:
    where = act.house.place_name(context.place)
    way = f"Scan what goes to {where}, or another place." if where else "Scan the place first."
    return transitions.storing(context), note("Store", "Putting away.", next=way)


def put_away(act: Act, context: Context, stands: Standing) -> tuple[Context, Answer]:
    if not context.place:
        return context, unread("Where to?", "Scan the place, then what goes there.")
    act.tell(facts.Placed, item=stands.item, place=context.place, covers=stands.members)
    where = act.house.place_name(context.place)
    return transitions.noticed(context, stands.item), note(
        "Stored", f"{act.label(stands)}: {where}", item=stands.item
    )
