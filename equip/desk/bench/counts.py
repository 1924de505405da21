"""The count of a set at the bench: asked for after use, at the wash and at packing.

Each handler here does what the bench did before (tells a use, a step, a pack, a load), and asks for
the count where a set was among it. It is answered by scans of the pieces, or by “all there”.
"""

from collections.abc import Iterable

import msgspec

from equip import facts
from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, no, note, refused, remarks
from equip.desk.bench import load_scans, packing, release_scans, steps, uses
from equip.desk.register import set_counts
from equip.desk.register.set_counts import Wanted
from equip.facts import CountMoment, ItemType, Piece, Told
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.counting import (
    MOMENTS,
    contents_of,
    due,
    has_contents,
    moment_of,
    searched_for,
)
from equip.rules.fitness.standing import Standing
from equip.rules.wording import several
from equip.store.readings import load_rows

_ANSWER = ("all there", "missing")
_HOW = "Say “all there”, scan each piece, or say “missing”."

# --- where the count is asked for -------------------------------------------------------------


def tell(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    """What was used is told; a set among it is counted before it leaves the chair.

    One of this use that a piece is missing of is not told again: it would be kept back for that.
    """
    if standing.item in context.used and (lacks := _lacking(act, standing)):
        return transitions.noticed(context, standing.item), no(
            act.label(standing), lacks, item=standing.item, next=_WAY_OUT
        )
    context, answer = uses.tell(act, context, standing)
    used = [fact for fact in act.told if isinstance(fact, facts.Used)]
    return _asked(act, context, answer, _sets(act, used), "after-use")


def finish(act: Act, context: Context) -> tuple[Context, Answer]:
    """The patient goes; whatever set was used and not counted is counted now."""
    context, answer = uses.finish(act, context)
    waits = [tag for tag in context.used if tag[:1] == "S" and due(act.standing(tag))]
    return _asked(act, context, answer, waits, "after-use") if act.told else (context, answer)


def step(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    """A set that is cleaned by hand is counted at the wash."""
    context, answer = steps.step(act, context, standing)
    cleaned = [
        fact
        for fact in act.told
        if isinstance(fact, facts.Stepped) and fact.step == "clean" and fact.passed
    ]
    return _asked(act, context, answer, _sets(act, cleaned), "wash")


def put_in(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    """A set that goes into a machine that cleans is counted at the wash."""
    context, answer = load_scans.put_in(act, context, standing)
    added = [fact for fact in act.told if isinstance(fact, facts.LoadAdded)]
    load = load_rows.load_of(act.store, context.load) if added else None
    process = act.kind(act.standing(load.machine)).process if load is not None else None
    if process is None or "clean" not in process.steps:
        return context, answer
    return _asked(act, context, answer, _sets(act, added), "wash")


def into_pack(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    """A set is counted before its pack is closed; one that is not whole goes into none."""
    if act.kind(standing).sort != "set":
        return packing.into_pack(act, context, standing)
    if lacks := _lacking(act, standing):
        return transitions.noticed(context, standing.item), no(
            act.label(standing), lacks, item=standing.item, word="Stopped", next=_WAY_OUT
        )
    context, answer = packing.into_pack(act, context, standing)
    laid = [standing.item] if standing.item in context.contents else []
    return _asked(act, context, answer, laid, "packing")


def release(act: Act, context: Context) -> tuple[Context, Answer]:
    """A released load says which sets in it nobody counted."""
    context, answer = release_scans.release(act, context)
    load = load_rows.load_of(act.store, context.load)
    lacks = set_counts.uncounted_in(act.clinic, load) if load is not None else []
    if not lacks:
        return context, answer
    says = remarks(one.says for one in lacks)
    return context, msgspec.structs.replace(answer, tone="warn", reasons=(*answer.reasons, *says))


def _sets(act: Act, told: Iterable[facts.Used | facts.Stepped | facts.LoadAdded]) -> list[str]:
    """The sets that facts are about, also those in a pack."""
    named = dict.fromkeys(tag for fact in told for tag in (fact.item, *fact.covers))
    return [tag for tag in named if tag[:1] == "S"]


def _asked(
    act: Act, context: Context, answer: Answer, tags: list[str], moment: CountMoment
) -> tuple[Context, Answer]:
    """*answer*, with the first of these sets that has contents to be counted now."""
    standing = next((one for tag in tags if has_contents(one := act.standing(tag))), None)
    if standing is None:
        return context, answer
    if lacks := _lacking(act, standing):
        reasons = tuple(dict.fromkeys((*answer.reasons, *lacks)))
        tone = "no" if answer.tone == "no" else "warn"
        options = tuple(dict.fromkeys((*answer.options, "found")))
        context = transitions.noticed(context, standing.item)
        return context, msgspec.structs.replace(
            answer, tone=tone, reasons=reasons, options=options, next=_WAY_OUT
        )
    its = set_counts.wanted(act, standing)
    what = f"Count {act.label(standing)} {MOMENTS[moment]}: {_all(its)}."
    return transitions.counting(context, standing.item, moment), msgspec.structs.replace(
        answer,
        reasons=(*answer.reasons, Told(code="count", says=what)),
        next=f"{_HOW} {answer.next}".strip(),
        options=tuple(dict.fromkeys((*_ANSWER, *answer.options))),
    )


_WAY_OUT = "When it is there, scan the set and say “found”. Who may lift gives it up on its page."


def _lacking(act: Act, standing: Standing) -> tuple[Told, ...]:
    when = act.asking(standing).when
    says = searched_for(standing, act.members(standing), when)
    return tuple(Told(code="piece-missing", says=one) for one in says)


def _all(its: list[Wanted]) -> str:
    return several([one.says for one in its])


# --- how it is answered -----------------------------------------------------------------------


def all_there(act: Act, context: Context) -> tuple[Context, Answer]:
    """One word for the whole set; without a count in hand it is about the set scanned last."""
    standing = act.standing(context.counting or context.item)
    if standing.item[:1] != "S" or not has_contents(standing):
        return context, refused(
            "No set is in hand to be counted.", "Scan the set, then say “all there”."
        )
    moment = context.count_at or ("packing" if context.mode == "pack" else moment_of(standing))
    if lacks := _lacking(act, standing):
        return context, no(
            act.label(standing), lacks, item=standing.item, word="Not all", next=_WAY_OUT
        )
    return _counted(act, context, standing, moment, all_there=True)


def piece(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer | None]:
    """A scan while a set is counted: a piece of it, or None and the count is left."""
    counted = act.standing(context.counting)
    if standing.item not in {one.item for one in set_counts.wanted(act, counted) if one.item}:
        return transitions.not_counting(context), None
    return _so_far(act, transitions.piece_seen(context, standing.item), counted)


def loose_piece(act: Act, context: Context, kind: ItemType) -> tuple[Context, Answer | None]:
    """The card of an untagged type that belongs to the set: one more of it is there."""
    counted = act.standing(context.counting)
    if kind.code not in {one.type for one in contents_of(counted).pieces}:
        return context, None
    return _so_far(act, transitions.loose_seen(context, kind.code), counted)


def left_to_count(act: Act, context: Context, standing: Standing) -> list[Wanted]:
    """What of the set nobody has scanned yet in the count in hand."""
    seen = dict(context.seen_loose) if context.counting == standing.item else {}
    tags = context.seen if context.counting == standing.item else ()
    left = []
    for one in set_counts.wanted(act, standing):
        if one.item:
            left += [] if one.item in tags else [one]
            continue
        there = min(one.count, seen.get(one.type, 0)) if one.type else 0
        seen[one.type] = seen.get(one.type, 0) - there
        if one.count > there:
            number = one.count - there
            left.append(
                Wanted(f"{number} × {one.piece}", piece=one.piece, count=number, type=one.type)
            )
    return left


def _so_far(act: Act, context: Context, standing: Standing) -> tuple[Context, Answer]:
    left = left_to_count(act, context, standing)
    if not left:
        moment = context.count_at or moment_of(standing)
        return _counted(act, context, standing, moment, all_there=False)
    return context, note(
        "There", f"{act.label(standing)}. Still to count: {_all(left)}.", next=_HOW, options=_ANSWER
    )


def _counted(
    act: Act, context: Context, standing: Standing, moment: CountMoment, *, all_there: bool
) -> tuple[Context, Answer]:
    in_hand = context.counting == standing.item
    act.tell(
        facts.Counted,
        set=standing.item,
        moment=moment,
        all_there=all_there,
        seen=context.seen if in_hand else (),
        pieces=_scanned(act, context) if in_hand else (),
    )
    number = sum(one.count for one in set_counts.wanted(act, standing))
    answer = note(
        "All there",
        f"{act.label(standing)}: {number} counted {MOMENTS[moment]}.",
        item=standing.item,
        next=_NEXT.get(context.mode, ""),
    )
    context = transitions.not_counting(context)
    others = [
        tag
        for tag in context.used
        if tag[:1] == "S" and tag != standing.item
        if due(act.standing(tag)) == "after-use"
    ]
    return _asked(act, context, answer, others, "after-use")


_NEXT = {
    "pack": "Scan more, or the pouch's tag to close it.",
    "load": "Scan the next, or “start the load”.",
    "step": "Scan the next one.",
    "tell": "Scan the next patient.",
}


def _scanned(act: Act, context: Context) -> tuple[Piece, ...]:
    return tuple(
        Piece(name=act.house.kind(code).name, count=number, type=code)
        for code, number in context.seen_loose.items()
    )
