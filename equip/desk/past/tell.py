"""Lines of the past to facts, batch by batch: names that are not known yet are made."""

from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from typing import Any

from equip import facts
from equip.desk.act.act import Act
from equip.desk.clinic import Clinic
from equip.desk.past.file import PastRow
from equip.desk.past.plan import Change, Plan
from equip.desk.register import items
from equip.facts import ItemType, Loose, RouteStep, Step, Told
from equip.rules.fitness.standing import settled
from equip.scan import next_tag
from equip.store.kept import counters
from equip.store.ledger.about import told_about
from equip.store.readings import item_rows, past_rows, use_rows

_USUAL = ("bacteria-viruses", "spores")
_BY_HEAT: tuple[Step, ...] = ("wipe", "clean", "rinse", "dry", "disinfect")
_BY_STEAM: tuple[Step, ...] = (*_BY_HEAT, "inspect", "pack", "sterilise")
_ROUTE = (
    RouteStep(step="clean"),
    RouteStep(step="disinfect", stops=("bacteria-viruses",), required=False),
    RouteStep(step="sterilise", stops=_USUAL),  # type: ignore[arg-type]
)
GENERAL = ItemType(code="brought-in", name="Instrument brought in", route=_ROUTE)
LOOSE = ItemType(
    code="brought-in-loose", name="Untagged instrument brought in", tagged=False, route=_ROUTE
)
MACHINE = ItemType(
    code="brought-in-machine",
    name="Machine brought in",
    sort="machine",
    contact="neither",
)


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


