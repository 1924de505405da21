"""How one exposure came about: its surest path drawn, and the same in words.

Items are named by type and tag, patients by token.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime

from markupsafe import Markup

from equip.deliver.picture.layout import NARROW, SCREEN
from equip.deliver.picture.path import LeftOut, PathDrawn, PathMoment, Sign, picture, rows_of
from equip.deliver.picture.svg import svg
from equip.desk.clinic import Clinic
from equip.desk.lookback import gate_words
from equip.desk.lookback.path.surest_path import SurestPath, order, path_of
from equip.facts import Hazard, moment
from equip.rules.fitness.stopping import USUAL
from equip.rules.lookback.sweep import Contact, Exposure
from equip.scan import show_tag
from equip.store.fold.met import Contacts, Doubted
from equip.store.readings import item_rows

_FIRST, _ON_PATH, _AROUND, _OTHERS, _BESIDE = 0, 1, 2, 3, 4
"""How much a moment matters: the ends and the weakest step, the path, what frames it, other
patients of the same item, what lay beside."""


@dataclass(frozen=True, slots=True)
class PathLine:
    """One line of the same content in words; *path* is its entry, empty for a count."""

    says: str
    path: str = ""
    at: datetime | None = None
    on_path: bool = False


@dataclass(frozen=True, slots=True)
class ShownPath:
    """The picture for a wide and a narrow screen, and its content as lines in order."""

    wide: Markup
    narrow: Markup
    lines: tuple[PathLine, ...]


def shown(
    clinic: Clinic,
    exposure: Exposure,
    *,
    hazard: Hazard = USUAL,
    doubted: Doubted | None = None,
    name: str = "path",
) -> ShownPath:
    """What a page shows of an exposure; *doubted* are the gates that a look-back takes for nothing.

    *name* begins the ids in the picture: give each its own where a page shows several.
    """
    path = path_of(exposure, Contacts(clinic.store, hazard, doubted))
    contacts = sorted([*path.own, *path.beside], key=order)
    words = _Words(clinic, path, hazard)
    moments = _moments(words, path, contacts)
    brief = [_brief(*pair) for pair in zip(moments, contacts, strict=True)]
    contact_of = dict(zip(map(id, moments), contacts, strict=True))
    return ShownPath(
        wide=Markup(svg(picture(_drawn(brief), SCREEN), f"{name}-wide")),  # noqa: S704 — escaped
        narrow=Markup(svg(picture(_drawn(brief), NARROW), f"{name}-narrow")),  # noqa: S704
        lines=tuple(_line(row, contact_of) for row in rows_of(_drawn(moments))),
    )


def _drawn(moments: Iterable[PathMoment]) -> PathDrawn:
    says = "The same content stands beside it as a list."
    return PathDrawn(tuple(moments), "How the exposure came about", says)


def _brief(whole: PathMoment, contact: Contact) -> PathMoment:
    """As in the picture, where a patient's token is as short as on every page."""
    token = contact.patient
    return replace(whole, says=whole.says.replace(token, f"t·{token[1:5]}")) if token else whole


def _line(row: PathMoment | LeftOut, contact_of: dict[int, Contact]) -> PathLine:
    if isinstance(row, LeftOut):
        return PathLine(row.says)
    contact = contact_of[id(row)]
    return PathLine(row.says, contact.entry, moment(contact.at), row.on_path)


# --- moments ------------------------------------------------------------------------------------


def _moments(words: "_Words", path: SurestPath, contacts: Iterable[Contact]) -> list[PathMoment]:
    """Each contact as a moment of the picture, which leaves out what is too much."""
    weakest = path.weakest()
    return [
        PathMoment(
            contact.at,
            words.when(contact),
            words.says(contact),
            _sign(path, contact),
            lane=path.beside.get(contact, 0),
            rank=_rank(path, contact, weakest),
            on_path=contact not in path.beside and path.on_it(contact),
            joins=() if contact in path.beside else path.joins.get(contact, ()),
        )
        for contact in contacts
    ]


def _rank(path: SurestPath, contact: Contact, weakest: Contact | None) -> int:
    if contact in path.beside:
        return _BESIDE
    if contact is weakest or _sign(path, contact) in ("source", "exposed"):
        return _FIRST
    if path.on_it(contact):
        return _ON_PATH
    return _OTHERS if contact.what == "use" else _AROUND


_GATES: dict[str, Sign] = {"clears": "clears", "unproven": "unproven", "void": "nothing"}


def _sign(path: SurestPath, contact: Contact) -> Sign:
    if contact.what == "gate":
        return _GATES.get(contact.effect, "nothing")
    if contact.what == "made":
        return "mixed"
    if path.ends(contact):
        return "exposed"
    if path.begins(contact):
        return "source"
    return "outside" if contact.what == "outside" else "patient"


@dataclass(slots=True)
class _Words:
    """A moment in a sentence, and when it was."""

    clinic: Clinic
    path: SurestPath
    hazard: Hazard
    _names: dict[str, str] = field(default_factory=dict)

    def when(self, contact: Contact) -> str:
        """Day and time; with its year where that is not the one of the exposure."""
        zone = self.clinic.house.zone
        at, end = (moment(at).astimezone(zone) for at in (contact.at, self.path.exposure.at))
        year = f" {at.year}" if at.year != end.year else ""
        return f"{at.day} {at:%b}{year} {at:%H:%M}"

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
            standing = item_rows.standing_of(self.clinic.store, item)
            kind = standing.type if standing is not None else ""
            called = self.clinic.house.kind(kind).name if kind else "Thing"
            self._names[item] = f"{called} {show_tag(item)}"
        return self._names[item]

    def _use(self, contact: Contact) -> str:
        said = f"{self._name(contact.item)} used on patient {contact.patient}"
        if self.path.ends(contact):
            return f"{said}, who may have been exposed"
        if self.path.begins(contact):
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
