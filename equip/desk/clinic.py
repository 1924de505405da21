"""The clinic as everybody at the desk sees it: its parts handed in, its register kept in memory."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from zoneinfo import ZoneInfo

from equip import rulebook
from equip.clock import Clock
from equip.facts import ItemType
from equip.rulebook import Book, Override, Rules
from equip.rulebook.fitness import shelf_limits
from equip.rules.fitness.shelf import ShelfLimits
from equip.rules.people.competence import Assessment
from equip.scan import show_tag
from equip.settings.settings import Settings
from equip.store.database import Store
from equip.store.fold.items import PACK
from equip.store.fold.register import revision
from equip.store.kept.vault import Vault
from equip.store.readings import clinic_rows, item_rows, people_rows
from equip.store.readings.clinic_rows import PlaceRow, SiteRow
from equip.store.readings.item_rows import ItemRow
from equip.store.readings.people_rows import StaffRow

SET = ItemType(code="set", name="Set", sort="set")
"""A set that was named only when something joined it."""


BY_POST: dict[str, tuple[str, ...]] = {
    "declare": ("manager",),
    "test": ("nurse", "manager"),
    "lots": ("nurse", "manager"),
    "retire": ("nurse", "manager"),
    "undo": ("nurse", "manager"),
}
"""Rights that came in after books were in use: who has them until a book gives them to somebody."""


@dataclass
class House:
    """Types, places, people and rules as they stand at one revision of the register."""

    revision: int
    site: str
    name: str
    zone: ZoneInfo
    types: dict[str, ItemType]
    places: dict[str, PlaceRow]
    staff: dict[str, StaffRow]
    book: Book
    competences: tuple[Assessment, ...] = ()
    _rules: dict[date, Rules] = field(default_factory=dict)
    _shelf: dict[date, ShelfLimits] = field(default_factory=dict)

    def kind(self, code: str) -> ItemType:
        """The type of that code; a pack's is the same everywhere."""
        if code == PACK.code:
            return PACK
        return self.types.get(code, SET)

    def served_with(self, code: str) -> tuple[str, ...]:
        """The names of the types that are used with machines of this one."""
        return tuple(kind.name for kind in self.types.values() if kind.served_by == code)

    def today(self, moment: datetime) -> date:
        """The day that *moment* falls on at the site."""
        return moment.astimezone(self.zone).date()

    def rules(self, moment: datetime) -> Rules:
        """The rules in force at *moment*, local to the site."""
        return self.rules_on(self.today(moment))

    def rules_on(self, day: date) -> Rules:
        """The rules in force on a day of the site."""
        if day not in self._rules:
            self._rules[day] = self.book.on(day)
        return self._rules[day]

    def shelf(self, moment: datetime) -> ShelfLimits:
        """How long things stay fit, by the rules in force at *moment*."""
        day = self.today(moment)
        if day not in self._shelf:
            self._shelf[day] = shelf_limits(self.rules(moment))
        return self._shelf[day]

    def card_type(self, card: str) -> ItemType | None:
        """The untagged type that an act card counts."""
        return next((kind for kind in self.types.values() if kind.card == card), None)

    def label(self, row: ItemRow) -> str:
        """What a thing is called on screen: its type, its own name if it has one, its tag."""
        own = f", {row.name}" if row.name else ""
        return f"{self.kind(row.type).name}{own} {show_tag(row.tag)}"

    def place_name(self, tag: str) -> str:
        place = self.places.get(tag)
        return place.name if place else ""

    def place_sort(self, tag: str) -> str:
        place = self.places.get(tag)
        return place.sort if place else "clinical"

    def person_name(self, tag: str) -> str:
        person = self.staff.get(tag)
        return person.name if person else tag

    def rights(self, tag: str) -> frozenset[str]:
        """What a person may do; what nobody here was ever given goes with the post."""
        person = self.staff.get(tag)
        if person is None or not person.active:
            return frozenset()
        return person.rights | self._by_post(person.role)

    def _by_post(self, role: str) -> frozenset[str]:
        given = {right for one in self.staff.values() for right in one.rights}
        return frozenset(
            right for right, roles in BY_POST.items() if role in roles and right not in given
        )


@dataclass
class Clinic:
    """The parts that the desk works with, handed in once."""

    store: Store
    vault: Vault
    clock: Clock
    settings: Settings
    _house: House | None = None

    def __post_init__(self) -> None:
        self.patients = re.compile(self.settings.patient_pattern)
        self.vault.patients = self.patients

    @property
    def house(self) -> House:
        """The register as it stands; read again only when its revision has risen."""
        now_at = revision(self.store)
        if self._house is None or self._house.revision != now_at:
            self._house = self._read_house(now_at)
        return self._house

    def kind_names(self, tags: Iterable[str]) -> dict[str, str]:
        """What the type of each of *tags* is called; nothing of one that is not on the register."""
        types = item_rows.types_of(self.store, sorted(set(tags)))
        return {tag: self.house.kind(code).name for tag, code in types.items()}

    def _read_house(self, number: int) -> House:
        code = self.settings.site
        unopened = SiteRow(code, code, self.settings.zone, self.settings.book)
        known = {site.code: site for site in clinic_rows.sites(self.store)}
        site = known.get(code, unopened)
        staff = people_rows.staff(self.store)
        overrides = [
            Override(
                rule=o.rule,
                value=o.value,
                reason=o.reason,
                since=o.since,
                by=staff[o.who].name if o.who in staff else o.who,
            )
            for o in clinic_rows.overrides(self.store)
        ]
        return House(
            revision=number,
            site=site.code,
            name=site.name,
            zone=ZoneInfo(site.zone),
            types=clinic_rows.types(self.store),
            places=clinic_rows.places(self.store),
            staff=staff,
            competences=people_rows.competences(self.store),
            book=rulebook.load(site.book).overridden(overrides),
        )
