"""What the register asks of an item and shows of it: each field once, for form, file and pages."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal, cast

from equip import typed
from equip.desk.act.act import Act, Refused
from equip.desk.clinic import House
from equip.desk.register import items
from equip.facts import Arrival, ItemType
from equip.store.database import Store
from equip.store.readings import item_rows

Page = Literal["register", "item", "stock"]
Control = Literal["", "line", "tag", "type", "arrival", "place", "day", "yes"]


@dataclass(frozen=True, slots=True)
class Asking:
    """The book that a text is read for, and the type of the item once it is known."""

    house: House
    store: Store
    kind: ItemType | None = None


def _as_it_is(text: str, asking: Asking) -> str:
    return text


@dataclass(frozen=True, slots=True)
class ItemField:
    """One field: its *name* in a file, in the form, in `ItemAdded` and in `ItemRow`.

    *control* is how the form asks for it, "" if it does not; *shown* are the pages that show what
    is kept of it. *read* turns text into what is told; what it refuses is one sentence.
    """

    name: str
    label: str
    control: Control = "line"
    hint: str = ""
    most: int = 120
    needed: bool = False
    shown: tuple[Page, ...] = ()
    read: Callable[[str, Asking], str] = _as_it_is


def _type(text: str, asking: Asking) -> str:
    for kind in asking.house.types.values():
        if text.lower() in (kind.code.lower(), kind.name.lower()):
            return kind.code
    known = ", ".join(sorted(asking.house.types))
    raise Refused(f"“{text}” is no type of this book: it has {known}.")


def _arrival(text: str, asking: Asking) -> str:
    arrival = text.lower().replace(" ", "-")
    if arrival not in items.ARRIVALS:
        raise Refused(f"“{text}” is no way to arrive: {', '.join(items.ARRIVALS)}.")
    return arrival


def _tag(text: str, asking: Asking) -> str:
    if not text:
        return ""
    try:
        tag = typed.tag(text)
    except typed.Mistyped as problem:
        raise Refused(str(problem)) from None
    if asking.kind is not None:
        items.check_tag(asking.store, asking.kind, tag)
    return tag


def _place(text: str, asking: Asking) -> str:
    if not text:
        return ""
    for place in asking.house.places.values():
        if text.lower() in (place.tag.lower(), place.name.lower()):
            return place.tag
    raise Refused(f"“{text}” is no place of this book: add it in Setup first.")


def _old_name(text: str, asking: Asking) -> str:
    if text and item_rows.aliased(asking.store, text) is not None:
        raise Refused(f"“{text}” is the old name of something on the register already.")
    return text


def _day(text: str, asking: Asking) -> str:
    if not text:
        return ""
    try:
        return typed.day(text).isoformat()
    except typed.Mistyped as problem:
        raise Refused(str(problem)) from None


def _yes(text: str, asking: Asking) -> str:
    if text.lower() not in ("", "yes", "no"):
        raise Refused(f"“{text}” was read for “sealed”: write yes, no or nothing.")
    return "yes" if text.lower() == "yes" else ""


def _set(text: str, asking: Asking) -> str:
    if not text:
        return ""
    store = asking.store
    row = item_rows.item_row(store, text) or item_rows.item_row(
        store, item_rows.aliased(store, text) or ""
    )
    if row is None or asking.house.kind(row.type).sort != "set":
        raise Refused(f"“{text}” is no set on the register: add the set first.")
    return row.tag


FIELDS = (
    ItemField("type", "Type", "type", needed=True, read=_type),
    ItemField("arrival", "How it comes", "arrival", needed=True, read=_arrival),
    ItemField("tag", "Tag", "tag", hint="(empty: the next one)", most=20, read=_tag),
    ItemField("name", "Name", hint="(size, shape)", shown=("register",)),
    ItemField("serial", "Serial number", most=80, shown=("register", "item", "stock")),
    ItemField("maker_code", "Maker’s code", most=200),
    ItemField("place", "Place", "place", read=_place),
    ItemField("old_name", "Old name", hint="(still found by it)", read=_old_name),
    ItemField("set", "Set", "", read=_set),
    ItemField(
        "decontaminated",
        "Last decontaminated",
        "day",
        hint="(taken over: the day; empty: today)",
        most=10,
        read=_day,
    ),
    ItemField("sealed", "Sealed in its pouch since", "yes", hint="(taken over)", read=_yes),
)
"""In the order of the form. A name stands beside the tag wherever it is not a column."""

_NOT_TOLD = ("type", "arrival", "tag", "old_name", "set", "decontaminated", "sealed")


def shown_on(page: Page) -> list[ItemField]:
    """The fields that a page shows."""
    return [field for field in FIELDS if page in field.shown]


@dataclass(frozen=True, slots=True)
class NewItem:
    """An item that can be put on the register; *told* are its plain fields."""

    kind: ItemType
    arrival: Arrival
    tag: str
    old_name: str
    set: str
    decontaminated: date | None
    sealed: bool
    told: dict[str, str]


def read_item(
    texts: Mapping[str, str], house: House, store: Store
) -> tuple[NewItem | None, list[str]]:
    """The item that *texts* tell, by the name of the field, and what is wrong with them."""
    values: dict[str, str] = {}
    problems: list[str] = []
    asking = Asking(house, store)
    for field in FIELDS:
        try:
            values[field.name] = field.read(texts.get(field.name, ""), asking)
            if field.name == "type":
                asking = Asking(house, store, house.types[values["type"]])
        except Refused as problem:
            problems.append(str(problem))
    kind = asking.kind
    if kind is not None and not kind.tagged:
        problems.insert(0, items.no_tag(kind))
    if kind is None or "arrival" not in values:
        return None, problems
    new = _new_item(kind, values)
    if new.arrival != "go-live" and (new.decontaminated is not None or new.sealed):
        problems.append(items.only_taken_over(new.arrival))
    return new, problems


def _new_item(kind: ItemType, values: Mapping[str, str]) -> NewItem:
    told = {name: value for name, value in values.items() if name not in _NOT_TOLD}
    return NewItem(
        kind,
        cast("Arrival", values["arrival"]),
        values.get("tag", ""),
        values.get("old_name", ""),
        values.get("set", ""),
        typed.day(values["decontaminated"]) if values.get("decontaminated") else None,
        values.get("sealed") == "yes",
        told,
    )


def put(act: Act, new: NewItem) -> str:
    """Put it on the register, and into its set; its tag."""
    aliases = (new.old_name,) if new.old_name else ()
    tag = items.add_item(
        act,
        new.kind,
        new.arrival,
        tag=new.tag,
        aliases=aliases,
        decontaminated=new.decontaminated,
        sealed=new.sealed,
        **new.told,
    )
    if new.set:
        items.join_new(act, new.set, tag)
    return tag
