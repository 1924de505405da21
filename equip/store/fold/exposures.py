"""Which uses are exposures on present knowledge, which are gaps: kept with every entry.

An entry re-sweeps the segments it touches: an item's contacts between two gates that clear. Only
a load that mixes untagged contents and is no gate passes a change on, to the packs made out of
it. What no look-back has decided is open.
"""

from collections.abc import Iterable

from equip.rules.lookback.reach import upstream
from equip.rules.lookback.sweep import Contact, Exposure, sweep
from equip.store.database import Store
from equip.store.fold.changed import Changed
from equip.store.fold.exposure_text import from_whole, whole
from equip.store.fold.met import Contacts, clears

_EVER, _NEVER = 2**62, -(2**62)


def refresh(store: Store, changed: Changed) -> None:
    """Bring exposures, gaps and their tally up to date with what changed."""
    history = Contacts(store)
    seen: dict[str, tuple[int, int]] = {}
    waiting = sorted(
        ((at, item, changed.until[item]) for item, at in changed.since.items()), reverse=True
    )
    opened = exposed = 0
    while waiting:
        at, item, until = waiting.pop()
        if item in seen and seen[item][0] <= at and until <= seen[item][1]:
            continue
        seen[item] = (at, until)
        afresh = item in changed.refolded
        segment = history.of(item) if afresh else _segment(history, item, at, until)
        last = _EVER if afresh or not segment else segment[-1].at
        was, now = _retell(store, history, item, (at, last), segment)
        exposed += now[0] - was[0]
        opened += now[1] - was[1]
        changed.gaps += _mark_gaps(store, item, (at, last))
        waiting += [(made.at, made.item, made.at) for made in _passed_on(history, segment, at)]
    _count(store, uses=changed.uses, gaps=changed.gaps, exposed=exposed, open=opened)


def exposures_now(store: Store) -> list[Exposure]:
    """Every exposure on present knowledge, decided or not, by moment, item and use."""
    rows = store.rows(
        "SELECT item, ref, patient, at, certainty, whole FROM exposure ORDER BY at, item, ref"
    )
    large: dict[str, set[str]] = {}
    for item, ref, *_, kept in rows:
        if not kept:
            large.setdefault(item, set()).add(ref)
    anew = _found_anew(Contacts(store), large)
    return [from_whole(*row) if row[-1] else anew[row[0], row[1]] for row in rows]


def every_by(history: Contacts, item: str) -> list[Exposure]:
    """Every exposure by one item, as *history* has it."""
    return _exposed(history, item, _NEVER, history.of(item))


def _found_anew(history: Contacts, large: dict[str, set[str]]) -> dict[tuple[str, str], Exposure]:
    """Exposures with too many sources to be kept, by item and use."""
    return {
        (item, exposure.use): exposure
        for item, uses in large.items()
        for exposure in every_by(history, item)
        if exposure.use in uses
    }


def items_used(store: Store) -> list[str]:
    """Every item that met anybody."""
    rows = store.rows("SELECT DISTINCT item FROM touch WHERE sort = 'use' ORDER BY item")
    return [row[0] for row in rows]


def tallies(store: Store) -> dict[str, int]:
    """Uses, gaps, exposed and open ones, as they stand; one that is missing is none."""
    return {str(row[0]): int(row[1]) for row in store.rows("SELECT name, number FROM tally")}


def _segment(history: Contacts, item: str, at: int, until: int) -> list[Contact]:
    """From the gate before *at* that clears to the first one after *until*, with their instants."""
    behind: list[Contact] = []
    edge = None
    for contact in history.before(item, at):
        if edge is not None and contact.at < edge:
            break
        behind.append(contact)
        if contact.at < at and clears(contact):
            edge = contact.at
    edge = None
    for contact in history.after(item, at + 1):
        if edge is not None and contact.at > edge:
            break
        behind.append(contact)
        if contact.at > until and clears(contact):
            edge = contact.at
    return sorted(behind)


def _retell(
    store: Store, history: Contacts, item: str, span: tuple[int, int], segment: list[Contact]
) -> tuple[tuple[int, int], tuple[int, int]]:
    """Write an item's exposures in *span* anew; how many (and open ones) it had, and has."""
    at, last = span
    was = store.one(
        "SELECT COUNT(*), COALESCE(SUM(open), 0) FROM exposure"
        " WHERE item = ? AND at >= ? AND at <= ?",
        item,
        at,
        last,
    ) or (0, 0)
    if was[0]:
        store.run("DELETE FROM exposure WHERE item = ? AND at >= ? AND at <= ?", item, at, last)
    found = _exposed(history, item, at, segment)
    rows = [_row(store, exposure) for exposure in found]
    store.many(
        "INSERT INTO exposure (item, ref, at, patient, site, position, certainty, sources, whole,"
        " open) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        rows,
    )
    return (int(was[0]), int(was[1])), (len(rows), sum(row[-1] for row in rows))


