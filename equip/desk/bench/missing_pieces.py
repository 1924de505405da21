"""A piece of a set is missing, or there again: said at the bench with the set in hand."""

from equip.desk.act.act import Act
from equip.desk.act.answer import Answer, no, note, refused, unread
from equip.desk.bench import counts
from equip.desk.register import searches
from equip.desk.register.set_counts import Wanted
from equip.facts import Told
from equip.rules.bench import transitions
from equip.rules.bench.transitions import Context
from equip.rules.fitness.contents import Search
from equip.rules.fitness.counting import FOUND, called, moment_of
from equip.rules.fitness.standing import Standing
from equip.rules.wording import when
from equip.scan import show_tag

_LOOK = (
    "Look in the ear first, then on the tray, in the linen and in the bins before anything "
    "leaves the room. When it is there, say “found”."
)


def missing(act: Act, context: Context) -> tuple[Context, Answer]:
    """The card: what nobody has scanned yet is missing; where that is several, which of them."""
    standing = _set_in_hand(act, context)
    if standing is None:
        return context, refused("Which set? A piece is missing from one.", _SCAN_IT)
    left = counts.left_to_count(act, context, standing)
    if not left:
        return context, refused(f"{act.label(standing)}: nothing of it is left that could be gone.")
    if len(left) == 1 and context.counting:
        return _told(act, context, standing, left[0])
    return transitions.asking(context, "piece"), note(
        "Which piece?",
        f"{act.label(standing)}: which one is missing?",
        item=standing.item,
        next="Choose it, or type its number or its tag.",
        options=tuple(_numbered([one.says for one in left])),
        warn=True,
    )


def names(act: Act, context: Context, said: str) -> bool:
    """Whether *said*, which reads as a tag or a patient, is an answer to the question in hand."""
    standing = _set_in_hand(act, context)
    return standing is not None and _which(said, *_choices(act, context, standing)) is not None


def _choices(act: Act, context: Context, standing: Standing) -> tuple[list[str], list[str]]:
    """What may be chosen, in words, and the tag of each."""
    if context.asked_for == _FOUND:
        missed = searches.open_of(standing)
        return [called(one) for one in missed], [one.item for one in missed]
    left = counts.left_to_count(act, context, standing)
    return [one.says for one in left], [one.item for one in left]


def chosen(act: Act, context: Context, text: str) -> tuple[Context, Answer]:
    """Which piece was said, by its button, its number or its tag."""
    standing = _set_in_hand(act, context)
    if standing is None:
        return transitions.asking(context, ""), refused("No set is in hand.", _SCAN_IT)
    at = _which(text, *_choices(act, context, standing))
    if at is None:
        return context, unread("That is none of them.", "Type its number, or choose it.")
    if context.asked_for == _FOUND:
        return _where(act, context, standing, searches.open_of(standing)[at])
    left = counts.left_to_count(act, context, standing)
    return _told(act, transitions.asking(context, ""), standing, left[at])


def _told(act: Act, context: Context, standing: Standing, piece: Wanted) -> tuple[Context, Answer]:
    moment = context.count_at or ("packing" if context.mode == "pack" else moment_of(standing))
    told = searches.missing(act, standing, piece, moment)
    zone, says = act.house.zone, []
    if told.last_seen is not None:
        who = act.house.person_name(told.last_seen_by)
        seen = when(told.last_seen, act.at, zone)
        says.append(f"Last seen by {who} {seen}, {told.last_seen_as}.")
    else:
        says.append("Nobody is known to have seen it: no count of this set is in the book.")
    if told.patient:
        says.append("The set was last used on the patient named above.")
    what = piece.says if piece.item else f"1 × {piece.piece}"
    answer = no(
        f"{what} of {act.label(standing)}",
        [Told(code="piece-missing", says="The set is stopped; nobody can set that aside.")]
        + [Told(code="last-seen", says=one) for one in says],
        item=standing.item,
        word="Missing",
        next=_LOOK,
    )
    context = transitions.noticed(transitions.not_counting(context), standing.item)
    return context, _of_patient(answer, told.patient)


def _of_patient(answer: Answer, patient: str) -> Answer:
    return Answer(
        answer.tone,
        answer.word,
        answer.what,
        item=answer.item,
        patient=patient,
        reasons=answer.reasons,
        next=answer.next,
        options=("found",),
    )


# --- there again ------------------------------------------------------------------------------

_FOUND = "found"
_SCAN_IT = "Scan the set, then this card."


def found(act: Act, context: Context) -> tuple[Context, Answer]:
    """The card: of several that are missing which one, then where it was."""
    item = context.counting or context.item
    standing = act.standing(item) if item else None
    open_now = searches.open_of(standing) if standing is not None else ()
    if standing is None or not open_now:
        return context, refused(
            "Nothing is missing of what was scanned last.",
            "Scan the set or the piece, then this card.",
        )
    if len(open_now) == 1:
        return _where(act, context, standing, open_now[0])
    context = transitions.asking(context, "piece", about=_FOUND)
    return context, note(
        "Which piece?",
        f"{act.label(standing)}: which one is there again?",
        item=standing.item,
        next="Choose it, or type its number or its tag.",
        options=tuple(_numbered([called(one) for one in open_now])),
    )


def _where(
    act: Act, context: Context, standing: Standing, search: Search
) -> tuple[Context, Answer]:
    context = transitions.asking(context, "where", about=search.search)
    return context, note(
        "Where?",
        f"{called(search)}: where was it?",
        item=standing.item,
        next="Choose the place.",
        options=tuple(FOUND.values()),
    )


def placed(act: Act, context: Context, text: str) -> tuple[Context, Answer]:
    """Where it was: the search is over, and the set goes round again."""
    said = " ".join(text.split()).casefold()
    where = next((key for key, words in FOUND.items() if words == said), None)
    if where is None:
        return context, unread("That is none of the places.", f"Say {', '.join(FOUND.values())}.")
    one = searches.found(act, context.item, context.asked_for, where)
    return transitions.asking(transitions.not_counting(context), ""), note(
        "Found",
        f"{called(one)}, {FOUND[where]}.",
        item=one.set,
        patient=one.patient,
        says=["The whole set goes round again, and its pack is undone."],
        next="Put it with what is to be cleaned.",
    )


# --- what both share --------------------------------------------------------------------------


def _set_in_hand(act: Act, context: Context) -> Standing | None:
    """The set being counted, the set scanned last, or the one that the pack scanned last holds."""
    item = context.counting or context.item
    if not item:
        return None
    standing = act.standing(item)
    if item[:1] == "S":
        return standing
    inside = [tag for tag in standing.members if tag[:1] == "S"]
    return act.standing(inside[0]) if len(inside) == 1 else None


def _numbered(words: list[str]) -> list[str]:
    return [f"{at}: {word}" for at, word in enumerate(words, start=1)]


def _which(text: str, words: list[str], tags: list[str]) -> int | None:
    """The place in *words* that *text* means: a number, a tag, or the words of a button."""
    said = " ".join(text.split()).casefold()
    for at, (word, tag) in enumerate(zip(words, tags, strict=True)):
        spelt = {str(at + 1), word.casefold(), f"{at + 1}: {word}".casefold()}
        if tag:
            spelt |= {tag.casefold(), show_tag(tag).casefold()}
        if said in spelt:
            return at
    return None
