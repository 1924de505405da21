"""Undo: first it is named what would be taken back, on whom, when and by whom; then it is done.

“undo” names, “undo” again does it. The list is walked in the same way, or at once: “undo down to”
a line takes back that act and all that stand above it.
"""

from equip import facts
from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, note, refused, unread
from equip.desk.act.called_off import call_off
from equip.desk.act.rights import need
from equip.desk.bench.left_behind import cleared
from equip.desk.bench.undo_list import (
    Undoable,
    in_hand_before,
    in_words,
    listed,
    undoable,
    why_it_stays,
)
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.wording import counted

WORDS = ("undo", "take it back", "other patients too")
"""What may be said while it is named what would be taken back; anything else leaves it."""

_DOWN_TO = "undo down to "


def goes_on(text: str) -> bool:
    """Whether *text* answers the list of what may be taken back."""
    return text in WORDS or text.casefold().startswith(_DOWN_TO)


# --- naming it --------------------------------------------------------------------------------


def undo(act: Act, context: Context) -> tuple[Context, Answer]:
    """The card: it names the last act of the patient in hand; said again, it takes that back."""
    if context.asks == "undo" and context.offered:
        return _take_back(act, context, context.offered[:1])
    return _named(act, context, everybody=False)


def take_it_back(act: Act, context: Context) -> tuple[Context, Answer]:
    if context.asks != "undo" or not context.offered:
        return context, refused("Nothing was named to take back.", "Say “undo” first.")
    return _take_back(act, context, context.offered[:1])


def others_too(act: Act, context: Context) -> tuple[Context, Answer]:
    """The list of this bench, whoever the patients were."""
    return _named(act, context, everybody=True)


def _named(act: Act, context: Context, *, everybody: bool) -> tuple[Context, Answer]:
    found = listed(act, context, everybody=everybody)
    more = not everybody and len(listed(act, context, everybody=True)) > len(found)
    if not found:
        return _nothing(context, more=more)
    if stays := why_it_stays(act, found[0], ()):
        return transitions.asking(context, ""), stays
    _may(act, found[0])
    offered = _reachable(act, found)
    lines = [f"{one.seq}: {in_words(act, one)}" for one in offered[1:]]
    return transitions.offering(context, tuple(one.act for one in offered)), note(
        "Undo?",
        in_words(act, found[0]),
        patient=found[0].left.patient,
        says=["Before that:", *lines] if lines else (),
        next="Say “undo” again and it is taken back. Anything else leaves it as it is.",
        options=_ways(offered, more=more),
    )


def _nothing(context: Context, *, more: bool) -> tuple[Context, Answer]:
    if not more:
        return context, refused("There is nothing of this bench to take back.")
    whom = "of this patient" if context.patient else "but for acts of patients"
    return transitions.offering(context, ()), note(
        "Undo?",
        f"Nothing {whom} was told here that could be taken back.",
        next="Say “other patients too” to see what was told of them.",
        options=("other patients too",),
    )


def _ways(offered: list[Undoable], *, more: bool) -> tuple[str, ...]:
    down = [f"{_DOWN_TO}{one.seq}" for one in offered[1:]]
    return ("take it back", *down, *(["other patients too"] if more else []))


def _reachable(act: Act, found: list[Undoable]) -> list[Undoable]:
    """*found* down to the first act that stays, or that somebody else would have to take back."""
    taken: set[str] = set()
    for at, one in enumerate(found):
        if why_it_stays(act, one, taken) or not _has_right(act, one):
            return found[:at]
        taken.add(one.act)
    return found


def _has_right(act: Act, one: Undoable) -> bool:
    return one.by == act.by or "undo" in act.house.rights(act.by)


def _may(act: Act, one: Undoable) -> None:
    if one.by != act.by:
        need(act, "undo", f"take back what {act.house.person_name(one.by)} wrote down")


# --- doing it ---------------------------------------------------------------------------------


def down_to(act: Act, context: Context, text: str) -> tuple[Context, Answer]:
    """All acts of the list down to one, which is said by its number there."""
    seq = text.casefold().removeprefix(_DOWN_TO)
    acts = context.offered
    for at, one in enumerate(acts, start=1):
        told = undoable(act, one)
        if told is not None and str(told.seq) == seq:
            return _take_back(act, context, acts[:at])
    return transitions.asking(context, ""), unread(
        "That is no line of the list.", "Say “undo” to see what may be taken back."
    )


def _take_back(act: Act, context: Context, acts: tuple[str, ...]) -> tuple[Context, Answer]:
    """The acts, the newest first, are withdrawn as a whole, and stay visible."""
    gone = [one for one in (undoable(act, each) for each in acts) if one is not None]
    taken: set[str] = set()
    for one in gone:
        if stays := why_it_stays(act, one, taken):
            return transitions.asking(context, ""), stays
        _may(act, one)
        taken.add(one.act)
    says: list[str] = []
    marked: set[str] = set()
    for one in gone:
        covers = dict.fromkeys(name for fact in one.told for name in facts.about(fact))
        act.tell(facts.Withdrawn, withdrawn=one.act, covers=tuple(covers))
        says += cleared(act, one, taken, marked)
        context = _out_of_hand(act, context, one)
        call_off(act, one.act, one.told)
    return context, note(
        "Taken back",
        _count(gone),
        says=says,
        warn=bool(says),
        next="Say “undo” to go further back." if context.undoable else "",
        options=("undo",) if context.undoable else (),
    )


def _count(gone: list[Undoable]) -> str:
    number = sum(len(one.entries) for one in gone)
    lines = (
        "1 line is withdrawn and stays" if number == 1 else f"{number} lines are withdrawn and stay"
    )
    acts = f"{counted(len(gone), 'act')}: " if len(gone) > 1 else ""
    return f"{acts}{lines} visible in the book."


def _out_of_hand(act: Act, context: Context, one: Undoable) -> Context:
    """What the act put in hand is in hand no longer."""
    gone = tuple(fact.item for fact in one.told if isinstance(fact, facts.Used))
    gone += tuple(fact.load for fact in one.told if isinstance(fact, facts.LoadOpened))
    for fact in one.told:
        if isinstance(fact, facts.MovedToPatient):
            context = transitions.not_moved(context, fact.use, fact.was)
    was = in_hand_before(act, one)
    return transitions.untold(context, one.act, gone, was, one.left)
