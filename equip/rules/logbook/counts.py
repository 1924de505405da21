"""Counts of sets, pieces that are missing and what became of them, each as one line."""

from equip import facts
from equip.facts import Piece
from equip.rules.fitness.counting import FOUND, MOMENTS
from equip.rules.logbook.names import Names, Tellers
from equip.rules.wording import several


def _pieces(pieces: tuple[Piece, ...]) -> list[str]:
    return [f"{one.count} × {one.name}" for one in pieces]


def _listed(fact: facts.ContentsListed, names: Names) -> str:
    inside = several(_pieces(fact.pieces)) or "nothing untagged"
    return f"Untagged pieces of set {fact.set}: {inside}."


def _counted(fact: facts.Counted, names: Names) -> str:
    seen = several([*fact.seen, *_pieces(fact.pieces)])
    how = "said to be all there" if fact.all_there else "every piece scanned"
    scanned = f" Scanned: {seen}." if fact.all_there and seen else ""
    return f"Set {fact.set} counted {MOMENTS[fact.moment]}, {how}.{scanned}"


def _piece(fact: facts.PieceMissing | facts.PieceFound | facts.PieceLost) -> str:
    return f"{fact.piece} {fact.item}".strip() or "a piece"


def _ended(fact: facts.PieceFound | facts.PieceLost) -> str:
    """What was searched for, and on whom the set was used last before."""
    on = f", last used on patient {fact.patient}" if fact.patient else ""
    return f"{_piece(fact)} of set {fact.set}{on}"


def _missing(fact: facts.PieceMissing, names: Names) -> str:
    number = f"{fact.count} × " if not fact.item else ""
    noticed = f", noticed {MOMENTS[fact.moment]}" if fact.moment else ""
    on = f" The set was last used on patient {fact.patient}." if fact.patient else ""
    seen = f" Last seen by {fact.last_seen_by}, {fact.last_seen_as}." if fact.last_seen_by else ""
    return (
        f"Missing from set {fact.set}: {number}{_piece(fact)}{noticed}.{on}"
        f"{seen or ' Nobody is known to have seen it.'} The set is stopped."
    )


TELLERS: Tellers = {
    facts.ContentsListed: _listed,
    facts.Counted: _counted,
    facts.PieceMissing: _missing,
    facts.PieceFound: lambda f, n: (
        f"Found {FOUND[f.where]}: {_ended(f)}."
        f" Round again go set and piece{', with ' + several(list(f.covers)) if f.covers else ''}."
    ),
    facts.PieceLost: lambda f, n: f"Given up as lost: {_ended(f)}. Reason given: {f.reason}",
}
