"""Which function folds which kind of fact: a table for each wing, and one put together of them."""

from collections.abc import Callable, Mapping
from typing import Any

from equip.facts import Fact
from equip.store.database import Store
from equip.store.ledger.ledger import Entry

Fold = Callable[[Store, Entry, Any], None]
"""Brings a wing's own tables up to date with one entry; its fact is handed over beside it."""

Folds = Mapping[type[Fact], Fold]


def together(wings: Mapping[str, Folds]) -> dict[type[Fact], Fold]:
    """The tables of all *wings* in one; ValueError where two of them fold the same kind."""
    folds: dict[type[Fact], Fold] = {}
    whose: dict[type[Fact], str] = {}
    for wing, table in wings.items():
        for kind, fold in table.items():
            if kind in whose:
                raise ValueError(
                    f"{kind.__name__} is folded twice, by {whose[kind]} and by {wing}: "
                    "take it out of the FOLDS of one of them."
                )
            whose[kind] = wing
            folds[kind] = fold
    return folds
