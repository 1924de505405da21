"""What a file of the past comes to, byte by byte: a faster way in must end in the same book."""

from collections.abc import Callable
from hashlib import sha256
from itertools import count
from random import Random

import pytest

from equip.desk.act import act
from equip.desk.past import bring_in as past
from equip.store.database import Store
from equip.store.fold.rebuild import differences, rebuild
from equip.store.kept import vault
from equip.store.ledger import ledger
from equip.store.schema.rebuilt import REBUILT
from tests.measure.decade import as_file, clinic_lines
from tests.support.past_play import as_file as as_small_file
from tests.support.past_play import bring_in, history
from tests.support.playing import Play

BY_DECADE = {
    37: "2094ce02238f7b9f3e8933c244954ac575ce013301a1252feaf41f8d94a11c47",
    2_000: "4be234c359a6a6d49d4de67103eec2479b8c96c11ea956c134322cbd59a45124",
}
BY_HISTORIES = {
    3: "3746f278c13f6dc8b528ce386cfb46830a54d0805c217633b055f682c2808f13",
    2_000: "16c87aa0c77b50b13b42177ad19abf4cb39af34ce746aeb1710d196be185bc6f",
}


def steady(monkeypatch: pytest.MonkeyPatch) -> None:
    """Chance taken out: act ids and tokens are the same in every run."""
    numbers, random = count(1), Random(1)
    monkeypatch.setattr(act, "uuid4", lambda: f"act-{next(numbers)}")
    monkeypatch.setattr(vault.secrets, "token_bytes", random.randbytes)


OF_THE_PAST = frozenset(
    {
        "about",
        "alias",
        "exposure",
        "item",
        "load",
        "old_name",
        "past",
        "standing",
        "tally",
        "touch",
        "use",
    }
)
"""The tables that a file of the past fills. Whatever changes a column of them draws it anew."""


def digest(store: Store, since: int) -> str:
    """All entries after the first *since*, and what the ledger adds up to in these tables."""
    told = sha256()
    rows = store.rows("SELECT position, body FROM ledger WHERE position > ? ORDER BY 1", since)
    for position, body in rows:
        told.update(f"{position} ".encode() + bytes(body) + b"\n")
    told.update(projections(store, OF_THE_PAST).encode())
    return told.hexdigest()


def entries(store: Store) -> int:
    """How many entries the ledger has: what opens a book may change, what a file tells may not."""
    return sum(head.position for head in ledger.heads(store).values())


ALL = frozenset(table._meta.table_name for table in REBUILT)


def projections(store: Store, names: frozenset[str] = ALL) -> str:
    lines = []
    for table in REBUILT:
        name = table._meta.table_name
        if name not in names:
            continue
        columns = ", ".join(f'"{one.column_name}"' for one in table._meta.sorted_fields)
        rows = store.rows(f'SELECT {columns} FROM "{name}"')
        plain = (tuple(bytes(c) if isinstance(c, memoryview) else c for c in row) for row in rows)
        lines += [f"{name} {row}" for row in sorted(map(repr, plain))]
    return "\n".join(lines)


@pytest.mark.parametrize("batch", [37, 2_000])
def test_a_clinic_s_decade_ends_in_the_same_bytes_as_ever(
    fresh_play: Callable[[], Play], monkeypatch: pytest.MonkeyPatch, batch: int
) -> None:
    steady(monkeypatch)
    monkeypatch.setattr(past, "BATCH", batch)
    clinic = fresh_play().clinic
    since = entries(clinic.store)
    bring_in(clinic, as_file(clinic_lines(1, 600)))

    assert digest(clinic.store, since) == BY_DECADE[batch]
    assert differences(clinic.store, clinic.settings.data) == []


@pytest.mark.parametrize("batch", [3, 2_000])
def test_small_histories_with_ties_and_mixing_end_in_the_same_bytes_as_ever(
    fresh_play: Callable[[], Play], monkeypatch: pytest.MonkeyPatch, batch: int
) -> None:
    steady(monkeypatch)
    monkeypatch.setattr(past, "BATCH", batch)
    told = sha256()
    for seed in range(25):
        clinic = fresh_play().clinic
        since = entries(clinic.store)
        bring_in(clinic, as_small_file(history(Random(seed))))
        told.update(digest(clinic.store, since).encode())
        assert differences(clinic.store, clinic.settings.data) == []

    assert told.hexdigest() == BY_HISTORIES[batch]


def test_folded_one_by_one_the_ledger_adds_up_to_the_same_as_folded_by_batches(
    fresh_play: Callable[[], Play], monkeypatch: pytest.MonkeyPatch
) -> None:
    clinic = fresh_play().clinic
    bring_in(clinic, as_file(clinic_lines(2, 200)))
    by_batches = projections(clinic.store)
    monkeypatch.setattr("equip.store.fold.rebuild._BATCH", 1)
    rebuild(clinic.store)

    assert projections(clinic.store) == by_batches
