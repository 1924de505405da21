"""Who may have been exposed to whom: one pass in time order over what met what.

What happened to things, as `Contact`s in order of time, goes in; every use on a patient after
another patient was carried comes out, with how surely, through what share of untagged contents,
from which earlier uses, and by which entries of the ledger. The same pass serves the bench, the
look-back, the panel that is always on (segment by segment) and the slow test.

How certain a path is: certain where nothing recorded lies between the two uses (a load that
failed lies between nothing: it did nothing); no proof where it runs through a load without a
verdict or a decontamination whose earlier steps nobody recorded; possible where it runs through
the mixing of untagged contents. A path is as sure as its weakest step, an exposure as its
strongest source. Certainty never takes a patient off the list.

Ties: in one instant every use meets what was carried before, and every other use of that
instant on the same thing; a decontamination of that instant clears what was carried before it,
and not that instant's uses.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from fractions import Fraction
from itertools import groupby
from math import comb
from operator import attrgetter
from typing import Literal, NamedTuple

What = Literal["use", "gate", "outside", "made"]
Effect = Literal["", "clears", "unproven", "void"]


class Certainty(IntEnum):
    """How surely a path led from one use to another; the higher the surer."""

    possible = 0
    no_proof = 1
    certain = 2

    @property
    def word(self) -> str:
        return self.name.replace("_", "-")


class Contact(NamedTuple):
    """One thing that happened to one item, at *at* (any steady unit of time).

    *ref* is the use for a use, the load (or the entry of a step by hand) for a gate, the load a
    pack was made out of for a pack made. *contents* is how many untagged instruments a pack held
    when it was made, or brought into a load; *effect* what a gate does against the hazard asked.
    *shared* is, of a use, the gate that its thing shares among those of one day, while it clears.
    """

    at: int
    item: str
    what: What
    entry: str
    ref: str = ""
    patient: str = ""
    effect: Effect = ""
    contents: int = 0
    shared: str = ""


class Path(NamedTuple):
    """The entries that lead here, the newest first."""

    entry: str
    before: "Path | None" = None

    def entries(self) -> tuple[str, ...]:
        """Oldest first."""
        found, here = [], self
        while here is not None:
            found.append(here.entry)
            here = here.before  # type: ignore[assignment]
        return tuple(reversed(found))


class Source(NamedTuple):
    """One earlier use that an item still carries, or its coming from outside (*patient* None)."""

    use: str
    patient: str | None
    at: int
    certainty: Certainty
    share: Fraction
    path: Path


class Exposure(NamedTuple):
    """A use on *patient* with an item that carried others. *share* is what part of the untagged
    contents it held may have carried anybody else; 1 for a thing with a tag of its own."""

    item: str
    use: str
    patient: str
    at: int
    entry: str
    certainty: Certainty
    share: Fraction
    sources: tuple[Source, ...]


_WHOLE = Fraction(1)


@dataclass(slots=True)
class _Held:
    """What one item carries: earlier uses by name, and the pool its contents were drawn from.

    *shared* is the gate of the day that such a use shared, where it did.
    """

    uses: dict[str, Source] = field(default_factory=dict)
    pool: "_Pool | None" = None
    shared: dict[str, str] = field(default_factory=dict)

    def take(self, contact: Contact) -> None:
        """One use, or coming from outside, is carried from now on."""
        self.uses[contact.ref] = _carried(contact)
        if contact.shared:
            self.shared[contact.ref] = contact.shared

    def share_of_others(self, patient: str) -> Fraction:
        """What part of its contents may carry anybody but *patient*."""
        if any(s.share == 1 and s.patient != patient for s in self.uses.values()):
            return _WHOLE
        return self.pool.share_of_others(patient) if self.pool else Fraction(0)

    def copy(self) -> "_Held":
        return _Held(dict(self.uses), self.pool, dict(self.shared))


@dataclass(slots=True)
class _Pool:
    """Untagged contents that lay together in a load which cleared nothing, pack by pack."""

    groups: list[tuple[int, _Held]] = field(default_factory=list)

    @property
    def contents(self) -> int:
        return sum(count for count, _ in self.groups)

    def share_of_others(self, patient: str) -> Fraction:
        shares = [count * held.share_of_others(patient) for count, held in self.groups]
        return sum(shares, Fraction(0)) / self.contents if shares else Fraction(0)

    def drawn(self, entry: str) -> _Held:
        """What a pack made out of it may hold: everything anything in it carried."""
        every = self.contents
        parts: dict[str, list[tuple[int, Source]]] = {}
        for count, held in self.groups:
            for name, source in held.uses.items():
                parts.setdefault(name, []).append((count, source))
        drawn = {}
        for name, found in parts.items():
            best = max((source for _, source in found), key=attrgetter("certainty"))
            share = sum((count * source.share for count, source in found), Fraction(0)) / every
            drawn[name] = best._replace(
                certainty=Certainty.possible, share=share, path=Path(entry, best.path)
            )
        return _Held(drawn, self)


class Sweep:
    """The pass as far as it has come: fed instant by instant, it may stop and go on."""

    def __init__(self, since: int | None = None) -> None:
        """*since* is the first moment whose exposures are wanted; what is before is only met."""
        self._since = since
        self._held: dict[str, _Held] = {}
        self._pools: dict[str, _Pool] = {}

    def meet(self, instant: Sequence[Contact]) -> list[Exposure]:
        """The exposures of one instant, which lies after all that were met before."""
        if len(instant) == 1 and instant[0].what in ("use", "gate") and not instant[0].contents:
            found = _alone(self._held, instant[0], wanted=self._wanted(instant[0].at))
            return [] if found is None else [found]
        wanted = self._wanted(instant[0].at)
        return list(_instant(self._held, self._pools, instant, wanted=wanted))

    def _wanted(self, at: int) -> bool:
        return self._since is None or at >= self._since

    def carried(self, item: str) -> tuple[Source, ...]:
        """What *item* carries now."""
        its = self._held.get(item)
        return () if its is None else tuple(its.uses.values())


def sweep(contacts: Iterable[Contact], since: int | None = None) -> Iterator[Exposure]:
    """Every exposure in *contacts*, which stand in order of time; in the order of the uses."""
    state = Sweep(since)
    for _, together in groupby(contacts, key=attrgetter("at")):
        yield from state.meet(list(together))


def chance_of_one(carrying: int, mixed: int, drawn: int) -> Fraction:
    """The chance that *drawn* contents taken blindly out of *mixed* hold one of *carrying*.

    Hypergeometric: 1 - C(mixed - carrying, drawn) / C(mixed, drawn). It is not called a risk.
    """
    if not 0 <= carrying <= mixed or not 0 <= drawn <= mixed:
        raise ValueError(f"{drawn} cannot be drawn out of {mixed} of which {carrying} carry.")
    return 1 - Fraction(comb(mixed - carrying, drawn), comb(mixed, drawn))


# --- one instant ------------------------------------------------------------------------------


def _alone(held: dict[str, _Held], contact: Contact, *, wanted: bool) -> Exposure | None:
    """The usual case, one thing at one moment, without the book-keeping of a tie."""
    its = held.get(contact.item)
    if contact.what == "gate":
        if its is not None:
            _gate(held, contact.item, its, [contact])
        return None
    found = None
    if its is None:
        its = held[contact.item] = _Held()
    elif wanted:
        found = _exposure(contact, its)
    its.take(contact)
    return found


def _instant(
    held: dict[str, _Held],
    pools: dict[str, _Pool],
    instant: Sequence[Contact],
    *,
    wanted: bool,
) -> Iterator[Exposure]:
    """Everything of one instant: what was carried before, then what this instant adds."""
    its: dict[str, list[Contact]] = {}
    for contact in instant:
        its.setdefault(contact.item, []).append(contact)
    before = {item: held[item].copy() for item in its if item in held}
    for item, told in its.items():
        _after_instant(held, item, told)
    _fill_pools(held, pools, instant)
    for contact in instant:
        if contact.what == "made" and contact.ref in pools:
            _made(held, before, pools[contact.ref], contact)
    for contact in instant if wanted else ():
        if contact.what == "use":
            meets = before.get(contact.item, _Held()).copy()
            for other in its[contact.item]:
                if other is not contact and other.what in ("use", "outside"):
                    meets.take(other)
            if (found := _exposure(contact, meets)) is not None:
                yield found


def _fill_pools(
    held: dict[str, _Held], pools: dict[str, _Pool], instant: Sequence[Contact]
) -> None:
    """Untagged contents of one load lie together; a load that left nothing on them is no pool."""
    groups: dict[str, list[tuple[int, _Held]]] = {}
    for contact in instant:
        if contact.what == "gate" and contact.contents:
            carried = held.get(contact.item, _Held()).copy()
            groups.setdefault(contact.ref, []).append((contact.contents, carried))
    for load, found in groups.items():
        if any(carried.uses for _, carried in found):
            pools[load] = _Pool(found)


def _after_instant(held: dict[str, _Held], item: str, told: list[Contact]) -> None:
    """What *item* carries once the instant is over."""
    gates = [contact for contact in told if contact.what == "gate"]
    if gates and item in held:
        _gate(held, item, held[item], gates)
    for contact in told:
        if contact.what in ("use", "outside"):
            held.setdefault(item, _Held()).take(contact)


def _made(
    held: dict[str, _Held],
    before: dict[str, _Held],
    pool: _Pool,
    contact: Contact,
) -> None:
    """A pack made out of a load holds what was in the pool; its uses of this instant come after."""
    drawn = pool.drawn(contact.entry)
    for carried in (
        before.setdefault(contact.item, _Held()),
        held.setdefault(contact.item, _Held()),
    ):
        carried.uses = drawn.uses | carried.uses
        carried.pool = pool


def _gate(held: dict[str, _Held], item: str, its: _Held, gates: list[Contact]) -> None:
    """Cleared if any of them clears; else what lies behind it is as sure as the weakest."""
    if any(gate.effect == "clears" for gate in gates):
        del held[item]
        return
    for gate in gates:
        most = Certainty.no_proof if gate.effect == "unproven" else Certainty.certain
        its.uses = {
            name: source._replace(
                certainty=min(source.certainty, most), path=Path(gate.entry, source.path)
            )
            for name, source in its.uses.items()
        }


def _carried(contact: Contact) -> Source:
    patient = contact.patient if contact.what == "use" else None
    return Source(contact.ref, patient, contact.at, Certainty.certain, _WHOLE, Path(contact.entry))


def _exposure(contact: Contact, meets: _Held) -> Exposure | None:
    """What this use meets of others; the same patient is no exposure of himself.

    Nor is anybody an exposure who shares with this use one gate that holds for the day.
    """
    patient = contact.patient
    sources = tuple(
        source._replace(path=Path(contact.entry, source.path))
        for name, source in meets.uses.items()
        if source.patient != patient
        and name != contact.ref
        and not (contact.shared and meets.shared.get(name) == contact.shared)
    )
    if not sources:
        return None
    return Exposure(
        item=contact.item,
        use=contact.ref,
        patient=patient,
        at=contact.at,
        entry=contact.entry,
        certainty=max(source.certainty for source in sources),
        share=meets.share_of_others(patient),
        sources=sources,
    )
