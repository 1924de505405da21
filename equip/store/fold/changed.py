"""What a transaction did to the contacts, so that exposures are looked at no wider than that."""

from dataclasses import dataclass, field
from typing import Any

from equip.facts import ItemType


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
