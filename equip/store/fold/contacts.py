"""What happened to each item that bears on who met whom: uses, gates, arrivals, packs made.

A projection of the ledger, one narrow row for each, so that a question of exposure reads what it
touches and decodes no entry. Rows are kept as the items are folded; which uses are exposures or
gaps follows from them in `exposures`.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from equip import facts
from equip.facts import Hazard, ItemType, micros
from equip.rules.fitness.gates import gate_step, missing_steps, proof, unproven_steps
from equip.rules.fitness.standing import Done, Standing
from equip.rules.fitness.stopping import USUAL, meets_patients
from equip.rules.lookback.hazards import (
    could_stop,
    effect,
    holds,
    is_to_stop,
    rests_on,
    state_of,
)
from equip.rules.lookback.sweep import Contact, Effect
from equip.store.database import Store, in_chunks
from equip.store.ledger.ledger import Entry

KINDS = (
    facts.Used,
    facts.UseNoted,
    facts.LoadEnded,
    facts.LoadTakenOver,
    facts.Stepped,
    facts.LoadJudged,
    facts.LoadReleased,
    facts.LoadRejected,
    facts.ItemAdded,
    facts.Arrived,
    facts.Packed,
)
"""The kinds of fact that say something of who met whom."""

_ONLY_ADD = (
    facts.Used,
    facts.LoadEnded,
    facts.LoadTakenOver,
    facts.Stepped,
    facts.ItemAdded,
    facts.Arrived,
    facts.Packed,
)
_OUTSIDE = ("loaned", "second-hand", "repaired")
_FIRST_CHUNK, _MOST = 8, 256


@dataclass(slots=True)
class Changed:
    """What a transaction did to the contacts: the first and last moment that changed, by item.

    *waiting* are rows of one item that are made and not written yet, by sort and ref; they are
    written before anything else is asked of the table or changed in it.
    """

    since: dict[str, int] = field(default_factory=dict)
    until: dict[str, int] = field(default_factory=dict)
    uses: int = 0
    gaps: int = 0
    refolded: set[str] = field(default_factory=set)
    waiting: list[tuple[Any, ...]] = field(default_factory=list)
    known: set[str] = field(default_factory=set)
    types: dict[str, ItemType | None] = field(default_factory=dict)
    doubts: bool | None = None

    def at(self, item: str, moment: int) -> None:
        """Something of *item* changed at *moment* (µs)."""
        self.since[item] = min(moment, self.since.get(item, moment))
        self.until[item] = max(moment, self.until.get(item, moment))


def forget(store: Store, item: str, changed: Changed) -> None:
    """Take the item's rows away before it is folded again from its first entry."""
    first, uses, gaps = store.one(_SO_FAR, item) or (None, 0, 0)
    changed.refolded.add(item)
    if first is not None:
        changed.at(item, int(first))
    changed.uses -= int(uses)
    changed.gaps -= int(gaps)
    store.run("DELETE FROM touch WHERE item = ?", item)


def know(store: Store, item: str, entries: Sequence[Entry], changed: Changed) -> None:
    """Look up once which uses of *item* among *entries* have a row already."""
    uses = {entry.fact.use for entry in entries if isinstance(entry.fact, facts.Used)}
    changed.known = set()
    for some in in_chunks(sorted(uses)):
        marks = ", ".join("?" * len(some))
        sql = f"SELECT ref FROM touch WHERE item = ? AND sort = 'use' AND ref IN ({marks})"
        changed.known.update(row[0] for row in store.rows(sql, item, *some))


def write(store: Store, changed: Changed) -> None:
    """Write the rows that wait, in the order in which they were made."""
    if changed.waiting:
        store.many(_INSERT, changed.waiting)
        changed.waiting = []


_SO_FAR = (
    "SELECT MIN(at), COALESCE(SUM(CASE WHEN sort = 'use' THEN 1 ELSE 0 END), 0),"
    " COALESCE(SUM(gap), 0) FROM touch WHERE item = ?"
)


