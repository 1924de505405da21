"""The names of a file of the past to tags: what the book knows, and what is made for the others.

An item, machine, pack or person that nobody knows is told as a fact the first time a line names it;
what it was called stays its alias.
"""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from equip import facts
from equip.desk.act.act import Act
from equip.desk.past.file import PastPlan, PastRow
from equip.desk.register import items
from equip.facts import ItemType, Loose, RouteStep
from equip.scan import next_tag
from equip.store.kept import counters
from equip.store.readings import item_rows, past_rows

_ROUTE = (
    RouteStep(step="clean"),
    RouteStep(step="disinfect", stops=("bacteria-viruses",), required=False),
    RouteStep(step="sterilise", stops=("bacteria-viruses", "spores")),
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
_SET = ItemType(code="set", name="Set", sort="set")


@dataclass(slots=True)
class PastNames:
    """What each name of the file stands for: kept from batch to batch, and added to.

    *made* are the items of *items* that were new, and *made_loads* the loads the file tells of.
    *counted* are the last tags given in this batch, by letter; *asked* the loads it asked for.
    """

    plan: PastPlan
    items: dict[str, str] = field(default_factory=dict)
    made: dict[str, str] = field(default_factory=dict)
    loads: dict[str, str] = field(default_factory=dict)
    made_loads: dict[str, str] = field(default_factory=dict)
    people: dict[str, str] = field(default_factory=dict)
    patients: dict[str, str] = field(default_factory=dict)
    types: dict[str, ItemType] = field(default_factory=dict)
    packs_told: set[str] = field(default_factory=set)
    counted: dict[str, str] = field(default_factory=dict)
    asked: set[str] = field(default_factory=set)


def begin_batch(act: Act, names: PastNames, batch: list[PastRow]) -> None:
    """Ask once, for all lines of a batch, for the patients and loads that are in the book."""
    names.counted.clear()
    used_on = (row.patient for row in batch if row.what == "use")
    fresh = dict.fromkeys(patient for patient in used_on if patient not in names.patients)
    names.patients.update(act.clinic.vault.tokens(list(fresh)))
    names.asked = {row.load for row in batch if row.load} - names.loads.keys()
    names.loads.update(past_rows.old_names(act.store, "load", sorted(names.asked)))


def end_batch(act: Act, names: PastNames) -> None:
    """Move the counters past every tag that was given in the batch."""
    for letter, tag in names.counted.items():
        counters.taken(act.store, tag)
        assert letter == tag[0]  # noqa: S101 — each letter counts its own


# --- items ----------------------------------------------------------------------------------


def item_tag(act: Act, names: PastNames, name: str) -> str:
    """The tag of an item of that name, made now if nobody knows it."""
    if tag := names.items.get(name) or _in_the_book(act, names, name):
        return tag
    plan = names.plan
    if name in plan.packs:
        return _bare_pack(act, names, name)
    if name in plan.sets:
        return _add(act, names, name, "S", _SET, plan.since[name])
    if name in plan.machines:
        return machine_tag(act, names, name)
    kind = _type_of(act, names, plan.kinds.get(name, ""), GENERAL)
    letter = {"machine": "D", "set": "S"}.get(kind.sort, "E")
    return _add(act, names, name, letter, kind, plan.since[name])


def machine_tag(act: Act, names: PastNames, name: str) -> str:
    """The tag of a machine of that name, made now if nobody knows it."""
    if tag := names.items.get(name) or _in_the_book(act, names, name):
        return tag
    plan = names.plan
    since = min(plan.machines[name], plan.since.get(name, plan.machines[name]))
    return _add(act, names, name, "D", _type_of(act, names, "", MACHINE), since)


def tell_pack(act: Act, names: PastNames, row: PastRow) -> None:
    """A pack is told with the first line that names it, in whatever order they stand."""
    if row.item in names.packs_told or item_rows.aliased(act.store, row.item) is not None:
        return
    names.packs_told.add(row.item)
    pack = _tag_for(act, names, "P", row.item)
    kind = _type_of(act, names, row.note, LOOSE)
    act.tell(
        facts.Packed,
        at=row.when,
        pack=pack,
        loose=(Loose(type=kind.code, count=names.plan.packs[row.item]),),
        load=load_tag(act, names, row.load),
        old=row.item,
    )


def _bare_pack(act: Act, names: PastNames, name: str) -> str:
    """A pack of which no line says how it was made: it was there already."""
    plan = names.plan
    if (made := plan.made_here.get(name)) is not None:
        tell_pack(act, names, made)
        return _tag_for(act, names, "P", name)
    pack = _tag_for(act, names, "P", name)
    kind = _type_of(act, names, plan.kinds.get(name, ""), LOOSE)
    _by_nobody(
        act,
        facts.Packed,
        at=plan.since[name],
        pack=pack,
        loose=(Loose(type=kind.code, count=plan.packs[name]),),
        old=name,
    )
    return pack


def _in_the_book(act: Act, names: PastNames, name: str) -> str:
    """The tag of what the book calls so, or whose tag the name is; "" if there is neither."""
    tag = item_rows.aliased(act.store, name)
    if not tag and len(name) == 10 and item_rows.item_row(act.store, name) is not None:
        tag = name
    if tag:
        names.items[name] = tag
    return tag or ""


def _add(
    act: Act, names: PastNames, name: str, letter: str, kind: ItemType, since: datetime
) -> str:
    tag = _tag_for(act, names, letter, name)
    _by_nobody(
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


def _type_of(act: Act, names: PastNames, note: str, otherwise: ItemType) -> ItemType:
    """The type that a note names; else the general one, defined when it is first needed."""
    wanted = _plain(note)
    for kind in (*act.house.types.values(), *names.types.values()) if wanted else ():
        fits = kind.tagged == otherwise.tagged or otherwise is GENERAL
        if fits and wanted in (_plain(kind.code), _plain(kind.name)):
            return kind
    if otherwise.code in act.house.types:
        return act.house.types[otherwise.code]
    if otherwise.code not in names.types:
        before, act.by = act.by, ""
        names.types[otherwise.code] = items.define_type(act, otherwise)
        act.told[-1] = facts.TypeDefined(
            at=min(names.plan.since.values(), default=act.at),
            by="",
            act=act.id,
            type=names.types[otherwise.code],
        )
        act.by = before
    return names.types[otherwise.code]


def _plain(text: str) -> str:
    return text.lower().replace("-", " ").strip()


# --- loads and people -----------------------------------------------------------------------


def load_tag(act: Act, names: PastNames, name: str) -> str:
    """The tag of a load of that name, given now if the book knows none."""
    if name not in names.loads:
        known = None if name in names.asked else past_rows.old_name(act.store, "load", name)
        names.loads[name] = known or _fresh(act, names, "L")
    return names.loads[name]


def badge_of(act: Act, names: PastNames, name: str, since: datetime) -> str:
    """The badge of a person of that name, added now if nobody knows them; "" for nobody."""
    if not name:
        return ""
    if name not in names.people:
        badge = past_rows.old_name(act.store, "person", name) or _staff_called(act, name)
        names.people[name] = badge or _add_person(act, names, name, since)
    return names.people[name]


def _staff_called(act: Act, name: str) -> str:
    """The badge of whoever works here and is called so, or has that badge; "" if not just one."""
    if name in act.house.staff:
        return name
    called = [person.tag for person in act.house.staff.values() if person.name == name]
    return called[0] if len(called) == 1 else ""


def _add_person(act: Act, names: PastNames, name: str, since: datetime) -> str:
    badge = _fresh(act, names, "B")
    _by_nobody(
        act,
        facts.PersonAdded,
        at=since,
        person=badge,
        name=name,
        role="nurse",
        active=False,
        old=name,
    )
    return badge


# --- tags -----------------------------------------------------------------------------------


def _tag_for(act: Act, names: PastNames, letter: str, name: str) -> str:
    if name not in names.items:
        names.items[name] = names.made[name] = _fresh(act, names, letter)
    return names.items[name]


def _fresh(act: Act, names: PastNames, letter: str) -> str:
    """A tag that was never given; the counter itself is moved once a batch."""
    if letter in names.counted:
        names.counted[letter] = next_tag(letter, int(names.counted[letter][1:9]))
    else:
        names.counted[letter] = counters.take(act.store, letter)
    return names.counted[letter]


def _by_nobody(act: Act, kind: type[facts.Fact], **fields: Any) -> None:
    """A fact that no person of the file told: the import itself did."""
    before, act.by = act.by, ""
    act.tell(kind, **fields)
    act.by = before
