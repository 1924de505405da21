"""What each moment of an exposure's path is and says: things by type and tag, patients by token."""

from dataclasses import dataclass, field

from equip.deliver.picture.path import Sign
from equip.desk.clinic import Clinic
from equip.desk.lookback import gate_words
from equip.facts import Hazard
from equip.rules.lookback.sweep import Contact, Exposure, Source
from equip.scan import show_tag
from equip.store.fold.contacts import Contacts
from equip.store.readings import item_rows


@dataclass(slots=True)
class Path:
    """The way from an earlier use to the exposure: the things it leads over, oldest first.

    *own* is what happened on the way, *beside* what did on lines that run into it.
    """

    exposure: Exposure
    source: Source
    things: list[str]
    own: list[Contact]
    beside: dict[Contact, int]
    joins: dict[Contact, tuple[int, ...]]
    entries: frozenset[str]

    def on_it(self, contact: Contact) -> bool:
        """Whether a moment of the thing's own line is a step of the path."""
        return contact.entry in self.entries and (
            contact.what != "use" or contact.ref in (self.source.use, self.exposure.use)
        )


_GATES: dict[str, Sign] = {"clears": "clears", "unproven": "unproven", "void": "nothing"}


def sign_of(path: Path, contact: Contact) -> Sign:
    if contact.what == "gate":
        return _GATES.get(contact.effect, "nothing")
    if contact.what == "made":
        return "mixed"
    if contact.item == path.exposure.item and contact.ref == path.exposure.use:
        return "exposed"
    if contact.item == path.things[0] and contact.ref == path.source.use:
        return "source"
    return "outside" if contact.what == "outside" else "patient"


@dataclass(slots=True)
class Speech:
    """A moment in a sentence."""

    clinic: Clinic
    path: Path
    hazard: Hazard
    _names: dict[str, str] = field(default_factory=dict)

    def says(self, contact: Contact) -> str:
        match contact.what:
            case "use":
                return self._use(contact)
            case "gate":
                return gate_words.says(self.clinic, contact, self.hazard)
            case "made":
                return self._made(contact)
            case _:
                return f"{self._name(contact.item)} came from outside: whom it met is not known"

    def _name(self, item: str) -> str:
        if item not in self._names:
            stands = item_rows.standing_of(self.clinic.store, item)
            kind = stands.type if stands is not None else ""
            called = self.clinic.house.kind(kind).name if kind else "Thing"
            self._names[item] = f"{called} {show_tag(item)}"
        return self._names[item]

    def _use(self, contact: Contact) -> str:
        said = f"{self._name(contact.item)} used on patient {contact.patient}"
        sign = sign_of(self.path, contact)
        if sign == "exposed":
            return f"{said}, who may have been exposed"
        if sign == "source":
            return f"{said}: from here on it may have carried"
        if contact.patient == self.path.exposure.patient:
            return f"{said}, the same who may have been exposed"
        return said

    def _made(self, contact: Contact) -> str:
        into = Contacts(self.clinic.store).into(contact.ref)
        mixed = sum(gate.contents for gate in into)
        packs = "1 pack" if len(into) == 1 else f"{len(into)} packs"
        return (
            f"{self._name(contact.item)} made out of load {show_tag(contact.ref)}:"
            f" {contact.contents} of the {mixed} untagged instruments mixed there, from {packs}"
        )