def keep(
    store: Store,
    before: Standing,
    after: Standing,
    kind: ItemType | None,
    entry: Entry,
    changed: Changed,
) -> None:
    """One fact more about an item: what it adds to the rows, or changes in them."""
    if kind is None or not _carries(after, kind):
        return
    fact = entry.fact
    if not isinstance(fact, _ONLY_ADD):
        write(store, changed)
    _void_cut_short(store, before, after, fact, changed)
    match fact:
        case facts.Used():
            _keep_use(store, before, kind, entry, fact, changed)
        case facts.UseNoted() if after.item in fact.opened:
            store.run(
                "UPDATE touch SET what = 'opened' WHERE item = ? AND sort = 'use' AND ref = ?",
                after.item,
                fact.use,
            )
        case facts.LoadEnded() | facts.LoadTakenOver() if after.item != fact.machine:
            _keep_gate(store, after, kind, entry, after.done[-1], fact.load, changed)
        case facts.Stepped() if after.done:
            done = after.done[-1]
            if is_to_stop(kind, done):
                _keep_gate(store, after, kind, entry, done, entry.path, changed)
        case facts.LoadJudged() | facts.LoadReleased() | facts.LoadRejected():
            _decide_gate(store, after.item, fact, changed)
            if isinstance(fact, facts.LoadJudged):
                _stop_as_judged(store, after, kind, fact.load, changed)
        case facts.ItemAdded() | facts.Arrived() if fact.arrival in _OUTSIDE:
            _keep(store, after.item, entry.path, "outside", entry, micros(fact.at), changed)
        case facts.Packed() if fact.pack == after.item:
            contents = sum(loose.count for loose in after.loose)
            at = micros(fact.at)
            _keep(store, after.item, fact.load, "made", entry, at, changed, contents=contents)
        case _:
            pass


def _void_cut_short(
    store: Store, before: Standing, after: Standing, fact: facts.Fact, changed: Changed
) -> None:
    """What was still wet when something else touched it did nothing: its row stands at its end."""
    for done in before.done:
        if done.contact_s and done.wet_at(fact.at) and done not in after.done:
            write(store, changed)
            end = micros(done.wet_until)
            changed.at(after.item, end)
            store.run(
                "UPDATE touch SET state = 'void' WHERE item = ? AND sort = 'gate' AND at = ?",
                after.item,
                end,
            )


def _carries(standing: Standing, kind: ItemType) -> bool:
    """A pump carries nothing; a set or a pack of tagged items carries what they carry."""
    if kind.contact == "neither" or kind.sort == "set":
        return False
    return standing.made is None or bool(standing.loose)


def _keep_use(
    store: Store,
    before: Standing,
    kind: ItemType,
    entry: Entry,
    used: facts.Used,
    changed: Changed,
) -> None:
    """One row for each item and use: what it was, and the gate that made it fit before."""
    what = "used" if used.item == before.item and not used.opened_only else "opened"
    again = before.soiling is not None and before.soiling.use == used.use
    gate, why_not = ("", "") if again else _proven(before, kind, used.at)
    changed.at(before.item, micros(used.at))
    if used.use not in changed.known:
        changed.known.add(used.use)
        changed.uses += 1
    place = (entry.site, entry.position)
    told = (what, used.patient, gate, why_not, 0, 0, "", 0, 0, "")
    changed.waiting.append((before.item, "use", used.use, micros(used.at), *place, *told))


# A use that is told again may only turn from opened to used; whatever else is told again stands.
_INSERT = (
    "INSERT INTO touch (item, sort, ref, at, site, position, what, patient, gate, why_not,"
    " whole, short, state, contents, doubt, rests, gap)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 0)"
    " ON CONFLICT (item, sort, ref) DO UPDATE SET"
    " what = CASE WHEN touch.what = 'used' THEN 'used' ELSE excluded.what END"
)


def _proven(standing: Standing, kind: ItemType, at: datetime) -> tuple[str, str]:
    """The gate that stands before a use, or why none does."""
    if gate_step(kind) is None and meets_patients(kind):
        return "", "nothing on the route of its type is an effective decontamination"
    if gate_step(kind) is None or (kind.reuse == "single-use" and standing.soiling is None):
        return "new", ""
    done = proof(standing, kind, at)
    if done is None:
        if standing.arrival == "go-live" and standing.soiling is None:
            return "", "declared fit on going live; no load of ours stands before it"
        return "", "no load or step that passed and was released stands before it"
    skipped = [*missing_steps(standing, kind, done.at), *standing.unsaid]
    if skipped:
        return "", f"nobody recorded {', '.join(skipped)} before it"
    if unproven_steps(standing, kind, done.at):
        return "", "a step before its last decontamination does not count, or did not yet"
    return done.load or f"by hand, {done.steps[0]}", ""


