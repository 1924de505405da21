"""Which labels somebody wants: their tags and the words beside them; `labels` draws them."""

from collections.abc import Sequence

from equip import acts, typed
from equip.desk.act.act import Act, Refused
from equip.scan import CARDS
from equip.store.kept import counters
from equip.store.readings import item_rows, lot_rows
from labels.designs import designs as label_designs
from labels.sheet import Label, sheet_pdf, sheet_png

BATCHES = {
    "packs": "fresh pack labels",
    "tags": "tags of things on the register",
    "lots": "lots in use",
    "register": "every tag on the register",
    "cards": "act cards",
    "badges": "badges",
    "places": "places",
}
_MOST = 1_000


def designs() -> tuple[str, ...]:
    """The label designs by name."""
    return tuple(label_designs())


def is_tag(text: str) -> bool:
    """Whether *text* is a tag exactly as it is printed."""
    return typed.maybe_tag(text) == text


def batch(act: Act, which: str, count: int, tags: Sequence[str]) -> list[Label]:
    """The labels of one batch. Fresh pack labels take numbers that are never given again."""
    house = act.house
    match which:
        case "packs":
            if not 1 <= count <= _MOST:
                raise Refused(f"{count} labels: ask for 1 to {_MOST}.")
            return [Label(counters.take(act.store, "P"), (house.name,)) for _ in range(count)]
        case "tags":
            return [_of_thing(act, typed.tag(tag)) for tag in tags]
        case "lots":
            every = lot_rows.lots(act.store)
            return [Label(lot.tag, (lot.name, lot.number)) for lot in every if not lot.finished]
        case "register":
            return [_of_thing(act, row.tag) for row in item_rows.items(act.store)]
        case "cards":
            cards = [Label(tag, (acts.label(word),)) for word, tag in CARDS.items()]
            own = [Label(kind.card, (kind.name,)) for kind in house.types.values() if kind.card]
            return cards + own
        case "badges":
            return [Label(p.tag, (p.name, p.role)) for p in house.staff.values() if p.active]
        case _:
            return [Label(p.tag, (p.name,)) for p in house.places.values()]


def sheet(found: Sequence[Label], design: str, form: str, first: int) -> bytes:
    """The sheet as PDF or PNG bytes; ValueError with a sentence if it cannot be."""
    if not found:
        raise ValueError("There is nothing to print: choose other labels.")
    if form == "pdf":
        return sheet_pdf(found, design, first=first)
    return sheet_png(found, design, first=first)


def _of_thing(act: Act, tag: str) -> Label:
    row = item_rows.item_row(act.store, tag)
    if row is None:
        raise Refused(f"{tag} is not on the register.")
    kind = act.house.kind(row.type).name
    return Label(tag, tuple(filter(None, (kind, row.name))))
