"""Sets by their contents: what belongs in one, each count, a missing piece and its search."""

from typing import ClassVar, Literal

from equip.facts.base import Fact, Stamp, Value

CountMoment = Literal["after-use", "wash", "packing"]
FoundWhere = Literal[
    "ear", "room", "bin", "linen", "soiled", "machine", "other-set", "store", "elsewhere"
]


class Piece(Value, frozen=True, kw_only=True):
    """Untagged pieces of a set, by name. *type* is an untagged type, whose card counts one."""

    name: str
    count: int = 1
    type: str = ""


class ContentsListed(Fact, frozen=True, kw_only=True, tag="contents-listed"):
    """The untagged pieces of a set from now on, all of them. Tagged ones join and leave it."""

    names: ClassVar[tuple[str, ...]] = ("set",)
    set: str
    pieces: tuple[Piece, ...] = ()


class Counted(Fact, frozen=True, kw_only=True, tag="counted"):
    """Everything that belongs to a set was there. *seen* and *pieces* are what was scanned.

    With *all_there* somebody answered for the rest without a scan of each piece.
    """

    names: ClassVar[tuple[str, ...]] = ("set", "seen")
    set: str
    moment: CountMoment
    all_there: bool = False
    seen: tuple[str, ...] = ()
    pieces: tuple[Piece, ...] = ()


class PieceMissing(Fact, frozen=True, kw_only=True, tag="piece-missing"):
    """A piece of a set is missing, and a search for it begins; the set is stopped until it ends.

    The piece is the tagged *item*, or *count* untagged ones called *piece*. *patient* and *use*
    are those of the set's last use. *last_seen_by* is who saw it last, *last_seen_as* how.
    """

    names: ClassVar[tuple[str, ...]] = ("set", "item", "patient", "use", "last_seen_by")
    set: str
    search: str
    item: str = ""
    piece: str = ""
    count: int = 1
    moment: CountMoment | Literal[""] = ""
    patient: str = ""
    use: str = ""
    last_seen_by: str = ""
    last_seen: Stamp | None = None
    last_seen_as: str = ""


class PieceFound(Fact, frozen=True, kw_only=True, tag="piece-found"):
    """The search is over. *covers* is what goes round again with it; a pack of it is spoilt."""

    names: ClassVar[tuple[str, ...]] = ("set", "item", "patient", "covers")
    set: str
    search: str
    where: FoundWhere
    item: str = ""
    piece: str = ""
    patient: str = ""
    covers: tuple[str, ...] = ()


class PieceLost(Fact, frozen=True, kw_only=True, tag="piece-lost"):
    """Somebody with the right decided that it will not be found: it belongs to the set no more."""

    names: ClassVar[tuple[str, ...]] = ("set", "item", "patient")
    set: str
    search: str
    reason: str
    item: str = ""
    piece: str = ""
    patient: str = ""