def _keep_gate(
    store: Store,
    standing: Standing,
    kind: ItemType,
    entry: Entry,
    done: Done,
    ref: str,
    changed: Changed,
) -> None:
    stops, rests = could_stop(kind, done), ""
    if stops:
        rests = rests_on(kind, standing, done)
    told = {one.load: one for one in standing.done}

    def counts(load: str) -> bool:
        if load not in told:
            return _load_counts(store, load)
        return told[load].counts and not _doubts(store, standing.item, load, changed)

    whole = stops if holds(rests, counts) else 0
    contents = sum(loose.count for loose in standing.loose)
    _keep(
        store,
        standing.item,
        ref,
        "gate",
        entry,
        micros(done.wet_until),
        changed,
        whole=whole,
        short=stops - whole,
        state=state_of(done),
        contents=contents,
        doubt=_doubts(store, standing.item, ref, changed),
        rests=rests,
    )


def _decide_gate(
    store: Store,
    item: str,
    fact: facts.LoadJudged | facts.LoadReleased | facts.LoadRejected,
    changed: Changed,
) -> None:
    """What a load did is known later than when it did it: the row stands at its end."""
    row = store.one(
        "SELECT at, state FROM touch WHERE item = ? AND sort = 'gate' AND ref = ?", item, fact.load
    )
    if row is None:
        return
    match fact:
        case facts.LoadJudged():
            state = "void" if fact.verdict == "fail" else str(row[1])
        case facts.LoadReleased():
            state = "proven" if item in fact.released else "void"
        case _:
            state = "void"
    if state != row[1]:
        changed.at(item, int(row[0]))
        store.run(
            "UPDATE touch SET state = ? WHERE item = ? AND sort = 'gate' AND ref = ?",
            state,
            item,
            fact.load,
        )
        rest_again(store, item, fact.load, changed)


def _stop_as_judged(
    store: Store, standing: Standing, kind: ItemType, load: str, changed: Changed
) -> None:
    """By what a load was run, and so what it stops, is known once it is judged."""
    row = store.one(
        "SELECT at, whole, short, rests FROM touch WHERE item = ? AND sort = 'gate' AND ref = ?",
        standing.item,
        load,
    )
    done = next((one for one in standing.done if one.load == load), None)
    if row is None or done is None:
        return
    stops = could_stop(kind, done)
    if stops != row[1] | row[2]:
        whole = holds(row[3], lambda one: _counts(store, standing.item, one))
        _set_stops(store, standing.item, load, stops if whole else 0, stops, changed, row[0])


def _set_stops(
    store: Store, item: str, ref: str, whole: int, stops: int, changed: Changed, at: int
) -> None:
    changed.at(item, int(at))
    store.run(
        "UPDATE touch SET whole = ?, short = ? WHERE item = ? AND sort = 'gate' AND ref = ?",
        whole,
        stops - whole,
        item,
        ref,
    )


def rest_again(store: Store, item: str, load: str, changed: Changed) -> None:
    """Whether *load* counts has changed: see anew which gates of *item* that rest on it hold."""
    for ref, at, whole, short, rests in store.rows(
        "SELECT ref, at, whole, short, rests FROM touch"
        " WHERE item = ? AND sort = 'gate' AND rests LIKE ? ORDER BY at, ref",
        item,
        f"%{load}%",
    ):
        stops = int(whole) | int(short)
        now = stops if holds(rests, lambda one: _counts(store, item, one)) else 0
        if now != whole:
            _set_stops(store, item, ref, now, stops, changed, at)


def packs_rest_again(store: Store, loads: Iterable[str], changed: Changed) -> None:
    """The same for packs of untagged contents that came out of *loads*."""
    for load in loads:
        packs = "SELECT item FROM touch WHERE ref = ? AND sort = 'made' ORDER BY item"
        for (pack,) in store.rows(packs, load):
            rest_again(store, pack, load, changed)


