"""Things on the register: where each stands, what it is called."""

from collections.abc import Sequence
from dataclasses import dataclass

from equip.rules.fitness.standing import Standing
from equip.store.database import Store, in_chunks
from equip.store.fold.items import standing_from


@dataclass(frozen=True, slots=True)
class ItemRow:
    tag: str
    type: str
    name: str
    serial: str


def standing_of(store: Store, item: str) -> Standing | None:
    row = store.one("SELECT state FROM standing WHERE item = ?", item)
    return None if row is None else standing_from(bytes(row[0]))


def standings(store: Store, only: Sequence[str] | None = None) -> list[Standing]:
    """Where everything stands that is not retired, or where those named stand."""
    if only is None:
        rows = store.rows("SELECT state FROM standing WHERE whereabouts <> 'retired' ORDER BY item")
        return [standing_from(bytes(row[0])) for row in rows]
    found = (standing_of(store, item) for item in only)
    return [stands for stands in found if stands is not None]


def standings_of_type(store: Store, code: str, most: int = 2**31) -> list[Standing]:
    """Where things of one type stand that are here and not kept back."""
    rows = store.rows(
        "SELECT state FROM standing WHERE type = ? AND whereabouts = 'here' AND held = 0"
        " ORDER BY item LIMIT ?",
        code,
        most,
    )
    return [standing_from(bytes(row[0])) for row in rows]


def all_of_type(store: Store, code: str) -> list[Standing]:
    """Where things of one type stand that are not retired."""
    rows = store.rows(
        "SELECT state FROM standing WHERE type = ? AND whereabouts <> 'retired' ORDER BY item", code
    )
    return [standing_from(bytes(row[0])) for row in rows]


def standings_held(store: Store) -> list[Standing]:
    """Where everything stands that is kept back."""
    rows = store.rows("SELECT state FROM standing WHERE held > 0 ORDER BY item")
    return [standing_from(bytes(row[0])) for row in rows]


def item_row(store: Store, tag: str) -> ItemRow | None:
    row = store.one("SELECT tag, type, name, serial FROM item WHERE tag = ?", tag)
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
    rows = store.rows("SELECT tag, type, name, serial FROM item WHERE type <> 'pack' ORDER BY tag")
    return [ItemRow(*row) for row in rows]


def aliased(store: Store, text: str) -> str | None:
    row = store.one("SELECT item FROM alias WHERE text = ?", text)
    return None if row is None else str(row[0])


def aliases_of(store: Store, item: str) -> list[str]:
    return [r[0] for r in store.rows("SELECT text FROM alias WHERE item = ? ORDER BY text", item)]


def sites_of_things(store: Store) -> dict[str, str]:
    """The site of each thing that has a duty."""
    rows = store.rows(
        "SELECT i.tag, i.site FROM item i WHERE EXISTS (SELECT 1 FROM duty d WHERE d.item = i.tag)"
    )
    return dict(rows)
