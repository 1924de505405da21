"""What happened to each item that bears on who met whom: uses, gates, arrivals, packs made.

A projection of the ledger, one narrow row for each, so that a question of exposure reads what it
touches and decodes no entry. Rows are kept as the items are folded; which uses are exposures or
gaps follows from them in `exposures`.
"""

from collections.abc import Sequence
from datetime import datetime
from functools import partial

from equip import facts
from equip.facts import ItemType, micros
from equip.rules.fitness.gates import gate_step, missing_steps, proof, unproven_steps
from equip.rules.fitness.standing import Done, Standing
from equip.rules.fitness.stopping import meets_patients
from equip.rules.lookback.hazards import (
    could_stop,
    holds,
    is_to_stop,
    rests_on,
    state_of,
    stops_usual,
)
from equip.store.database import Store, in_chunks
from equip.store.fold.changed import Changed
from equip.store.fold.of_the_day import proven_today
from equip.store.fold.resting import counts_for, doubts, load_counts, rest_again, set_stops
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
"""The kinds of fact that say something of who met whom; see also `undoes`."""

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


def undoes(before: Standing, after: Standing) -> bool:
    """Whether something that was done to the item counts no longer, whatever kind of fact said it:
    a fall, an indicator that did not turn, a piece that was found again."""
    return bool(before.done) and after.done[: len(before.done)] != before.done


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
    if kind.holds == "day":
        gate, why_not = proven_today(store, before, kind, entry)
    else:
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

    def counts(load: str, must_stop: bool) -> bool:
        if load not in told:
            return load_counts(store, load)
        enough = not must_stop or stops_usual(could_stop(kind, told[load]))
        return enough and told[load].counts and not doubts(store, standing.item, load, changed)

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
        doubt=doubts(store, standing.item, ref, changed),
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
        whole = holds(row[3], partial(counts_for, store, standing.item))
        set_stops(store, standing.item, load, stops if whole else 0, stops, changed, row[0])
        rest_again(store, standing.item, load, changed)


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