def _counts(store: Store, item: str, load: str, but: int = 0) -> bool:
    """Whether a load counts for *item* that later steps rest on; *but* so many cases of doubt."""
    row = store.one(
        "SELECT state, doubt FROM touch WHERE item = ? AND sort = 'gate' AND ref = ?", item, load
    )
    if row is None:
        return _load_counts(store, load, but)
    return row[0] == "proven" and row[1] <= but


def _load_counts(store: Store, load: str, but: int = 0) -> bool:
    """Whether a load as a whole was released and is in no doubt.

    Of what was brought in from the time before this book earlier steps are taken as done.
    """
    row = store.one("SELECT stage FROM load WHERE tag = ?", load)
    if row is None or row[0] != "released":
        return row is not None and row[0] == "past"
    doubts = store.one("SELECT COUNT(*) FROM in_doubt WHERE ref = ? AND item = ''", load)
    return doubts is None or int(doubts[0]) <= but


def _is_past(store: Store, load: str) -> bool:
    return store.one("SELECT 1 FROM load WHERE tag = ? AND stage = 'past'", load) is not None


def _doubts(store: Store, item: str, ref: str, changed: Changed) -> int:
    """How many cases hold this gate in doubt; that none holds anything is asked once."""
    if changed.doubts is None:
        changed.doubts = store.one("SELECT 1 FROM in_doubt LIMIT 1") is not None
    if not changed.doubts:
        return 0
    row = store.one("SELECT COUNT(*) FROM in_doubt WHERE ref = ? AND item IN ('', ?)", ref, item)
    return 0 if row is None else int(row[0])


def _keep(
    store: Store,
    item: str,
    ref: str,
    sort: str,
    entry: Entry,
    at: int,
    changed: Changed,
    *,
    whole: int = 0,
    short: int = 0,
    state: str = "",
    contents: int = 0,
    doubt: int = 0,
    rests: str = "",
) -> None:
    changed.at(item, at)
    told = ("", "", "", "", whole, short, state, contents, doubt, rests)
    changed.waiting.append((item, sort, ref, at, entry.site, entry.position, *told))


# --- reading ----------------------------------------------------------------------------------

_COLUMNS = (
    "SELECT at, item, sort, site, position, ref, patient, whole, short, state, doubt, contents,"
    " rests FROM touch"
)


@dataclass(frozen=True, slots=True)
class Doubted:
    """Gates that a question takes for nothing: whole loads, and single ones as (item, ref).

    *standing* says that a case holds them in doubt already: without the question's doubt they
    are what they are without that case's.
    """

    loads: frozenset[str] = frozenset()
    gates: frozenset[tuple[str, str]] = frozenset()
    standing: bool = False

    def __contains__(self, gate: tuple[str, str]) -> bool:
        return gate[1] in self.loads or gate in self.gates


