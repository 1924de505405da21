"""The surest path of an exposure: what happened on the way, and what lay around it.

The item's own line leads from the earlier patient to the one who was exposed; where untagged
contents were mixed it goes on from the pack they were in to the pack that was made, and the other
packs of that load run into it from beside.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from equip.deliver.picture.path import MOST_LANES
from equip.desk.lookback.exposed_now import surest
from equip.rules.lookback.reach import upstream
from equip.rules.lookback.sweep import Contact, Exposure, Source
from equip.store.fold.met import Contacts, clears


@dataclass(frozen=True, slots=True)
class SurestPath:
    """The way from an earlier use to the exposure: the items it leads over, oldest first.

    *own* is what happened on the way, *beside* what did on lines that run into it, by its line;
    *joins* are the lines that end where a pack was made.
    """

    exposure: Exposure
    source: Source
    items: list[str]
    own: list[Contact]
    beside: dict[Contact, int]
    joins: dict[Contact, tuple[int, ...]]
    entries: frozenset[str]

    def on_it(self, contact: Contact) -> bool:
        """Whether a contact of the item's own line is a step of the path."""
        return contact.entry in self.entries and (
            contact.what != "use" or contact.ref in (self.source.use, self.exposure.use)
        )

    def begins(self, contact: Contact) -> bool:
        """Whether it is the earlier use, or the coming from outside, that the path starts from."""
        return contact.item == self.items[0] and contact.ref == self.source.use

    def ends(self, contact: Contact) -> bool:
        """Whether it is the use on the patient who was exposed."""
        return contact.item == self.exposure.item and contact.ref == self.exposure.use

    def weakest(self) -> Contact | None:
        """The step that makes the path as sure as it is; None where it is certain."""
        steps = [contact for contact in self.own if self.on_it(contact)]
        mixed = _made(steps)
        return mixed or next((step for step in steps if step.effect == "unproven"), None)


def path_of(exposure: Exposure, history: Contacts) -> SurestPath:
    source = surest(exposure)
    of: dict[str, list[Contact]] = defaultdict(list)
    before_it = upstream(history, [(exposure.item, exposure.at)], clears)
    for contact in sorted(before_it, key=order):
        if contact.what != "made" or contact.ref:
            of[contact.item].append(contact)
    items = _items(exposure, source, history, of)
    own: list[Contact] = []
    beside: dict[Contact, int] = {}
    joins: dict[Contact, tuple[int, ...]] = {}
    for before, item in zip(["", *items], items, strict=False):
        made = _made(of[item]) if before else None
        if made is not None:
            into = history.into(made.ref)
            end = next(gate.at for gate in into if gate.item == before)
            own = [contact for contact in own if contact.item != before or contact.at <= end]
            joins[made] = tuple(_side_lines(into, before, of, beside))
        own += of[item]
    own += _cleared_after(exposure, history)
    entries = frozenset(source.path.entries())
    beside = {contact: lane for contact, lane in beside.items() if contact not in own}
    return SurestPath(exposure, source, items, own, beside, joins, entries)


def order(contact: Contact) -> tuple[int, int, str]:
    """In one instant what a load did comes before the pack that was made, and that before a use."""
    return contact.at, ("gate", "outside", "made", "use").index(contact.what), contact.item


def _items(
    exposure: Exposure, source: Source, history: Contacts, of: dict[str, list[Contact]]
) -> list[str]:
    """The items over which the source reached the exposed patient, oldest first."""
    led_to: dict[str, str] = {exposure.item: ""}
    waiting = [exposure.item]
    while waiting:
        item = waiting.pop(0)
        if any(met.ref == source.use and met.what in ("use", "outside") for met in of[item]):
            found = [item]
            while led_to[found[-1]]:
                found.append(led_to[found[-1]])
            return found
        made = _made(of[item])
        for gate in history.into(made.ref) if made is not None else ():
            if gate.item not in led_to:
                led_to[gate.item] = item
                waiting.append(gate.item)
    return [exposure.item]


def _made(contacts: Sequence[Contact]) -> Contact | None:
    return next((contact for contact in contacts if contact.what == "made"), None)


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
    """What cleared the item after the exposure, if anything has."""
    for contact in history.after(exposure.item, exposure.at + 1):
        if contact.what == "gate" and clears(contact):
            return [contact]
    return []
