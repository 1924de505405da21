"""A piece of a set that is missing: the search for it, from “missing” to found or given up."""

from dataclasses import dataclass
from datetime import datetime

from equip import facts
from equip.desk.act.act import Act, Refused, alert
from equip.desk.clinic import Clinic
from equip.desk.register import items, set_counts
from equip.desk.register.set_counts import Wanted
from equip.facts import CountMoment, Fact, FoundWhere, Piece
from equip.rules.fitness.contents import Search
from equip.rules.fitness.counting import FOUND, MOMENTS, called, contents_of
from equip.rules.fitness.standing import Standing, settled
from equip.scan import show_tag
from equip.store.ledger.about import told_about


@dataclass(frozen=True, slots=True)
class Seen:
    """When somebody saw a piece last, who, and at what."""

    at: datetime
    by: str
    how: str


def missing(
    act: Act, standing: Standing, piece: Wanted, moment: CountMoment | str = ""
) -> facts.PieceMissing:
    """A piece is not there: the set stops, and the practice manager is told at once."""
    seen = last_seen(act, standing, piece)
    patient, use = _last_patient(act, standing, piece)
    told = act.tell(
        facts.PieceMissing,
        set=standing.item,
        search=act.id,
        item=piece.item,
        piece=piece.piece,
        count=1,
        moment=moment,
        patient=patient,
        use=use,
        last_seen_by=seen.by if seen else "",
        last_seen=seen.at if seen else None,
        last_seen_as=seen.how if seen else "",
    )
    what = piece.says if piece.item else f"1 × {piece.piece}"
    alert(act, f"{what} is missing from {act.label(standing)}. The set is stopped.")
    return told


def _last_patient(act: Act, standing: Standing, piece: Wanted) -> tuple[str, str]:
    """On whom the set, or the piece by itself, was used last: the token, and the use."""
    soilings = [standing.soiling]
    if piece.item:
        soilings.append(act.standing(piece.item).soiling)
    used = [one for one in soilings if one is not None and one.use]
    last = max(used, key=lambda one: one.at, default=None)
    return (last.patient, last.use) if last else ("", "")


def last_seen(act: Act, standing: Standing, piece: Wanted) -> Seen | None:
    """The last time that somebody counted the set whole, or scanned the piece by itself."""
    named = (standing.item, piece.item) if piece.item else (standing.item,)
    seen = [
        found
        for tag in named
        for _, fact in settled([entry.fact for entry in told_about(act.store, tag)])
        if (found := _seen(fact, standing.item, piece.item)) is not None
    ]
    return max(seen, key=lambda one: one.at, default=None)


def _seen(fact: Fact, set_tag: str, item: str) -> Seen | None:
    how = ""
    match fact:
        case facts.Counted() if fact.set == set_tag:
            how = f"counted {MOMENTS[fact.moment]}"
        case facts.Stepped() if fact.item == item and item:
            how = f"at the step “{fact.step}”"
        case facts.Used() if fact.item == item and item:
            how = "scanned as used"
        case facts.LoadAdded() if fact.item == item and item:
            how = f"put in load {fact.load}"
        case facts.Placed() if fact.item == item and item:
            how = "put away"
        case facts.Joined() if fact.item == item and item:
            how = "when it joined the set"
        case _:
            return None
    return Seen(fact.at, fact.by, how)


def open_of(standing: Standing) -> tuple[Search, ...]:
    """The searches that are open for a set or for a piece."""
    return contents_of(standing).searches


def found(act: Act, tag: str, search: str, where: str) -> Search:
    """It is there again. Nobody knows where it was meanwhile, so the whole set goes round."""
    one = _search(act, tag, search)
    if where not in FOUND:
        raise Refused(f"Say where it was: {', '.join(FOUND.values())}.")
    place: FoundWhere = where  # type: ignore[assignment]
    its = act.standing(one.set)
    packs = [its.pack, act.standing(one.item).pack if one.item else ""]
    act.tell(
        facts.PieceFound,
        set=one.set,
        search=one.search,
        where=place,
        item=one.item,
        piece=one.piece,
        patient=one.patient,
        covers=tuple(dict.fromkeys((*its.members, *filter(None, packs)))),
    )
    return one


def lost(act: Act, tag: str, search: str, reason: str) -> None:
    """Somebody with the right gives it up: from now on it does not belong to the set."""
    one = _search(act, tag, search)
    if "lift" not in act.house.rights(act.by):
        raise Refused("You have no right to give a missing piece up as lost.")
    if not reason.strip():
        raise Refused("Give a reason: it is read years later.")
    act.tell(
        facts.PieceLost,
        set=one.set,
        search=one.search,
        reason=reason.strip(),
        item=one.item,
        piece=one.piece,
        patient=one.patient,
    )
    its = act.standing(one.set)
    if one.item:
        if one.item in its.members:
            act.tell(facts.Left, set=one.set, item=one.item)
        act.tell(facts.Retired, item=one.item, why=f"lost: {reason.strip()}")
    else:
        act.tell(facts.ContentsListed, set=one.set, pieces=_without(its, one))


def _without(standing: Standing, search: Search) -> tuple[Piece, ...]:
    left = []
    for piece in contents_of(standing).pieces:
        gone = search.count if piece.name == search.piece else 0
        if piece.count > gone:
            left.append(Piece(name=piece.name, count=piece.count - gone, type=piece.type))
    return tuple(left)


def _search(act: Act, tag: str, search: str) -> Search:
    for one in open_of(items.known(act, tag)):
        if one.search == search:
            return one
    raise Refused(f"No such search is open for {show_tag(tag)}: it was ended before.")


# --- what waits for somebody ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Line:
    """An open search as a page shows it."""

    search: Search
    says: str
    seen: str
    who: str


def lines(clinic: Clinic, searches: tuple[Search, ...]) -> list[Line]:
    """Open searches, the oldest first, with who saw the piece last."""
    return [
        Line(
            search=one,
            says=f"{called(one)} is missing from set {show_tag(one.set)}",
            seen=_last_seen_says(clinic, one),
            who=clinic.house.person_name(one.by),
        )
        for one in sorted(searches, key=lambda one: one.at)
    ]


def _last_seen_says(clinic: Clinic, search: Search) -> str:
    if not search.last_seen_by:
        return "Nobody is known to have seen it"
    return f"Last seen by {clinic.house.person_name(search.last_seen_by)}, {search.last_seen_as}"


def all_open(clinic: Clinic) -> list[Line]:
    """Every search that is open now: what waits for somebody."""
    every = set_counts.sets(clinic, here=False)
    return lines(clinic, tuple(one for its in every for one in contents_of(its).searches))
