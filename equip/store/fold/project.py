"""What the ledger adds up to: tables that can be thrown away and folded again at any time.

Entries are projected in the transaction that appends them. A fact that happened before what an
item already stands at, a withdrawal and a move to another patient re-fold that item from its
first entry; everything else is one step on from the row that is there.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

import msgspec

from equip import facts
from equip.facts import Fact, ItemType, micros
from equip.rules.fitness.standing import HANDLED, Standing, after, settled
from equip.rules.loads import load as loading
from equip.rules.loads.load import Load
from equip.store.database import Store, in_chunks
from equip.store.fold import contacts, counts, upkeep
from equip.store.fold.contacts import Changed
from equip.store.fold.exposures import refresh
from equip.store.fold.logs import LOG_KINDS, keep_load_log, project_logs
from equip.store.fold.lookback import project_doubts
from equip.store.fold.machines import keep_spores_of
from equip.store.fold.register import HOUSE_KINDS, add_old_names, project_house
from equip.store.fold.session import CHECK_KINDS, keep_checks
from equip.store.fold.uses import USE_KINDS, project_uses
from equip.store.ledger.about import told_about
from equip.store.ledger.ledger import Entry

_LOAD_KINDS = (
    facts.LoadOpened,
    facts.LoadAdded,
    facts.LoadTakenOut,
    facts.LotPut,
    facts.LoadStarted,
    facts.LoadEnded,
    facts.EvidenceConfirmed,
    facts.LoadJudged,
    facts.StagesCorrected,
    facts.LoadReleased,
    facts.LoadRejected,
    facts.IndicatorRead,
    facts.SporeTestPut,
    facts.SporeTestRead,
    facts.LoadTakenOver,
)
_REWRITES = (facts.Withdrawn, facts.MovedToPatient)
# The usual kinds, of which nothing is kept but where things stand, what met whom and the use.
_ONLY_ITEMS = (facts.Used, facts.UseBegun, facts.LoadTakenOver, facts.Stepped)

PACK = ItemType(
    code="pack",
    name="Pack",
    route=(
        facts.RouteStep(step="disinfect", stops=("bacteria-viruses",), required=False),
        facts.RouteStep(step="sterilise", stops=("bacteria-viruses", "spores")),
    ),
)
"""Every pack is of this type: it is fit once its load is released, until its time runs out."""

standing_from = msgspec.json.Decoder(Standing).decode
load_from = msgspec.json.Decoder(Load).decode
type_from = msgspec.json.Decoder(ItemType).decode
_encode = msgspec.json.Encoder(order="sorted").encode


def is_item(subject: str) -> bool:
    """Whether a subject is the tag of something that can stand somewhere."""
    return len(subject) == 10 and subject[0] in "EDPS" and subject[1:9].isdigit()


def project(store: Store, entries: Sequence[Entry]) -> None:
    """Bring every table up to date with *entries*, which are in the ledger already."""
    named = [(entry, facts.about(entry.fact)) for entry in entries]
    store.many(
        "INSERT INTO about (subject, at, site, position) VALUES (?, ?, ?, ?)"
        " ON CONFLICT DO NOTHING",
        # In the order of its index: rows that lie together are written together.
        sorted(_about(named)),
    )
    for entry in entries:
        if isinstance(entry.fact, _ONLY_ITEMS):
            continue
        if isinstance(entry.fact, HOUSE_KINDS):
            project_house(store, entry)
        elif isinstance(entry.fact, LOG_KINDS):
            project_logs(store, entry)
        elif isinstance(entry.fact, CHECK_KINDS):
            keep_checks(store, entry)
        elif isinstance(entry.fact, upkeep.KINDS):
            upkeep.project_duties(store, entry.fact)
        elif isinstance(entry.fact, facts.Withdrawn):
            store.run(
                "INSERT INTO withdrawn (act) VALUES (?) ON CONFLICT DO NOTHING",
                entry.fact.withdrawn,
            )
    taken_over = [e.fact for e in entries if isinstance(e.fact, facts.LoadTakenOver)]
    add_old_names(store, "load", [(fact.old, fact.load) for fact in taken_over if fact.old])
    project_uses(store, [e for e in entries if isinstance(e.fact, (*USE_KINDS, *_REWRITES))])
    changed = Changed()
    project_doubts(store, entries, changed)
    _project_items(store, named, changed)
    _project_loads(store, entries)
    refresh(store, changed)


Named = tuple[Entry, tuple[str, ...]]
"""An entry, and the subjects that it names."""


def _about(named: Iterable[Named]) -> Iterator[tuple[str, int, str, int]]:
    """A row for each subject that an entry names."""
    for entry, subjects in named:
        at = micros(entry.fact.at)
        for subject in subjects:
            yield subject, at, entry.site, entry.position


# --- items ----------------------------------------------------------------------------------


def _project_items(store: Store, named: Sequence[Named], changed: Changed) -> None:
    touched: dict[str, list[Entry]] = {}
    for entry, subjects in named:
        if type(entry.fact) in HANDLED or isinstance(entry.fact, _REWRITES):
            for subject in subjects:
                if is_item(subject):
                    touched.setdefault(subject, []).append(entry)
    for item, its in touched.items():
        _restand(store, item, its, changed)


def _restand(store: Store, item: str, entries: Sequence[Entry], changed: Changed) -> None:
    row = store.one("SELECT state FROM standing WHERE item = ?", item)
    stands = Standing(item=item) if row is None else standing_from(row[0])
    entries = sorted(entries, key=_in_time)
    late = stands.at is not None and entries[0].fact.at < stands.at
    if late or any(isinstance(entry.fact, _REWRITES) for entry in entries):
        stands = _from_nothing(store, item, changed)
    else:
        stands = _onward(store, stands, entries, changed)
    _keep_standing(store, stands)


def _in_time(entry: Entry) -> tuple[datetime, str, int]:
    """The order of the logbook: when it happened, then where it stands."""
    return entry.fact.at, entry.site, entry.position


def _from_nothing(store: Store, item: str, changed: Changed) -> Standing:
    contacts.forget(store, item, changed)
    counts.forget_work(store, item)
    entries = told_about(store, item)
    stand = settled([entry.fact for entry in entries])
    stands = _onward(
        store,
        Standing(item=item),
        [replace(entries[index], fact=fact) for index, fact in stand],
        changed,
    )
    counts.count_again(store, item)
    return stands


def _onward(store: Store, stands: Standing, entries: Sequence[Entry], changed: Changed) -> Standing:
    worked: list[counts.Worked] = []
    contacts.know(store, stands.item, entries, changed)
    for entry in entries:
        before, stands = stands, after(stands, entry.fact)
        worked += counts.work_in(before, stands, entry.fact)
        if isinstance(entry.fact, contacts.KINDS):
            kind = _kind(store, stands.type, changed)
            contacts.keep(store, before, stands, kind, entry, changed)
    contacts.write(store, changed)
    if worked:
        counts.keep_work(store, worked)
        counts.count_again(store, stands.item)
    return stands


def _kind(store: Store, code: str, changed: Changed) -> ItemType | None:
    """A type, looked up once for all entries: types change before items are folded."""
    if code not in changed.types:
        changed.types[code] = type_of(store, code)
    return changed.types[code]


def _keep_standing(store: Store, stands: Standing) -> None:
    moves = (
        None if stands.at is None else micros(stands.at),
        stands.where,
        stands.place,
        len(stands.quarantines),
        _encode(stands),
    )
    looked_up_by = (stands.item, stands.type, stands.load, stands.pack)
    if not store.run(_STANDS_ON, *moves, *looked_up_by):
        store.run(_STANDS_ANEW, *moves, *looked_up_by)


# Most facts leave type, load and pack as they are: then three indexes need not be written to.
_STANDS_ON = (
    "UPDATE standing SET at = ?, whereabouts = ?, place = ?, held = ?, state = ?"
    " WHERE item = ? AND type = ? AND load = ? AND pack = ?"
)
_STANDS_ANEW = (
    "INSERT INTO standing (at, whereabouts, place, held, state, item, type, load, pack)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (item) DO UPDATE SET"
    " at = excluded.at, whereabouts = excluded.whereabouts, place = excluded.place,"
    " held = excluded.held, state = excluded.state, type = excluded.type,"
    " load = excluded.load, pack = excluded.pack"
)


def type_of(store: Store, code: str) -> ItemType | None:
    """The type of that code, the pack's own included."""
    if code == PACK.code:
        return PACK
    row = store.one("SELECT body FROM itemtype WHERE code = ?", code)
    return None if row is None else type_from(row[0])


