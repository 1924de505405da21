"""A slow second opinion of who was exposed: each gate asks each earlier step at asking time.

It reads the ledger from its first entry, knows no table and no row that is kept, and asks of every
decontamination only once the whole story is told: did each required step ahead of it happen since
the item was last soiled, and does what did that step count by all that is known today? It speaks
of instruments with a tag of their own; it ignores how sure an exposure is.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from equip import facts
from equip.facts import Fact, ItemType, RouteStep, read
from equip.store.database import Store

Pair = tuple[str, str, str]
_USUAL = "bacteria-viruses"
_OUTSIDE = ("loaned", "second-hand", "repaired")


@dataclass
class Told:
    """The ledger as one list of facts in order of happening, each with its path and number."""

    facts: list[tuple[datetime, int, str, Fact]] = field(default_factory=list)
    doubted: set[tuple[str, str]] = field(default_factory=set)


@dataclass
class Step:
    """Something that was done to one item since it was last soiled."""

    at: datetime
    until: datetime
    steps: tuple[str, ...]
    ref: str
    load: str
    good: bool
    stops: bool = True


def listen(store: Store) -> Told:
    """What the ledger says once what was taken back is left out and moved uses are moved."""
    rows = store.rows("SELECT site, position, body FROM ledger ORDER BY site, position")
    every = [(f"{site}/{position}", read(bytes(body))) for site, position, body in rows]
    gone = {fact.withdrawn for _, fact in every if isinstance(fact, facts.Withdrawn)}
    told = Told()
    for number, (path, fact) in enumerate(every):
        if fact.act not in gone:
            told.facts.append((fact.at, number, path, fact))
    told.facts.sort(key=lambda one: one[:2])
    cases: dict[str, set[tuple[str, str]]] = {}
    for _, fact in every:
        match fact:
            case facts.DoubtRaised():
                cases[fact.case] = {("", load) for load in fact.loads}
            case facts.DoubtScoped():
                gates = [tuple(gate.split(" ")) for gate in fact.gates]
                cases[fact.case] = {("", load) for load in fact.loads}
                cases[fact.case] |= {(gate[0], gate[-1]) for gate in gates}
            case facts.DoubtDecided(unfounded=True):
                cases[fact.case] = set()
            case _:
                pass
    told.doubted = {gate for held in cases.values() for gate in held}
    return told


def exposed(store: Store, types: dict[str, ItemType], loads: Collection[str] = ()) -> set[Pair]:
    """Every item, use and source that is open, with *loads* in doubt as well."""
    told = listen(store)
    told.doubted |= {("", load) for load in loads}
    return {
        (item, *pair)
        for item, kind in _items(told, types)
        if kind.contact != "neither" and kind.sort != "set"
        for pair in _swept(told, item, kind)
    }


def _items(told: Told, types: dict[str, ItemType]) -> Iterator[tuple[str, ItemType]]:
    for *_, fact in told.facts:
        if isinstance(fact, facts.ItemAdded) and fact.item[0] == "E":
            yield fact.item, types[fact.type]


def _swept(told: Told, item: str, kind: ItemType) -> set[tuple[str, str]]:
    """Uses and their sources: what is carried goes on until something effective is done to it.

    In one instant every use meets what was carried before and each other; a gate of that instant
    clears what was carried before, not that instant's uses.
    """
    met: dict[datetime, dict[str, str]] = {}
    for at, use, patient in _meetings(told, item):
        met.setdefault(at, {})[use] = patient
    cleared = set(_cleared(told, item, kind))
    carried: dict[str, str] = {}
    pairs: set[tuple[str, str]] = set()
    for at in sorted({*met, *cleared}):
        now = met.get(at, {})
        pairs |= {
            (use, source)
            for use, patient in now.items()
            for source, whom in {**carried, **now}.items()
            if patient and whom != patient
        }
        carried = {**({} if at in cleared else carried), **now}
    return pairs


def _meetings(told: Told, item: str) -> Iterator[tuple[datetime, str, str]]:
    """Each use of *item* once, and each coming from outside, which is of no patient ("")."""
    moved = {
        one.use: one.patient for *_, one in told.facts if isinstance(one, facts.MovedToPatient)
    }
    used: set[str] = set()
    for at, _, path, fact in told.facts:
        match fact:
            case facts.Used() if item in (fact.item, *fact.covers) and fact.use not in used:
                used.add(fact.use)
                yield at, fact.use, moved.get(fact.use, fact.patient)
            case facts.ItemAdded() | facts.Arrived() if fact.item == item:
                if fact.arrival in _OUTSIDE:
                    yield at, path, ""
            case _:
                pass


def _cleared(told: Told, item: str, kind: ItemType) -> list[datetime]:
    """The moments at which everything that *item* carried was gone."""
    found = []
    for before, done in _gates(told, item):
        turns = [
            turn
            for turn, step in enumerate(kind.route)
            if _USUAL in step.stops and step.step in done.steps
        ]
        if not turns or not done.stops or not _counts(told, item, done):
            continue
        ahead = [
            step
            for step in kind.route[: turns[-1]]
            if step.required and step.step not in done.steps
        ]
        if all(any(_did(told, item, step, one) for one in before) for step in ahead):
            found.append(done.until)
    return found


def _did(told: Told, item: str, step: RouteStep, one: Step) -> bool:
    """Whether *one* did this step: it counts, and stops something if the step is there to."""
    enough = one.stops or _USUAL not in step.stops
    return step.step in one.steps and enough and _counts(told, item, one)


def _gates(told: Told, item: str) -> Iterator[tuple[list[Step], Step]]:
    """Each thing done to *item*, with what was done before it since it was last soiled."""
    since: list[Step] = []
    every: list[tuple[list[Step], Step]] = []
    for at, _, path, fact in told.facts:
        match fact:
            case facts.Used() if item in (fact.item, *fact.covers):
                since = _soiled(since, at)
            case facts.Marked() if item in (fact.item, *fact.covers):
                if fact.effect == "soil":
                    since = _soiled(since, at)
                elif fact.effect == "unpack":
                    since = [one for one in since if not {"pack", "sterilise"} & set(one.steps)]
            case facts.IndicatorNotTurned() if item in fact.covers:
                since = _soiled(since, at)
            case facts.ItemAdded() | facts.Arrived() if fact.item == item:
                if isinstance(fact, facts.Arrived) or fact.arrival in _OUTSIDE:
                    since = _soiled(since, at)
            case facts.LoadEnded() | facts.LoadTakenOver() if item in fact.covers:
                _cut_short(since, at)
                stops = _load_stops(told, fact.load)
                done = Step(at, at, fact.steps, fact.load, fact.load, good=True, stops=stops)
                every.append((list(since), done))
                since = [*since, done]
            case facts.Stepped() if item in (fact.item, *fact.covers):
                if fact.passed:
                    _cut_short(since, at)
                until = at + timedelta(seconds=fact.contact_s)
                good = fact.passed and not fact.unreleased
                if fact.step == "inspect" and not fact.passed:
                    continue
                stops = _USUAL in _by_hand(told, fact)
                done = Step(at, until, (fact.step,), path, "", good, stops)
                every.append((list(since), done))
                since = [*since, done]
            case facts.Packed() if item in fact.contents:
                _cut_short(since, at)
                since = [*since, Step(at, at, ("pack",), path, "", good=True)]
            case _:
                pass
    yield from every


def _by_hand(told: Told, step: facts.Stepped) -> tuple[str, ...]:
    """What the step stops, as it was told then, or as its lot was described later."""
    if step.stops is not None:
        return step.stops
    if step.step != "disinfect" or not step.contact_s:
        return ()
    described = {
        one.lot: one.stops for *_, one in told.facts if isinstance(one, facts.LotDescribed)
    }
    return next((described[lot] for lot in step.lots if lot in described), ())


def _load_stops(told: Told, load: str) -> bool:
    """What its programme stops, as its last judgement says; of one that says nothing, it does."""
    said = [fact for *_, fact in told.facts if isinstance(fact, facts.LoadJudged)]
    stops = [fact.stops for fact in said if fact.load == load]
    return not stops or stops[-1] is None or _USUAL in stops[-1]


def _soiled(since: Iterable[Step], at: datetime) -> list[Step]:
    _cut_short(since, at)
    return []


def _cut_short(since: Iterable[Step], at: datetime) -> None:
    for one in since:
        if at < one.until:
            one.good = False


def _counts(told: Told, item: str, done: Step) -> bool:
    """Whether it counts by all that is known today."""
    if {("", done.ref), (item, done.ref)} & told.doubted:
        return False
    if not done.load:
        return done.good
    verdict, released = "", False
    for *_, fact in told.facts:
        match fact:
            case facts.LoadTakenOver() if fact.load == done.load:
                return fact.verdict == "pass"
            case facts.LoadJudged() if fact.load == done.load:
                verdict = fact.verdict
            case facts.LoadReleased() if fact.load == done.load:
                if item not in fact.released:
                    return False
                released = True
            case facts.LoadRejected() if fact.load == done.load:
                return False
            case _:
                pass
    return verdict == "pass" and released
