"""The contents of a set by name and number, and the counts of it: what belongs in, what lacks."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from equip import facts
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import Clinic
from equip.desk.register import items
from equip.facts import CountMoment, ItemType, Piece, Told
from equip.rules.fitness.counting import MOMENTS, contents_of, due, has_contents
from equip.rules.fitness.standing import Standing, counted_to_pack
from equip.rules.loads.load import Load
from equip.scan import show_tag
from equip.store.readings import item_rows

_LINE = re.compile(r"([0-9]{1,3})\s*[x×*]?\s+(\S.*)")
_MOST_LINES, _MOST, _LONGEST = 40, 99, 60


@dataclass(frozen=True, slots=True)
class Wanted:
    """Something that has to be there: a tagged *item*, or *count* of an untagged piece."""

    says: str
    item: str = ""
    piece: str = ""
    count: int = 1
    type: str = ""


@dataclass(frozen=True, slots=True)
class Uncounted:
    """A set whose count lacks: which, and which count."""

    standing: Standing
    moment: CountMoment

    @property
    def says(self) -> str:
        return f"Set {show_tag(self.standing.item)} was not counted {MOMENTS[self.moment]}."


def wanted(act: Act, standing: Standing) -> list[Wanted]:
    """Everything that has to be in a set, less what is searched for already."""
    its = contents_of(standing)
    gone = {one.item for one in its.searches if one.item}
    found = [
        Wanted(act.label(member), item=member.item, piece=kind.name)
        for member, kind in act.members(standing)
        if member.item not in gone
    ]
    for piece in its.pieces:
        lacks = sum(one.count for one in its.searches if not one.item and one.piece == piece.name)
        if piece.count > lacks:
            left = piece.count - lacks
            says = f"{left} × {piece.name}"
            found.append(Wanted(says, piece=piece.name, count=left, type=piece.type))
    return found


def list_pieces(act: Act, tag: str, text: str) -> tuple[Piece, ...]:
    """The untagged pieces of a set from now on, a line each: how many, and what they are called."""
    standing = items.known(act, tag)
    if act.kind(standing).sort != "set":
        raise Refused(f"{show_tag(tag)} is no set: only a set has contents that are listed.")
    if contents_of(standing).searches:
        raise Refused("A piece of it is missing: say that it was found, or is lost, first.")
    pieces = tuple(_pieces(text, act.house.types.values()))
    if len({one.name.casefold() for one in pieces}) < len(pieces):
        raise Refused("One name stands twice: write each piece on one line, with its number.")
    act.tell(facts.ContentsListed, set=tag, pieces=pieces)
    return pieces


def _pieces(text: str, types: Iterable[ItemType]) -> Iterator[Piece]:
    untagged = {kind.name.casefold(): kind.code for kind in types if not kind.tagged}
    lines = [" ".join(line.split()) for line in text.splitlines() if line.strip()]
    if len(lines) > _MOST_LINES:
        raise Refused(f"{len(lines)} lines were read; {_MOST_LINES} is the most.")
    for line in lines:
        found = _LINE.fullmatch(line)
        if found is None or not 1 <= int(found[1]) <= _MOST or len(found[2]) > _LONGEST:
            raise Refused(
                f"“{line[:60]}” was read: write how many (1 to {_MOST}), then the name (up to "
                f"{_LONGEST} characters), as “2 × Fine suction tip”."
            )
        yield Piece(name=found[2], count=int(found[1]), type=untagged.get(found[2].casefold(), ""))


# --- counts that lack -------------------------------------------------------------------------


def sets(clinic: Clinic, *, here: bool = True) -> list[Standing]:
    """Every set that is not retired, or is *here*; one named only by what joined it included."""
    codes = ["", *(kind.code for kind in clinic.house.types.values() if kind.sort == "set")]
    found = [one for code in codes for one in item_rows.all_of_type(clinic.store, code)]
    its = [one for one in found if one.item[:1] == "S"]
    return [one for one in its if one.where == "here"] if here else its


def waiting(clinic: Clinic) -> list[Uncounted]:
    """Sets that wait for a count. One in a sealed pack cannot be counted: its page says so."""
    return [Uncounted(one, moment) for one in sets(clinic) if not one.pack and (moment := due(one))]


def uncounted_for_pack(act: Act, tags: Sequence[str]) -> list[Uncounted]:
    """Sets among what lies ready for a pack that were not counted since they were worked on."""
    stands = [act.standing(tag) for tag in tags if tag[:1] == "S"]
    return [
        Uncounted(one, "packing")
        for one in stands
        if has_contents(one) and not counted_to_pack(one)
    ]


def uncounted_in(clinic: Clinic, load: Load) -> list[Uncounted]:
    """Sets in a load, also inside its packs, whose count lacks."""
    tags = [tag for put in load.inside for tag in (put.item, *put.covers) if tag[:1] == "S"]
    stands = item_rows.standings(clinic.store, list(dict.fromkeys(tags)))
    return [Uncounted(one, moment) for one in stands if (moment := due(one))]


def why_not_release(clinic: Clinic, load: Load, rule: str) -> list[Told]:
    """Why the load stays where it is while *rule* makes the count a condition; else nothing."""
    if rule != "condition":
        return []
    return [
        Told(code="set-uncounted", says=f"{one.says} Policy asks for it before release.")
        for one in uncounted_in(clinic, load)
    ]