# --- loads ----------------------------------------------------------------------------------


def _project_loads(store: Store, entries: Sequence[Entry]) -> None:
    touched: dict[str, list[Fact]] = {}
    for entry in sorted(entries, key=_in_time):
        fact = entry.fact
        if isinstance(fact, _LOAD_KINDS):
            touched.setdefault(fact.load, []).append(fact)
        elif isinstance(fact, facts.Withdrawn):
            for subject in fact.covers:
                if subject[0] == "L" and len(subject) == 10:
                    touched.setdefault(subject, []).append(fact)
    before = _loads_before(store, list(touched))
    rows = [_reloaded(store, before.get(load), load, told) for load, told in touched.items()]
    store.many(_LOAD_STANDS, [row for row in rows if row[4] != _NEVER_OPENED])
    gone = [(load,) for load, *_, stage, _, _ in rows if stage == _NEVER_OPENED]
    store.many("DELETE FROM load WHERE tag = ?", gone)


def _loads_before(store: Store, loads: Sequence[str]) -> dict[str, Load]:
    found: dict[str, Load] = {}
    for some in in_chunks(loads):
        marks = ", ".join("?" * len(some))
        rows = store.rows(f"SELECT tag, state FROM load WHERE tag IN ({marks})", *some)
        found.update((tag, load_from(state)) for tag, state in rows)
    return found


_LOAD_STANDS = (
    "INSERT INTO load (tag, machine, cycle_no, at, stage, verdict, state)"
    " VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT (tag) DO UPDATE SET"
    " machine = excluded.machine, cycle_no = excluded.cycle_no, at = excluded.at,"
    " stage = excluded.stage, verdict = excluded.verdict, state = excluded.state"
)


def _reloaded(
    store: Store, before: Load | None, load: str, told: Sequence[Fact]
) -> tuple[Any, ...]:
    """The row of a load once *told* has happened to it; its log and spore tests are kept."""
    stands = before or Load(load=load)
    had_spores, had_log = bool(stands.spores), bool(stands.log)
    late = stands.at is not None and told[0].at < stands.at
    if late or any(isinstance(fact, facts.Withdrawn) for fact in told):
        stands = loading.fold(load, [entry.fact for entry in told_about(store, load)])
    else:
        for fact in told:
            stands = loading.after(stands, fact)
    if had_log or stands.log:
        keep_load_log(store, load, stands.log)
    if had_spores or stands.spores:
        keep_spores_of(store, stands)
    return (
        load,
        stands.machine,
        stands.cycle_no,
        None if stands.opened is None else micros(stands.opened),
        _stage(stands),
        stands.verdict or "",
        _encode(stands),
    )


_NEVER_OPENED = "never opened"


def _stage(stands: Load) -> str:
    """What a load waits for; one whose opening was taken back is none."""
    if stands.past:
        return "past"
    return _NEVER_OPENED if stands.opened is None else stands.state