def _exposed(history: Contacts, item: str, at: int, segment: list[Contact]) -> list[Exposure]:
    """The exposures of *item* in its segment, from *at* on."""
    loads = [contact.ref for contact in segment if contact.what == "made"]
    told: Iterable[Contact] = segment
    if loads:
        beside = [(gate.item, gate.at) for load in loads for gate in history.into(load)]
        told = sorted({*segment, *upstream(history, beside, clears)})
    return [exposure for exposure in sweep(told, since=at) if exposure.item == item]


def _row(
    store: Store, exposure: Exposure
) -> tuple[str, str, int, str, str, int, int, int, str, int]:
    site, _, position = exposure.entry.rpartition("/")
    decided = {
        row[0]
        for row in store.rows(
            "SELECT source FROM decided WHERE item = ? AND ref = ?", exposure.item, exposure.use
        )
    }
    is_open = any(source.use not in decided for source in exposure.sources)
    return (
        exposure.item,
        exposure.use,
        exposure.at,
        exposure.patient,
        site,
        int(position),
        int(exposure.certainty),
        len(exposure.sources),
        whole(exposure),
        int(is_open),
    )


def _mark_gaps(store: Store, item: str, span: tuple[int, int]) -> int:
    """A use with no source and no proven gate before it is a gap; how many more there are now."""
    at, last = span
    anchored = _anchored(store, item)
    met = store.rows(
        "SELECT ref FROM exposure WHERE item = ? AND at >= ? AND at <= ?", item, at, last
    )
    with_source = {row[0] for row in met}
    changes = []
    for ref, moment, gate, gap in store.rows(
        "SELECT ref, at, gate, gap FROM touch WHERE item = ? AND sort = 'use'"
        " AND at >= ? AND at <= ? ORDER BY at, ref",
        item,
        at,
        last,
    ):
        # In one instant the fold says whether the gate or the use came first.
        known = anchored is not None and (anchored <= moment if gate else anchored < moment)
        is_gap = int(gate != "new" and not known and ref not in with_source)
        if is_gap != gap:
            changes.append((is_gap, item, ref))
    store.many("UPDATE touch SET gap = ? WHERE item = ? AND sort = 'use' AND ref = ?", changes)
    return sum(1 if is_gap else -1 for is_gap, _, _ in changes)


def _anchored(store: Store, item: str, deep: int = 8) -> int | None:
    """Since when all that met the item is known: its first gate that clears, or, of a pack, that
    it was made of contents which were known. None if never."""
    row = store.one(
        "SELECT at FROM touch WHERE item = ? AND sort || '' = 'gate' AND state = 'proven'"
        " AND doubt = 0 AND whole & 1 <> 0 ORDER BY at LIMIT 1",
        item,
    )
    # The first is found at once by the index on item and at; by that on sort all would be read.
    since = None if row is None else int(row[0])
    made = store.one("SELECT at, ref FROM touch WHERE item = ? AND sort = 'made'", item)
    if made is None or not made[1] or deep == 0 or (since is not None and since < made[0]):
        return since
    into = Contacts(store).into(str(made[1]))
    known = [clears(gate) or _knows(store, gate, deep - 1) for gate in into]
    return int(made[0]) - 1 if known and all(known) else since


def _knows(store: Store, gate: Contact, deep: int) -> bool:
    """Whether all was known of what a pack held when it met a gate that cleared nothing."""
    since = _anchored(store, gate.item, deep)
    return since is not None and since < gate.at


def _passed_on(history: Contacts, segment: list[Contact], at: int) -> list[Contact]:
    """Packs that were made out of loads in which this item's untagged contents lay."""
    return [
        made
        for gate in segment
        if gate.what == "gate" and gate.contents and gate.at >= at
        for made in history.out_of(gate.ref)
    ]


def _count(store: Store, **more: int) -> None:
    for name, number in more.items():
        if number:
            store.run(
                "INSERT INTO tally (name, number) VALUES (?, ?) ON CONFLICT (name)"
                " DO UPDATE SET number = tally.number + excluded.number",
                name,
                number,
            )
    store.run("DELETE FROM tally WHERE number = 0")  # as if it had never been counted
