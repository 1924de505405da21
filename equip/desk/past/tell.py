"""Lines of the past to facts, batch by batch: one small function for each sort of line.

LINES is the table of them. What earlier lines leave behind for later ones is a `SoFar`, which is
handed to each.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256

from equip import facts
from equip.desk.act.act import Act
from equip.desk.past.file import Change, PastPlan, PastRow
from equip.desk.past.names import (
    PastNames,
    badge_of,
    begin_batch,
    end_batch,
    item_tag,
    load_tag,
    machine_tag,
    tell_pack,
)
from equip.facts import Step, Told
from equip.rules.fitness.standing import settled
from equip.store.ledger.about import told_about
from equip.store.readings import use_rows

_BY_HEAT: tuple[Step, ...] = ("wipe", "clean", "rinse", "dry", "disinfect")
_BY_STEAM: tuple[Step, ...] = (*_BY_HEAT, "inspect", "pack", "sterilise")

# What stands first in one instant: names, sets, packs made, loads, then uses and what follows.
_RANK: dict[type[facts.Fact], int] = {
    facts.TypeDefined: 0,
    facts.PersonAdded: 0,
    facts.ItemAdded: 1,
    facts.Joined: 2,
    facts.Packed: 3,
    facts.LoadTakenOver: 4,
    facts.UseBegun: 5,
    facts.Used: 6,
    facts.Left: 8,
}


@dataclass(slots=True)
class SoFar:
    """What lines told already, kept from batch to batch, and added to.

    *after* is the last line that an earlier import of this file told. *uses* are the numbers of
    uses by patient and moment, *begun* those that are in the book, *used* what was used in each;
    *changes* who joined and left a set by the book.
    """

    names: PastNames
    after: int
    uses: dict[tuple[str, datetime], str] = field(default_factory=dict)
    begun: set[str] = field(default_factory=set)
    used: set[tuple[str, str]] = field(default_factory=set)
    changes: dict[str, list[Change]] = field(default_factory=dict)


def begin(plan: PastPlan, after: int) -> SoFar:
    """Where telling begins: no name looked up, nothing told beyond line *after*."""
    return SoFar(PastNames(plan), after)


def tell(act: Act, so_far: SoFar, batch: list[PastRow]) -> None:
    """Tell the lines of *batch* in *act*, in the order in which they happened."""
    begin_batch(act, so_far.names, batch)
    _look_up_uses(act, so_far, batch)
    for row in batch:
        act.by = badge_of(act, so_far.names, row.who, row.when)
        LINES[row.what](act, so_far, row)
    act.told.sort(key=lambda fact: (fact.at, _RANK.get(type(fact), 7)))
    end_batch(act, so_far.names)


def _look_up_uses(act: Act, so_far: SoFar, batch: list[PastRow]) -> None:
    """Ask once which uses of a batch are in the book already."""
    fresh = {(row.patient, row.when) for row in batch if row.what == "use"} - so_far.uses.keys()
    patients = so_far.names.patients
    found = {(patient, when): _use_id(patients[patient], when) for patient, when in fresh}
    so_far.uses.update(found)
    so_far.begun |= use_rows.uses_known(act.store, list(found.values()))


def _use_id(token: str, when: datetime) -> str:
    return f"past-{sha256(f'{token} {when.isoformat()}'.encode()).hexdigest()[:20]}"


# --- uses and loads -------------------------------------------------------------------------


def _use(act: Act, so_far: SoFar, row: PastRow) -> None:
    use = _use_of(act, so_far, row)
    item = item_tag(act, so_far.names, row.item)
    if (use, item) in so_far.used:
        return
    so_far.used.add((use, item))
    act.tell(
        facts.Used,
        at=row.when,
        use=use,
        item=item,
        patient=so_far.names.patients[row.patient],
        covers=_members(act, so_far, row),
    )


def _use_of(act: Act, so_far: SoFar, row: PastRow) -> str:
    """One patient, one moment: the use that all its lines belong to."""
    key = (row.patient, row.when)
    use = so_far.uses[key]
    if use not in so_far.begun:
        so_far.begun.add(use)
        ears = {ear for ear in so_far.names.plan.ears[key] if ear}
        ear = "both" if len(ears) > 1 else next(iter(ears), "")
        token = so_far.names.patients[row.patient]
        act.tell(facts.UseBegun, at=row.when, use=use, patient=token, ear=ear)
    return use


def _load(act: Act, so_far: SoFar, row: PastRow) -> None:
    """A load is told whole with its first line that was not told yet."""
    names = so_far.names
    if row.load in names.made_loads and row.line > so_far.after:
        return
    rows = names.plan.loads[row.load]
    if rows[0].line != row.line and rows[0].line > so_far.after:
        return
    load = load_tag(act, names, row.load)
    names.made_loads[row.load] = load
    covers: list[str] = []
    for content in rows:
        if content.line > so_far.after:
            covers += [item_tag(act, names, content.item), *_members(act, so_far, content)]
    act.tell(
        facts.LoadTakenOver,
        at=row.when,
        load=load,
        machine=machine_tag(act, names, row.machine) if row.machine else "",
        programme=row.programme,
        steps=_BY_HEAT if row.programme.startswith("thermal") else _BY_STEAM,
        verdict=row.verdict,
        covers=tuple(dict.fromkeys(covers)),
        hands=tuple(dict.fromkeys(badge_of(act, names, r.who, r.when) for r in rows if r.who)),
        old=row.load,
    )


def _packed(act: Act, so_far: SoFar, row: PastRow) -> None:
    tell_pack(act, so_far.names, row)


# --- what happened to one item --------------------------------------------------------------


def _test(act: Act, so_far: SoFar, row: PastRow) -> None:
    act.tell(
        facts.MachineTested,
        at=row.when,
        machine=machine_tag(act, so_far.names, row.machine),
        test=row.note or "brought-in",
        verdict=row.verdict or "undecided",
        note="brought in from the time before this book",
    )


def _quarantine(act: Act, so_far: SoFar, row: PastRow) -> None:
    why = Told(code="brought-in", says=row.note or "in quarantine before this book")
    item = item_tag(act, so_far.names, row.item)
    act.tell(facts.Quarantined, at=row.when, item=item, why=why)


def _lift(act: Act, so_far: SoFar, row: PastRow) -> None:
    reason = row.note or "lifted before this book"
    item = item_tag(act, so_far.names, row.item)
    act.tell(facts.QuarantineLifted, at=row.when, item=item, reason=reason)


def _retire(act: Act, so_far: SoFar, row: PastRow) -> None:
    why = row.note or "retired before this book"
    item = item_tag(act, so_far.names, row.item)
    act.tell(facts.Retired, at=row.when, item=item, why=why)


# --- sets -----------------------------------------------------------------------------------


def _join(act: Act, so_far: SoFar, row: PastRow) -> None:
    into = item_tag(act, so_far.names, row.note)
    act.tell(facts.Joined, at=row.when, set=into, item=item_tag(act, so_far.names, row.item))


def _leave(act: Act, so_far: SoFar, row: PastRow) -> None:
    out_of = item_tag(act, so_far.names, row.note)
    act.tell(facts.Left, at=row.when, set=out_of, item=item_tag(act, so_far.names, row.item))


def _members(act: Act, so_far: SoFar, row: PastRow) -> tuple[str, ...]:
    """What was in the set at that moment, by the file and by what the book says of then.

    What the set holds now does not count: it may have come later, with a batch before.
    """
    tag = item_tag(act, so_far.names, row.item)
    if tag[0] != "S":
        return ()
    changes = [(*change, True) for change in so_far.names.plan.members.get(row.item, ())]
    changes += [(*change, False) for change in _changes_known(act, so_far, tag)]
    inside: dict[str, None] = {}
    for when, what, item, by_name in sorted(changes, key=_in_time):
        if when > row.when or (when == row.when and what == "leave"):
            continue
        member = item_tag(act, so_far.names, item) if by_name else item
        if what == "join":
            inside[member] = None
        else:
            inside.pop(member, None)
    return tuple(inside)


def _changes_known(act: Act, so_far: SoFar, tag: str) -> list[Change]:
    """What joined and left a set by the book, this file's earlier batches included or not."""
    if tag not in so_far.changes:
        told = [entry.fact for entry in told_about(act.store, tag)]
        so_far.changes[tag] = [
            (fact.at, "join" if isinstance(fact, facts.Joined) else "leave", fact.item)
            for _, fact in settled(told)
            if isinstance(fact, facts.Joined | facts.Left) and fact.set == tag
        ]
    return so_far.changes[tag]


def _in_time(change: tuple[datetime, str, str, bool]) -> tuple[datetime, bool]:
    return change[0], change[1] == "leave"


LINES: dict[str, Callable[[Act, SoFar, PastRow], None]] = {
    "use": _use,
    "load": _load,
    "packed": _packed,
    "test": _test,
    "quarantine": _quarantine,
    "lift": _lift,
    "join": _join,
    "leave": _leave,
    "retire": _retire,
}
"""What tells each sort of line, by the word of its column “what”."""
