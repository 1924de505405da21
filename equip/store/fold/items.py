"""Where each item stands: its facts folded so far, one step on with every entry about it.

A fact that happened before what an item already stands at, a withdrawal, a move to another
patient and what a lot holds, told later, fold that item again from its first entry; everything
else is one step on from the row that is there. What met whom, and what brings duties on, is told
on the way.
"""

from collections.abc import Sequence
from dataclasses import replace

import msgspec

from equip import facts
from equip.facts import ItemType, micros
from equip.rules.fitness.standing import HANDLED, Standing, after, settled
from equip.store.database import Store
from equip.store.fold import contacts, counts
from equip.store.fold.changed import Changed
from equip.store.ledger.about import in_time, told_about
from equip.store.ledger.ledger import Entry

_REWRITES = (facts.Withdrawn, facts.MovedToPatient, facts.LotDescribed)

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
type_from = msgspec.json.Decoder(ItemType).decode
_encode = msgspec.json.Encoder(order="sorted").encode

Named = tuple[Entry, tuple[str, ...]]
"""An entry, and the subjects that it names."""


def is_item(subject: str) -> bool:
    """Whether a subject is the tag of something that can stand somewhere."""
    return len(subject) == 10 and subject[0] in "EDPS" and subject[1:9].isdigit()


def fold_items(store: Store, named: Sequence[Named], changed: Changed) -> None:
    """Bring every item that an entry names up to date; note in *changed* who met whom."""
    touched: dict[str, list[Entry]] = {}
    for entry, subjects in named:
        if type(entry.fact) in HANDLED or isinstance(entry.fact, _REWRITES):
            for subject in subjects:
                if is_item(subject):
                    touched.setdefault(subject, []).append(entry)
    for item, entries in touched.items():
        _restand(store, item, entries, changed)


def _restand(store: Store, item: str, entries: Sequence[Entry], changed: Changed) -> None:
    row = store.one("SELECT state FROM standing WHERE item = ?", item)
    standing = _unknown(item, entries) if row is None else standing_from(row[0])
    entries = sorted(entries, key=in_time)
    late = standing.at is not None and entries[0].fact.at < standing.at
    if late or any(isinstance(entry.fact, _REWRITES) for entry in entries):
        standing = _from_nothing(store, item, changed)
    else:
        standing = _onward(store, standing, entries, changed)
    _keep_standing(store, standing)


def _from_nothing(store: Store, item: str, changed: Changed) -> Standing:
    contacts.forget(store, item, changed)
    counts.forget_work(store, item)
    entries = told_about(store, item)
    settled_facts = settled([entry.fact for entry in entries])
    standing = _onward(
        store,
        _unknown(item, entries),
        [replace(entries[index], fact=fact) for index, fact in settled_facts],
        changed,
    )
    counts.count_again(store, item)
    return standing


def _unknown(item: str, entries: Sequence[Entry]) -> Standing:
    """An item before its first entry. Its type is known from the start, so that a use counts which
    happened before it came on the register, and was told later."""
    added = (entry.fact for entry in entries if isinstance(entry.fact, facts.ItemAdded))
    return Standing(item=item, type=next((one.type for one in added if one.item == item), ""))


def _onward(
    store: Store, standing: Standing, entries: Sequence[Entry], changed: Changed
) -> Standing:
    worked: list[counts.Worked] = []
    contacts.know(store, standing.item, entries, changed)
    for entry in entries:
        before, standing = standing, after(standing, entry.fact)
        worked += counts.work_in(before, standing, entry.fact)
        if isinstance(entry.fact, contacts.KINDS) or contacts.undoes(before, standing):
            kind = _kind(store, standing.type, changed)
            contacts.keep(store, before, standing, kind, entry, changed)
    contacts.write(store, changed)
    if worked:
        counts.keep_work(store, worked)
        counts.count_again(store, standing.item)
    return standing


def _kind(store: Store, code: str, changed: Changed) -> ItemType | None:
    """A type, looked up once for all entries: types change before items are folded."""
    if code not in changed.types:
        changed.types[code] = type_of(store, code)
    return changed.types[code]


def _keep_standing(store: Store, standing: Standing) -> None:
    moves = (
        None if standing.at is None else micros(standing.at),
        standing.where,
        standing.place,
        len(standing.quarantines),
        _encode(standing),
    )
    looked_up_by = (standing.item, standing.type, standing.load, standing.pack)
    if not store.run(_UPDATE_STANDING, *moves, *looked_up_by):
        store.run(_INSERT_STANDING, *moves, *looked_up_by)


# Most facts leave type, load and pack as they are: then three indexes need not be written to.
_UPDATE_STANDING = (
    "UPDATE standing SET at = ?, whereabouts = ?, place = ?, held = ?, state = ?"
    " WHERE item = ? AND type = ? AND load = ? AND pack = ?"
)
_INSERT_STANDING = (
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
