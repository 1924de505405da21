"""The moments of an exposure's surest path, with what lay around it.

The thing's own line leads from the earlier patient to the one who was exposed; where untagged
contents were mixed it goes on from the pack they were in to the pack that was made, and the other
packs of that load run into it from beside.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from equip.deliver.picture.path import MOST_LANES, Moment
from equip.desk.clinic import Clinic
from equip.desk.lookback.exposed_now import surest
from equip.desk.lookback.path.path_words import Path, Speech, sign_of
from equip.facts import Hazard, moment
from equip.rules.lookback.reach import upstream
from equip.rules.lookback.sweep import Contact, Exposure, Source
from equip.store.fold.contacts import Contacts, clears

_FIRST, _ON_PATH, _AROUND, _OTHERS, _BESIDE = 0, 1, 2, 3, 4
"""How much a moment matters: the ends and the weakest step, the path, what frames it, other
patients of the same thing, what lay beside."""


@dataclass(frozen=True, slots=True)
class Told:
    """A moment of the picture, and the contact that it tells of."""

    moment: Moment
    contact: Contact


def moments_of(clinic: Clinic, exposure: Exposure, history: Contacts, hazard: Hazard) -> list[Told]:
    """Every moment in order of time; the picture leaves out what is too much."""
    path = _path(exposure, history)
    weakest = _weakest(path)
    speech = Speech(clinic, path, hazard)

    def told(contact: Contact, lane: int, rank: int) -> Told:
        return Told(
            Moment(
                contact.at,
                _when(clinic, path, contact),
                speech.says(contact),
                sign_of(path, contact),
                lane=lane,
                rank=rank,
                on_path=not lane and path.on_it(contact),
                joins=() if lane else path.joins.get(contact, ()),
            ),
            contact,
        )

    own = [told(contact, 0, _rank(path, contact, weakest)) for contact in path.own]
    beside = [told(contact, lane, _BESIDE) for contact, lane in path.beside.items()]
    return sorted([*own, *beside], key=lambda one: _order(one.contact))


def _rank(path: Path, contact: Contact, weakest: Contact | None) -> int:
    if contact is weakest or sign_of(path, contact) in ("source", "exposed"):
        return _FIRST
    if path.on_it(contact):
        return _ON_PATH
    return _OTHERS if contact.what == "use" else _AROUND


def _order(contact: Contact) -> tuple[int, int, str]:
    """In one instant what a load did comes before the pack that was made, and that before a use."""
    return contact.at, ("gate", "outside", "made", "use").index(contact.what), contact.item


def _when(clinic: Clinic, path: Path, contact: Contact) -> str:
    """Day and time; with its year where that is not the one of the exposure."""
    zone = clinic.house.zone
    here, end = (moment(at).astimezone(zone) for at in (contact.at, path.exposure.at))
    year = f" {here.year}" if here.year != end.year else ""
    return f"{here.day} {here:%b}{year} {here:%H:%M}"


# --- which moments ------------------------------------------------------------------------------


def _path(exposure: Exposure, history: Contacts) -> Path:
    source = surest(exposure)
    of: dict[str, list[Contact]] = defaultdict(list)
    for contact in sorted(upstream(history, [(exposure.item, exposure.at)], clears), key=_order):
        if contact.what != "made" or contact.ref:
            of[contact.item].append(contact)
    things = _things(exposure, source, history, of)
    own: list[Contact] = []
    beside: dict[Contact, int] = {}
    joins: dict[Contact, tuple[int, ...]] = {}
    for before, thing in zip(["", *things], things, strict=False):
        made = _made(of[thing]) if before else None
        if made is not None:
            into = history.into(made.ref)
            end = next(gate.at for gate in into if gate.item == before)
            own = [one for one in own if one.item != before or one.at <= end]
            joins[made] = tuple(_side_lines(into, before, of, beside))
        own += of[thing]
    own += _cleared_after(exposure, history)
    entries = frozenset(source.path.entries())
    beside = {contact: lane for contact, lane in beside.items() if contact not in own}
    return Path(exposure, source, things, own, beside, joins, entries)


def _things(
    exposure: Exposure, source: Source, history: Contacts, of: dict[str, list[Contact]]
) -> list[str]:
    """The things over which the source reached the exposed patient, oldest first."""
    led_to: dict[str, str] = {exposure.item: ""}
    waiting = [exposure.item]
    while waiting:
        thing = waiting.pop(0)
        if any(one.ref == source.use and one.what in ("use", "outside") for one in of[thing]):
            found = [thing]
            while led_to[found[-1]]:
                found.append(led_to[found[-1]])
            return found
        made = _made(of[thing])
        for gate in history.into(made.ref) if made is not None else ():
            if gate.item not in led_to:
                led_to[gate.item] = thing
                waiting.append(gate.item)
    return [exposure.item]


def _made(contacts: Sequence[Contact]) -> Contact | None:
    return next((one for one in contacts if one.what == "made"), None)


def _side_lines(
    into: Iterable[Contact], but: str, of: dict[str, list[Contact]], beside: dict[Contact, int]
) -> Iterator[int]:
    """Lines for some of the other packs in a load, those that had met patients first."""
    others = [gate for gate in into if gate.item != but]
    others.sort(key=lambda gate: (not any(o.what == "use" for o in of[gate.item]), gate.item))
    for lane, gate in enumerate(others[: MOST_LANES - 1], start=1):
        for contact in of[gate.item]:
            if contact.at <= gate.at:
                beside.setdefault(contact, lane)
        yield lane


def _cleared_after(exposure: Exposure, history: Contacts) -> list[Contact]:
    """What cleared the thing after the exposure, if anything has."""
    for contact in history.after(exposure.item, exposure.at + 1):
        if contact.what == "gate" and clears(contact):
            return [contact]
    return []


def _weakest(path: Path) -> Contact | None:
    """The step that makes the path as sure as it is; None where it is certain."""
    steps = [one for one in path.own if path.on_it(one)]
    mixed = next((one for one in steps if one.what == "made"), None)
    return mixed or next((one for one in steps if one.effect == "unproven"), None)
