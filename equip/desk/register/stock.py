"""What there is and where it stands: ready, in process, kept back, sent out, running out."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from equip.desk.clinic import Clinic, House
from equip.desk.fitness.due_days import all_grounded
from equip.desk.fitness.readiness import Readiness
from equip.desk.fitness.session import lines_today
from equip.desk.register.item_fields import ItemField, shown_on
from equip.facts import ItemType
from equip.rules.fitness.counting import contents_of
from equip.rules.fitness.day_gate import what_makes_fit
from equip.rules.fitness.gates import (
    Member,
    declared_lapse,
    gate_step,
    lapse,
    proof,
)
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.why_not import Why
from equip.store.readings import item_rows
from equip.store.readings.item_rows import ItemRow

ROUNDS = ("ready", "in use", "soiled", "in process", "to be released", "sent out")


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing as Stock shows it, computed for this moment."""

    row: ItemRow
    round: str
    place: str
    held: bool
    reasons: tuple[Why, ...]
    lapses: datetime | None
    uses: int
    pack: str

    @property
    def tag(self) -> str:
        return self.row.tag

    @property
    def type(self) -> str:
        return self.row.type

    @property
    def name(self) -> str:
        return self.row.name

    @property
    def fit(self) -> bool:
        return not self.reasons


@dataclass(frozen=True, slots=True)
class Shelf:
    """All things of one type, counted by where they are in the round."""

    type: str
    name: str
    things: tuple[Thing, ...]

    def count(self, round: str) -> int:
        return sum(1 for thing in self.things if thing.round == round)

    @property
    def held(self) -> int:
        return sum(1 for thing in self.things if thing.held)


@dataclass(frozen=True, slots=True)
class Stock:
    """The whole of it, and what runs out soon."""

    at: datetime
    shelves: tuple[Shelf, ...]
    lapsing: tuple[Thing, ...]
    lapsed: tuple[Thing, ...]


def stock(clinic: Clinic, now: datetime, place: str = "") -> Stock:
    """Everything not retired as it stands at *now*; nothing of this is kept anywhere."""
    house = clinic.house
    every = {stands.item: stands for stands in item_rows.standings(clinic.store)}
    rows = {row.tag: row for row in item_rows.items(clinic.store)}
    overdue = all_grounded(clinic, house.today(now))
    checks = lines_today(clinic, every.values(), now)
    ready = Readiness(clinic, now, checks, overdue)
    things = []
    for stands in every.values():
        if stands.opened is None and stands.type and (not place or stands.place == place):
            members = _members(clinic, stands, every)
            things.append(_thing(house, ready, stands, members, rows.get(stands.item), now))
    soon = now + timedelta(hours=house.rules(now).number("stock.lapses-within-hours"))
    return Stock(
        at=now,
        shelves=tuple(_shelves(house, things)),
        lapsing=tuple(t for t in things if t.lapses is not None and now < t.lapses <= soon),
        lapsed=tuple(t for t in things if t.lapses is not None and t.lapses <= now),
    )


def columns(shelf: Shelf) -> list[ItemField]:
    """What is kept of items and shown on this shelf, where one of them at least has it."""
    return [
        field
        for field in shown_on("stock")
        if any(getattr(item.row, field.name) for item in shelf.things)
    ]


def thing(clinic: Clinic, tag: str, now: datetime) -> Thing | None:
    """One thing as it stands at *now*, None if nothing goes by that tag."""
    stands = item_rows.standing_of(clinic.store, tag)
    if stands is None:
        return None
    ready = Readiness(clinic, now)
    row = item_rows.item_row(clinic.store, tag)
    return _thing(clinic.house, ready, stands, ready.members(stands), row, now)


def _thing(
    house: House,
    ready: Readiness,
    stands: Standing,
    members: Sequence[Member],
    row: ItemRow | None,
    now: datetime,
) -> Thing:
    kind, asking = house.kind(stands.type), ready.asking(stands)
    reasons = [
        why
        for why in ready.why_not_use(stands, members, asking)
        if why.code not in ("in-a-pack", "which-patient")
    ]
    done = what_makes_fit(stands, kind, members, now, house.zone)
    lapses = None
    if done is not None and not stands.pack:
        lapses = lapse(stands, kind, done, asking)
    elif stands.declared is not None and stands.soiling is None and gate_step(kind):
        lapses = declared_lapse(stands.declared, kind, asking)
    return Thing(
        row=row or ItemRow(stands.item, stands.type),
        round=where_in_round(stands, kind, reasons, now),
        place=house.place_name(stands.place),
        held=bool(stands.quarantines or contents_of(stands).searches),
        reasons=tuple(reasons),
        lapses=lapses,
        uses=stands.uses,
        pack=stands.pack,
    )


def where_in_round(stands: Standing, kind: ItemType, reasons: Sequence[Why], now: datetime) -> str:
    """The word for where it is. Quarantine stands beside it, not instead of it."""
    codes = {why.code for why in reasons}
    if stands.where != "here":
        return stands.where
    if "load-not-released" in codes:
        return "to be released"
    if stands.load or {"load-failed", "load-undecided", "load-refused", "still-wet"} & codes:
        return "in process"
    if kind.holds == "use" and stands.soiling and not proof(stands, kind, now) and kind.route:
        if stands.done:
            return "in process"
        unfinished = stands.soiling.use and stands.soiling.ended is None
        return "in use" if unfinished else "soiled"
    # Quarantine, upkeep and checks stand beside where it is in its round and do not move it.
    moved_by = {why.code for why in reasons if why.fault not in ("upkeep", "session")}
    if moved_by - {"quarantined", "piece-missing"}:
        return "soiled" if "never-processed" not in codes else "in process"
    return "ready"


def _members(clinic: Clinic, stands: Standing, every: Mapping[str, Standing]) -> list[Member]:
    """What a pack or a set holds, what was retired since included."""
    gone = [tag for tag in stands.members if tag not in every]
    late = {one.item: one for one in item_rows.standings(clinic.store, gone)} if gone else {}
    found = (every.get(tag) or late.get(tag) for tag in stands.members)
    return [(one, clinic.house.kind(one.type)) for one in found if one is not None]


def _shelves(house: House, things: Iterable[Thing]) -> list[Shelf]:
    by_type: dict[str, list[Thing]] = {}
    for one in things:
        by_type.setdefault(one.type, []).append(one)
    shelves = [Shelf(code, house.kind(code).name, tuple(found)) for code, found in by_type.items()]
    return sorted(shelves, key=lambda shelf: shelf.name)
