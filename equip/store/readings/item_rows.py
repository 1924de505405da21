"""Items on the register: where each stands, what is kept of it."""

from collections.abc import Sequence
from dataclasses import dataclass, fields

from equip.rules.fitness.standing import Standing
from equip.store.database import Store, in_chunks
from equip.store.fold.items import standing_from


@dataclass(frozen=True, slots=True)
class ItemRow:
    """What the register keeps of an item, a column each; packs have a tag and a type alone."""

    tag: str
    type: str
    name: str = ""
    serial: str = ""


_ITEM = f"SELECT {', '.join(column.name for column in fields(ItemRow))} FROM item"


def standing_of(store: Store, item: str) -> Standing | None:
    row = store.one("SELECT state FROM standing WHERE item = ?", item)
    return None if row is None else standing_from(bytes(row[0]))


def standings(store: Store, only: Sequence[str] | None = None) -> list[Standing]:
    """Where everything stands that is not retired, or where those named stand."""
    if only is None:
        rows = store.rows("SELECT state FROM standing WHERE whereabouts <> 'retired' ORDER BY item")
        return [standing_from(bytes(row[0])) for row in rows]
    found = (standing_of(store, item) for item in only)
    return [standing for standing in found if standing is not None]


def standings_of_type(store: Store, code: str, most: int = 2**31) -> list[Standing]:
    """Where items of one type stand that are here and not kept back."""
    rows = store.rows(
        "SELECT state FROM standing WHERE type = ? AND whereabouts = 'here' AND held = 0"
        " ORDER BY item LIMIT ?",
        code,
        most,
    )
    return [standing_from(bytes(row[0])) for row in rows]


def all_of_type(store: Store, code: str) -> list[Standing]:
    """Where items of one type stand that are not retired."""
    rows = store.rows(
        "SELECT state FROM standing WHERE type = ? AND whereabouts <> 'retired' ORDER BY item", code
    )
    return [standing_from(bytes(row[0])) for row in rows]


def standings_held(store: Store) -> list[Standing]:
    """Where everything stands that is kept back."""
    rows = store.rows("SELECT state FROM standing WHERE held > 0 ORDER BY item")
    return [standing_from(bytes(row[0])) for row in rows]


def item_row(store: Store, tag: str) -> ItemRow | None:
    row = store.one(f"{_ITEM} WHERE tag = ?", tag)
    return None if row is None else ItemRow(*row)


def types_of(store: Store, tags: Sequence[str]) -> dict[str, str]:
    """The type's code of each of *tags* that is on the register."""
    found: dict[str, str] = {}
    for some in in_chunks(tags):
        marks = ", ".join("?" * len(some))
        rows = store.rows(f"SELECT tag, type FROM item WHERE tag IN ({marks})", *some)
        found.update((str(tag), str(code)) for tag, code in rows)
    return found


def items(store: Store) -> list[ItemRow]:
    """Everything on the register but packs, which come and go."""
    return [ItemRow(*row) for row in store.rows(f"{_ITEM} WHERE type <> 'pack' ORDER BY tag")]


def aliased(store: Store, text: str) -> str | None:
    row = store.one("SELECT item FROM alias WHERE text = ?", text)
    return None if row is None else str(row[0])


def aliases_of(store: Store, item: str) -> list[str]:
    return [r[0] for r in store.rows("SELECT text FROM alias WHERE item = ? ORDER BY text", item)]


def sites_of_things(store: Store) -> dict[str, str]:
    """The site of each item that has a duty."""
    rows = store.rows(
        "SELECT i.tag, i.site FROM item i WHERE EXISTS (SELECT 1 FROM duty d WHERE d.item = i.tag)"
    )
    return dict(rows)
