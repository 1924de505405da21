"""Questions that the desk and the pages ask, each answered by one small dataclass or a list."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from equip.facts import ItemType, micros, moment
from equip.rules.loading import Load
from equip.rules.sheet import Done
from equip.rules.standing import Standing
from equip.store.database import Store
from equip.store.projections import load_from, standing_from, type_from


@dataclass(frozen=True, slots=True)
class SiteRow:
    code: str
    name: str
    zone: str
    book: str


@dataclass(frozen=True, slots=True)
class PlaceRow:
    tag: str
    name: str
    sort: str


@dataclass(frozen=True, slots=True)
class StaffRow:
    tag: str
    name: str
    role: str
    rights: frozenset[str]
    active: bool


@dataclass(frozen=True, slots=True)
class OverrideRow:
    rule: str
    value: str
    reason: str
    since: date
    who: str


@dataclass(frozen=True, slots=True)
class ItemRow:
    tag: str
    type: str
    name: str
    serial: str


@dataclass(frozen=True, slots=True)
class ActRow:
    """An act as it was answered: what was read (patients as tokens), and what was in hand after."""

    id: str
    bench: str
    seq: int
    at: datetime
    payload_hash: bytes
    reading: str
    answer: str
    context: str


@dataclass(frozen=True, slots=True)
class UseRow:
    id: str
    patient: str
    at: datetime
    finished: datetime | None
    who: str
    place: str
    ear: str
    soil: str


@dataclass(frozen=True, slots=True)
class TouchRow:
    """One thing in one use, with the gate before it or the reason why there is none."""

    item: str
    use: str
    at: datetime
    path: str
    what: str
    patient: str
    gate: str
    gap: str


@dataclass(frozen=True, slots=True)
class DutyRow:
    item: str
    duty: str
    anchor: date
    months: int
    days: int
    grounds: bool
    last_met: date | None
    next_due: date


@dataclass(frozen=True, slots=True)
class DoubtRow:
    case: str
    raised: datetime
    loads: tuple[str, ...]
    why: str
    who: str
    decided: datetime | None
    decision: str
    reason: str


# --- the house ------------------------------------------------------------------------------


def sites(store: Store) -> list[SiteRow]:
    return [
        SiteRow(*row) for row in store.rows("SELECT code, name, zone, book FROM site ORDER BY code")
    ]


def types(store: Store) -> dict[str, ItemType]:
    rows = store.rows("SELECT code, body FROM itemtype ORDER BY code")
    return {code: type_from(bytes(body)) for code, body in rows}


def places(store: Store) -> dict[str, PlaceRow]:
    rows = store.rows("SELECT tag, name, sort FROM place ORDER BY tag")
    return {row[0]: PlaceRow(*row) for row in rows}


def staff(store: Store) -> dict[str, StaffRow]:
    rows = store.rows("SELECT tag, name, role, rights, active FROM staff ORDER BY tag")
    return {
        tag: StaffRow(tag, name, role, frozenset(filter(None, rights.split(","))), bool(active))
        for tag, name, role, rights, active in rows
    }


def overrides(store: Store) -> list[OverrideRow]:
    rows = store.rows(
        "SELECT rule, value, reason, since, who FROM rule_override ORDER BY site, position"
    )
    return [OverrideRow(r[0], r[1], r[2], date.fromisoformat(r[3]), r[4]) for r in rows]


# --- items ----------------------------------------------------------------------------------


def standing_of(store: Store, item: str) -> Standing | None:
    row = store.one("SELECT state FROM standing WHERE item = ?", item)
    return None if row is None else standing_from(bytes(row[0]))


def standings(store: Store, only: Sequence[str] | None = None) -> list[Standing]:
    """Where everything stands that is not retired, or where those named stand."""
    if only is None:
        rows = store.rows("SELECT state FROM standing WHERE whereabouts <> 'retired' ORDER BY item")
        return [standing_from(bytes(row[0])) for row in rows]
    found = (standing_of(store, item) for item in only)
    return [stands for stands in found if stands is not None]


def standings_of_type(store: Store, code: str, most: int = 2**31) -> list[Standing]:
    """Where things of one type stand that are here and not kept back."""
    rows = store.rows(
        "SELECT state FROM standing WHERE type = ? AND whereabouts = 'here' AND held = 0"
        " ORDER BY item LIMIT ?",
        code,
        most,
    )
    return [standing_from(bytes(row[0])) for row in rows]


def item_row(store: Store, tag: str) -> ItemRow | None:
    row = store.one("SELECT tag, type, name, serial FROM item WHERE tag = ?", tag)
    return None if row is None else ItemRow(*row)


def items(store: Store) -> list[ItemRow]:
    """Everything on the register but packs, which come and go."""
    rows = store.rows("SELECT tag, type, name, serial FROM item WHERE type <> 'pack' ORDER BY tag")
    return [ItemRow(*row) for row in rows]


def aliased(store: Store, text: str) -> str | None:
    row = store.one("SELECT item FROM alias WHERE text = ?", text)
    return None if row is None else str(row[0])


def aliases_of(store: Store, item: str) -> list[str]:
    return [r[0] for r in store.rows("SELECT text FROM alias WHERE item = ? ORDER BY text", item)]


# --- acts -----------------------------------------------------------------------------------

_ACT = "SELECT id, bench, seq, at, payload_hash, reading, answer, context FROM act"


def _act(row: tuple[Any, ...] | None) -> ActRow | None:
    if row is None:
        return None
    act, bench, seq, at, payload_hash, reading, answer, context = row
    return ActRow(
        act, bench or "", seq or 0, moment(at), bytes(payload_hash), reading, answer, context
    )


def act_of(store: Store, act: str) -> ActRow | None:
    return _act(store.one(f"{_ACT} WHERE id = ?", act))


def last_act(store: Store, bench: str) -> ActRow | None:
    return _act(store.one(f"{_ACT} WHERE bench = ? ORDER BY seq DESC LIMIT 1", bench))


def recent_acts(store: Store, bench: str, most: int) -> list[ActRow]:
    rows = store.rows(f"{_ACT} WHERE bench = ? ORDER BY seq DESC LIMIT ?", bench, most)
    return [act for act in map(_act, rows) if act is not None]


def act_span(store: Store, act: str) -> tuple[str, int, int] | None:
    """Site, first and last position of what an act wrote; None if it wrote nothing."""
    row = store.one("SELECT site, first, last FROM act WHERE id = ?", act)
    if row is None or row[1] is None:
        return None
    return str(row[0]), int(row[1]), int(row[2])


# --- loads ----------------------------------------------------------------------------------


def load_of(store: Store, tag: str) -> Load | None:
    row = store.one("SELECT state FROM load WHERE tag = ?", tag)
    return None if row is None else load_from(bytes(row[0]))


def open_loads(store: Store) -> list[Load]:
    """Loads that wait for somebody: filling, running, to be judged or to be released."""
    rows = store.rows(
        "SELECT state FROM load WHERE stage IN ('filling', 'running', 'ended', 'judged')"
        " ORDER BY at DESC, tag DESC"
    )
    return [load_from(bytes(row[0])) for row in rows]


def load_on(store: Store, machine: str) -> Load | None:
    """The load that a machine is being filled with or is running now."""
    row = store.one(
        "SELECT state FROM load WHERE machine = ? AND stage IN ('filling', 'running')"
        " ORDER BY at DESC LIMIT 1",
        machine,
    )
    return None if row is None else load_from(bytes(row[0]))


def last_load(store: Store, machine: str) -> Load | None:
    """The newest load of a machine, whatever became of it."""
    row = store.one(
        "SELECT state FROM load WHERE machine = ? ORDER BY at DESC, tag DESC LIMIT 1", machine
    )
    return None if row is None else load_from(bytes(row[0]))


def recent_loads(store: Store, most: int, before: int | None = None) -> list[Load]:
    rows = store.rows(
        "SELECT state FROM load WHERE stage IN ('released', 'rejected') AND at < ?"
        " ORDER BY at DESC, tag DESC LIMIT ?",
        before if before is not None else 2**62,
        most,
    )
    return [load_from(bytes(row[0])) for row in rows]


def judged_loads(store: Store, machine: str, since: datetime, until: datetime) -> Iterator[Load]:
    """Judged loads of a machine opened from *since* up to *until*, one after the other."""
    tags = store.rows(
        "SELECT tag FROM load WHERE machine = ? AND at >= ? AND at < ? AND verdict <> ''"
        " ORDER BY at, tag",
        machine,
        micros(since),
        micros(until),
    )
    for (tag,) in tags:
        load = load_of(store, tag)
        if load is not None:
            yield load


def cycle_known(store: Store, machine: str, cycle_no: str, but: str) -> str | None:
    """Another load of this machine that has this cycle number already."""
    row = store.one(
        "SELECT tag FROM load WHERE machine = ? AND cycle_no = ? AND tag <> ? LIMIT 1",
        machine,
        cycle_no,
        but,
    )
    return None if row is None else str(row[0])


# --- uses -----------------------------------------------------------------------------------

_TOUCH = "SELECT item, use_id, at, site, position, what, patient, gate, gap FROM touch"


def _touch(row: tuple[Any, ...]) -> TouchRow:
    item, use, at, site, position, what, patient, gate, gap = row
    return TouchRow(item, use, moment(at), f"{site}/{position}", what, patient, gate, gap)


def use_of(store: Store, use: str) -> UseRow | None:
    row = store.one(
        "SELECT id, patient, at, finished, who, place, ear, soil FROM use WHERE id = ?", use
    )
    if row is None:
        return None
    finished = None if row[3] is None else moment(row[3])
    return UseRow(row[0], row[1], moment(row[2]), finished, *row[4:])


def touches_of(store: Store, item: str) -> list[TouchRow]:
    return [_touch(row) for row in store.rows(f"{_TOUCH} WHERE item = ? ORDER BY at", item)]


def touches_behind(store: Store, gate: str) -> list[TouchRow]:
    """Uses of things that this load made fit."""
    return [_touch(row) for row in store.rows(f"{_TOUCH} WHERE gate = ? ORDER BY at, item", gate)]


def touches_on(store: Store, patient: str) -> list[TouchRow]:
    """Everything that was used or opened on this patient."""
    rows = store.rows(f"{_TOUCH} WHERE patient = ? ORDER BY at, item", patient)
    return [_touch(row) for row in rows]


@dataclass(frozen=True, slots=True)
class Traceable:
    """How many uses stand on a released load or step, of how many."""

    traced: int
    uses: int

    @property
    def share(self) -> float | None:
        return self.traced / self.uses if self.uses else None


def traceable(store: Store) -> Traceable:
    row = store.one(
        "SELECT COUNT(*), COALESCE(SUM(CASE WHEN gap = '' THEN 1 ELSE 0 END), 0) FROM touch"
    )
    return Traceable(traced=int(row[1]), uses=int(row[0])) if row else Traceable(0, 0)


def gaps(store: Store, most: int = 200) -> list[TouchRow]:
    rows = store.rows(f"{_TOUCH} WHERE gap <> '' ORDER BY at DESC, item LIMIT ?", most)
    return [_touch(row) for row in rows]


# --- periodic tests -------------------------------------------------------------------------


def tests_of(store: Store, machine: str) -> list[Done]:
    """Every periodic test of a machine, oldest first."""
    rows = store.rows(
        "SELECT test, at, verdict, who, site, position FROM machine_test WHERE machine = ?"
        " ORDER BY at, site, position",
        machine,
    )
    return [
        Done(test, moment(at), verdict, who, f"{site}/{position}")
        for test, at, verdict, who, site, position in rows
    ]


def cycle_numbers(store: Store, machine: str) -> list[str]:
    """The machine's own numbers of the cycles that the book knows: loads and test cycles."""
    rows = store.rows(
        "SELECT cycle_no FROM load WHERE machine = ? AND cycle_no <> ''"
        " UNION SELECT cycle_no FROM machine_test WHERE machine = ? AND cycle_no <> ''",
        machine,
        machine,
    )
    return [row[0] for row in rows]


