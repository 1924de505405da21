"""What is kept of a set's contents where it stands: pieces, the last counts, open searches.

A fold of its own, taken into `standing`. A search stands with the set and with the piece itself,
where that has a tag.
"""

from datetime import datetime

import msgspec

from equip import facts
from equip.facts import CountMoment, Fact, Piece


class Made(msgspec.Struct, frozen=True, omit_defaults=True):
    """The last full count of one moment. *all_there*: not every piece was scanned."""

    moment: CountMoment
    at: datetime
    by: str
    all_there: bool = False


class Search(msgspec.Struct, frozen=True, omit_defaults=True):
    """A piece that is missing: which, since when, who saw it last, on which patient."""

    search: str
    at: datetime
    by: str
    set: str
    item: str = ""
    piece: str = ""
    count: int = 1
    patient: str = ""
    use: str = ""
    last_seen_by: str = ""
    last_seen: datetime | None = None
    last_seen_as: str = ""


class Contents(msgspec.Struct, frozen=True, omit_defaults=True):
    """*sealed* says that it was counted for the pack that it is in, or was in last."""

    pieces: tuple[Piece, ...] = ()
    made: tuple[Made, ...] = ()
    sealed: bool = False
    searches: tuple[Search, ...] = ()


_set = msgspec.structs.replace

KINDS = (
    facts.ContentsListed,
    facts.Counted,
    facts.PieceMissing,
    facts.PieceFound,
    facts.PieceLost,
)
"""The kinds of fact that are folded here."""


def after(contents: Contents, item: str, fact: Fact) -> Contents:
    """*contents* of *item* once one of these facts has happened."""
    match fact:
        case facts.ContentsListed() if fact.set == item:
            return _set(contents, pieces=fact.pieces)
        case facts.Counted() if fact.set == item:
            made = Made(moment=fact.moment, at=fact.at, by=fact.by, all_there=fact.all_there)
            others = tuple(one for one in contents.made if one.moment != fact.moment)
            return _set(contents, made=(*others, made))
        case facts.PieceMissing() if item in (fact.set, fact.item):
            return _set(contents, searches=(*contents.searches, _search(fact)))
        case facts.PieceFound() | facts.PieceLost():
            left = tuple(one for one in contents.searches if one.search != fact.search)
            return _set(contents, searches=left)
        case _:
            return contents


def sealed(contents: Contents, *, counted: bool) -> Contents:
    """*contents* once the set was closed in a pack: the count for packing is used up by it."""
    made = tuple(one for one in contents.made if one.moment != "packing")
    return _set(contents, made=made, sealed=counted)


def _search(fact: facts.PieceMissing) -> Search:
    return Search(
        search=fact.search,
        at=fact.at,
        by=fact.by,
        set=fact.set,
        item=fact.item,
        piece=fact.piece,
        count=fact.count,
        patient=fact.patient,
        use=fact.use,
        last_seen_by=fact.last_seen_by,
        last_seen=fact.last_seen,
        last_seen_as=fact.last_seen_as,
    )