class Contacts:
    """The history of who met whom as a question reads it: against a hazard, with gates in doubt."""

    def __init__(
        self, store: Store, hazard: Hazard = USUAL, doubted: Doubted | None = None
    ) -> None:
        self._store = store
        self._hazard: Hazard = hazard
        self._doubted = doubted or Doubted()
        self._bare: dict[Contact, Contact] = {}

    def after(self, item: str, at: int) -> Iterator[Contact]:
        yield from self._walk(item, at, "", "", ">", "")

    def before(self, item: str, at: int) -> Iterator[Contact]:
        yield from self._walk(item, at, "~", "~", "<", " DESC")

    def _walk(
        self, item: str, at: int, sort: str, ref: str, than: str, way: str
    ) -> Iterator[Contact]:
        """Chunk by chunk, each larger, so that whoever stops soon has read little."""
        chunk = _FIRST_CHUNK
        statement = (
            f"{_COLUMNS} WHERE item = ? AND at {than}= ? AND (at, sort, ref) {than} (?, ?, ?)"
            f" ORDER BY at{way}, sort{way}, ref{way} LIMIT ?"
        )
        while rows := self._store.rows(statement, item, at, at, sort, ref, chunk):
            for row in rows:
                yield self.contact(row)
            if len(rows) < chunk:
                return
            chunk = min(2 * chunk, _MOST)
            at, sort, ref = rows[-1][0], rows[-1][2], rows[-1][5]

    def into(self, load: str) -> list[Contact]:
        return self._with(load, "sort = 'gate' AND contents > 0")

    def out_of(self, load: str) -> list[Contact]:
        return self._with(load, "sort = 'made'")

    def gates_of(self, load: str) -> list[Contact]:
        """What *load* was to each item in it."""
        return self._with(load, "sort = 'gate'")

    def uses_on(self, patient: str) -> list[Contact]:
        """Everything that was used or opened on this patient."""
        rows = self._store.rows(f"{_COLUMNS} WHERE patient = ? ORDER BY at, item", patient)
        return [self.contact(row) for row in rows]

    def of(self, item: str) -> list[Contact]:
        """Everything of one item, in the order of a sweep: those of one instant by their entry."""
        rows = self._store.rows(f"{_COLUMNS} WHERE item = ?", item)
        return sorted(self.contact(row) for row in rows)

    def _with(self, ref: str, which: str) -> list[Contact]:
        if not ref:
            return []
        rows = self._store.rows(f"{_COLUMNS} WHERE ref = ? AND {which} ORDER BY at, item", ref)
        return [self.contact(row) for row in rows]

    def contact(self, row: Sequence[Any]) -> Contact:
        """The contact of a row, its effect as this question has it."""
        at, item, sort, site, position, ref, patient, whole, short, state, doubt, *more = row
        contents, rests = more
        does = ""
        if sort == "gate":
            does = effect(whole, short, "void" if doubt else state, self._hazard)
        found = Contact(at, item, sort, f"{site}/{position}", ref, patient, does, contents)  # type: ignore[arg-type]
        own = (item, ref) in self._doubted
        if does and (own or self._rests_on_doubt(item, rests)):
            bare, then = (self._holds(item, rests, asked) for asked in (False, True))
            stops = whole | short
            others = doubt - (self._doubted.standing if own else 0)
            without = "void" if others else state
            asked = "void" if own or doubt else state
            kept = found._replace(effect=_against(stops, bare, without, self._hazard))
            found = found._replace(effect=_against(stops, then, asked, self._hazard))
            if found != kept:
                self._bare[found] = kept
        return found

    def _rests_on_doubt(self, item: str, rests: str) -> bool:
        return any((item, load) in self._doubted for load in rests.replace(";", " ").split())

    def _holds(self, item: str, rests: str, asked: bool) -> bool:
        """Whether what a gate rests on holds: with the question's doubt (*asked*), or without."""

        def counts(load: str) -> bool:
            if (item, load) not in self._doubted or _is_past(self._store, load):
                return _counts(self._store, item, load)
            return not asked and _counts(self._store, item, load, int(self._doubted.standing))

        return holds(rests, counts)

    def without_doubt(self, contacts: Iterable[Contact]) -> list[Contact]:
        """The same *contacts*, in their order, as they are without this question's doubt."""
        return [self._bare.get(contact, contact) for contact in contacts]

    def gaps_in(self, contacts: Iterable[Contact]) -> list[Contact]:
        """Those of *contacts* that are uses with nothing known before them."""
        uses = [contact for contact in contacts if contact.what == "use"]
        moments: dict[str, list[int]] = {}
        for use in uses:
            moments.setdefault(use.item, []).append(use.at)
        found, known = [], set(uses)
        for item, at in moments.items():
            # By the index on item and at: where a past came in without its loads, gaps are many.
            sql = f"{_COLUMNS} WHERE item = ? AND at >= ? AND at <= ? AND gap + 0 = 1 ORDER BY at"
            rows = self._store.rows(sql, item, min(at), max(at))
            found += [self.contact(row) for row in rows]
        return [gap for gap in found if gap in known]


def _against(stops: int, rests_hold: bool, state: str, hazard: Hazard) -> Effect:
    return effect(stops if rests_hold else 0, 0 if rests_hold else stops, state, hazard)


def clears(contact: Contact) -> bool:
    """Whether a gate lets nothing through."""
    return contact.effect == "clears"