@dataclass
class Teller:
    """Lines to facts, one batch after the other; remembers whom and what it has named."""

    clinic: Clinic
    plan: Plan
    after: int
    tokens: dict[str, str] = field(default_factory=dict)
    new_items: dict[str, str] = field(default_factory=dict)
    new_loads: dict[str, str] = field(default_factory=dict)
    _people: dict[str, str] = field(default_factory=dict)
    _known: dict[str, str] = field(default_factory=dict)
    _loads: dict[str, str] = field(default_factory=dict)
    _next: dict[str, str] = field(default_factory=dict)
    _looked_up: set[str] = field(default_factory=set)
    _uses: dict[tuple[str, datetime], str] = field(default_factory=dict)
    _begun: set[str] = field(default_factory=set)
    _types: dict[str, ItemType] = field(default_factory=dict)
    _told: set[tuple[str, str]] = field(default_factory=set)
    _packs_told: set[str] = field(default_factory=set)
    _changes: dict[str, list[Change]] = field(default_factory=dict)

    def tell(self, act: Act, batch: list[PastRow]) -> None:
        self._next.clear()
        self._look_up(act, batch)
        for row in batch:
            act.by = self._person(act, row.who, row.when)
            getattr(self, f"_{row.what}")(act, row)
        act.told.sort(key=lambda fact: (fact.at, _RANK.get(type(fact), 7)))
        for letter, tag in self._next.items():
            counters.taken(act.store, tag)
            assert letter == tag[0]  # noqa: S101 — each letter counts its own

    def _look_up(self, act: Act, batch: list[PastRow]) -> None:
        """Ask once, for all lines of a batch, for what is in the book already."""
        uses = [row for row in batch if row.what == "use"]
        fresh = dict.fromkeys(row.patient for row in uses if row.patient not in self.tokens)
        self.tokens.update(act.clinic.vault.tokens(list(fresh)))
        new = {(row.patient, row.when) for row in uses} - self._uses.keys()
        ids = {key: _use_id(self.tokens[key[0]], key[1]) for key in new}
        self._uses.update(ids)
        self._begun |= use_rows.uses_known(act.store, list(ids.values()))
        loads = {row.load for row in batch if row.load} - self._loads.keys()
        self._loads.update(past_rows.old_names(act.store, "load", sorted(loads)))
        self._looked_up = loads

    # --- what a line may say --------------------------------------------------------------

    def _use(self, act: Act, row: PastRow) -> None:
        token = self.tokens[row.patient]
        use = self._use_of(act, row, token)
        item = self._item(act, row.item)
        if (use, item) in self._told:
            return
        self._told.add((use, item))
        act.tell(
            facts.Used,
            at=row.when,
            use=use,
            item=item,
            patient=token,
            covers=self._members(act, row),
        )

    def _load(self, act: Act, row: PastRow) -> None:
        if row.load in self.new_loads and row.line > self.after:
            return  # told whole with its first line
        its = self.plan.loads[row.load]
        if its[0].line != row.line and its[0].line > self.after:
            return
        load = self._load_tag(act, row.load)
        self.new_loads[row.load] = load
        covers = []
        for one in its:
            if one.line > self.after:
                covers += [self._item(act, one.item), *self._members(act, one)]
        act.tell(
            facts.LoadTakenOver,
            at=row.when,
            load=load,
            machine=self._machine(act, row.machine) if row.machine else "",
            programme=row.programme,
            steps=_BY_HEAT if row.programme.startswith("thermal") else _BY_STEAM,
            verdict=row.verdict,
            covers=tuple(dict.fromkeys(covers)),
            hands=tuple(dict.fromkeys(self._person(act, o.who, o.when) for o in its if o.who)),
            old=row.load,
        )

    def _packed(self, act: Act, row: PastRow) -> None:
        """A pack is told with the first line that names it, in whatever order they stand."""
        if row.item in self._packs_told or item_rows.aliased(act.store, row.item) is not None:
            return
        self._packs_told.add(row.item)
        pack = self._tag_for(act, "P", row.item)
        count = self.plan.packs[row.item]
        act.tell(
            facts.Packed,
            at=row.when,
            pack=pack,
            loose=(Loose(type=self._type(act, row.note, LOOSE).code, count=count),),
            load=self._load_tag(act, row.load),
            old=row.item,
        )

    def _test(self, act: Act, row: PastRow) -> None:
        act.tell(
            facts.MachineTested,
            at=row.when,
            machine=self._machine(act, row.machine),
            test=row.note or "brought-in",
            verdict=row.verdict or "undecided",
            note="brought in from the time before this book",
        )

    def _quarantine(self, act: Act, row: PastRow) -> None:
        why = Told(code="brought-in", says=row.note or "in quarantine before this book")
        act.tell(facts.Quarantined, at=row.when, item=self._item(act, row.item), why=why)

    def _lift(self, act: Act, row: PastRow) -> None:
        reason = row.note or "lifted before this book"
        act.tell(facts.QuarantineLifted, at=row.when, item=self._item(act, row.item), reason=reason)

    def _retire(self, act: Act, row: PastRow) -> None:
        why = row.note or "retired before this book"
        act.tell(facts.Retired, at=row.when, item=self._item(act, row.item), why=why)

    def _join(self, act: Act, row: PastRow) -> None:
        act.tell(
            facts.Joined,
            at=row.when,
            set=self._item(act, row.note),
            item=self._item(act, row.item),
        )

    def _leave(self, act: Act, row: PastRow) -> None:
        act.tell(
            facts.Left, at=row.when, set=self._item(act, row.note), item=self._item(act, row.item)
        )

    # --- names ----------------------------------------------------------------------------

    def _item(self, act: Act, name: str) -> str:
        """The tag of an item of that name, made now if nobody knows it."""
        if name in self._known:
            return self._known[name]
        if (tag := item_rows.aliased(act.store, name)) or (tag := _as_tag(act, name)):
            self._known[name] = tag
            return tag
        if name in self.plan.packs:
            return self._bare_pack(act, name)
        if name in self.plan.sets:
            return self._add(act, name, "S", _SET, self.plan.since[name])
        if name in self.plan.machines:
            return self._machine(act, name)
        kind = self._type(act, self.plan.kinds.get(name, ""), GENERAL)
        letter = {"machine": "D", "set": "S"}.get(kind.sort, "E")
        return self._add(act, name, letter, kind, self.plan.since[name])

    def _machine(self, act: Act, name: str) -> str:
        if name in self._known:
            return self._known[name]
        if (tag := item_rows.aliased(act.store, name)) or (tag := _as_tag(act, name)):
            self._known[name] = tag
            return tag
        since = min(self.plan.machines[name], self.plan.since.get(name, self.plan.machines[name]))
        return self._add(act, name, "D", self._type(act, "", MACHINE), since)

    def _bare_pack(self, act: Act, name: str) -> str:
        """A pack of which no line says how it was made: it was there already."""
        if (made := self.plan.made_here.get(name)) is not None:
            self._packed(act, made)
            return self._tag_for(act, "P", name)
        pack = self._tag_for(act, "P", name)
        kind = self._type(act, self.plan.kinds.get(name, ""), LOOSE)
        self._by_nobody(
            act,
            facts.Packed,
            at=self.plan.since[name],
            pack=pack,
            loose=(Loose(type=kind.code, count=self.plan.packs[name]),),
            old=name,
        )
        return pack

    def _add(self, act: Act, name: str, letter: str, kind: ItemType, since: datetime) -> str:
        tag = self._tag_for(act, letter, name)
        self._by_nobody(
            act,
            facts.ItemAdded,
            at=since,
            item=tag,
            type=kind.code,
            arrival="go-live",
            name="" if letter == "E" else name,
            aliases=(name,),
        )
        return tag

    def _tag_for(self, act: Act, letter: str, name: str) -> str:
        if name not in self._known:
            self._known[name] = self.new_items[name] = self._fresh(act, letter)
        return self._known[name]

    def _load_tag(self, act: Act, name: str) -> str:
        if name not in self._loads:
            known = None if name in self._looked_up else past_rows.old_name(act.store, "load", name)
            self._loads[name] = known or self._fresh(act, "L")
        return self._loads[name]

    def _fresh(self, act: Act, letter: str) -> str:
        """A tag that was never given; the counter itself is moved once a batch."""
        if letter not in self._next:
            self._next[letter] = counters.take(act.store, letter)
        else:
            self._next[letter] = next_tag(letter, int(self._next[letter][1:9]))
        return self._next[letter]

    def _person(self, act: Act, name: str, since: datetime) -> str:
        if not name:
            return ""
        if name not in self._people:
            tag = past_rows.old_name(act.store, "person", name) or _badge_of(act, name)
            if not tag:
                tag = self._fresh(act, "B")
                self._by_nobody(
                    act,
                    facts.PersonAdded,
                    at=since,
                    person=tag,
                    name=name,
                    role="nurse",
                    active=False,
                    old=name,
                )
            self._people[name] = tag
        return self._people[name]

    def _type(self, act: Act, note: str, otherwise: ItemType) -> ItemType:
        """The type that a note names; else the general one, defined when it is first needed."""
        wanted = _plain(note)
        for kind in (*act.house.types.values(), *self._types.values()):
            fits = kind.tagged == otherwise.tagged or otherwise is GENERAL
            if wanted and fits and wanted in (_plain(kind.code), _plain(kind.name)):
                return kind
        if otherwise.code in act.house.types:
            return act.house.types[otherwise.code]
        if otherwise.code not in self._types:
            before, act.by = act.by, ""
            self._types[otherwise.code] = items.define_type(act, otherwise)
            act.told[-1] = facts.TypeDefined(
                at=min(self.plan.since.values(), default=act.at),
                by="",
                act=act.id,
                type=self._types[otherwise.code],
            )
            act.by = before
        return self._types[otherwise.code]

    def _use_of(self, act: Act, row: PastRow, token: str) -> str:
        """One patient, one moment: the use that all its lines belong to."""
        key = (row.patient, row.when)
        use = self._uses[key]
        if use not in self._begun:
            self._begun.add(use)
            ears = {ear for ear in self.plan.ears[key] if ear}
            ear = "both" if len(ears) > 1 else next(iter(ears), "")
            act.tell(facts.UseBegun, at=row.when, use=use, patient=token, ear=ear)
        return use

    def _members(self, act: Act, row: PastRow) -> tuple[str, ...]:
        """What was in the set at that moment, by the file and by what the book says of then.

        What the set holds now does not count: it may have come later, with a batch before.
        """
        of = self._item(act, row.item)
        if of[0] != "S":
            return ()
        changes = [(*one, True) for one in self.plan.members.get(row.item, ())]
        changes += [(*one, False) for one in self._known_of(act, of)]
        inside: dict[str, None] = {}
        for when, what, item, by_name in sorted(changes, key=_in_time):
            if when > row.when or (when == row.when and what == "leave"):
                continue
            tag = self._item(act, item) if by_name else item
            if what == "join":
                inside[tag] = None
            else:
                inside.pop(tag, None)
        return tuple(inside)

    def _known_of(self, act: Act, of: str) -> list[Change]:
        """What joined and left a set by the book, this file's earlier batches included or not."""
        if of not in self._changes:
            told = [entry.fact for entry in told_about(act.store, of)]
            self._changes[of] = [
                (fact.at, "join" if isinstance(fact, facts.Joined) else "leave", fact.item)
                for _, fact in settled(told)
                if isinstance(fact, facts.Joined | facts.Left) and fact.set == of
            ]
        return self._changes[of]

    def _by_nobody(self, act: Act, kind: type[facts.Fact], **fields: Any) -> None:
        before, act.by = act.by, ""
        act.tell(kind, **fields)
        act.by = before


def _in_time(change: tuple[datetime, str, str, bool]) -> tuple[datetime, bool]:
    return change[0], change[1] == "leave"


_SET = ItemType(code="set", name="Set", sort="set")


def _use_id(token: str, when: datetime) -> str:
    return f"past-{sha256(f'{token} {when.isoformat()}'.encode()).hexdigest()[:20]}"


def _plain(text: str) -> str:
    return text.lower().replace("-", " ").strip()


def _as_tag(act: Act, name: str) -> str:
    """*name* if it is the tag of something on the register."""
    return name if len(name) == 10 and item_rows.item_row(act.store, name) is not None else ""


def _badge_of(act: Act, name: str) -> str:
    if name in act.house.staff:
        return name
    named = [one.tag for one in act.house.staff.values() if one.name == name]
    return named[0] if len(named) == 1 else ""