def signed_by(store: Store, machine: str, day: date) -> str:
    """Who signed a machine's sheet of that day, "" if nobody did."""
    row = store.one("SELECT who FROM sheet WHERE machine = ? AND day = ?", machine, day.isoformat())
    return "" if row is None else str(row[0])


def loads_since(store: Store, machine: str, since: datetime | None) -> list[Load]:
    """Released loads of a machine that were opened after *since*, oldest first."""
    rows = store.rows(
        "SELECT state FROM load WHERE machine = ? AND stage = 'released' AND at > ? ORDER BY at",
        machine,
        -1 if since is None else micros(since),
    )
    return [load_from(bytes(row[0])) for row in rows]


# --- upkeep and doubt -----------------------------------------------------------------------

_DUTY = "SELECT item, duty, anchor, months, days, grounds, last_met, next_due FROM duty"


def _duty(row: tuple[Any, ...]) -> DutyRow:
    item, duty, anchor, months, days, grounds, last_met, next_due = row
    return DutyRow(
        item,
        duty,
        date.fromisoformat(anchor),
        months,
        days,
        bool(grounds),
        None if last_met is None else date.fromisoformat(last_met),
        date.fromisoformat(next_due),
    )


def duties(store: Store, until: date | None = None) -> list[DutyRow]:
    """Duties of things not retired, soonest first."""
    last = "9999-12-31" if until is None else until.isoformat()
    rows = store.rows(
        f"{_DUTY} d WHERE next_due <= ? AND NOT EXISTS (SELECT 1 FROM standing s"
        " WHERE s.item = d.item AND s.whereabouts = 'retired') ORDER BY next_due, item, duty",
        last,
    )
    return [_duty(row) for row in rows]


def duties_of(store: Store, item: str) -> list[DutyRow]:
    return [_duty(row) for row in store.rows(f"{_DUTY} WHERE item = ? ORDER BY duty", item)]


def doubts(store: Store) -> list[DoubtRow]:
    rows = store.rows(
        "SELECT case_id, raised, loads, why, who, decided, decision, reason FROM doubt"
        " ORDER BY raised DESC"
    )
    return [
        DoubtRow(
            case,
            moment(raised),
            tuple(filter(None, loads.split(","))),
            why,
            who,
            None if decided is None else moment(decided),
            decision or "",
            reason or "",
        )
        for case, raised, loads, why, who, decided, decision, reason in rows
    ]
