"""Questions about more than one statement may list, answered as those about a few are."""

from datetime import timedelta

from equip import facts
from equip.store.database import Store
from equip.store.fold.past import keep_old_names
from equip.store.fold.project import project
from equip.store.kept.vault import Vault
from equip.store.ledger import ledger
from equip.store.readings import past_rows, use_rows
from tests.support.stopped import NOON

MANY = 1_203  # two pieces and some


def test_uses_that_are_in_the_book_are_told_from_those_that_are_not(store: Store) -> None:
    uses = [f"use-{number}" for number in range(MANY)]
    told = [
        facts.UseBegun(at=NOON + timedelta(seconds=n), by="", act="b", use=use, patient="t")
        for n, use in enumerate(uses[::2])
    ]
    with store.writing():
        project(store, ledger.append(store, "HOME", told, NOON))

    assert use_rows.uses_known(store, uses) == set(uses[::2])
    assert use_rows.uses_known(store, uses[1::2]) == set()
    assert use_rows.uses_known(store, []) == set()


def test_old_names_lead_to_tags_each_sort_by_itself_and_the_last_told_holds(store: Store) -> None:
    names = [f"old {number}" for number in range(MANY)]
    with store.writing():
        keep_old_names(store, "load", [(name, f"L{n}") for n, name in enumerate(names[:-1])])
        keep_old_names(store, "person", [("old 0", "B7"), ("old 1", "B8")])
        keep_old_names(store, "load", [("old 5", "L5000")])

    found = past_rows.old_names(store, "load", names)

    assert found == {name: "L5000" if n == 5 else f"L{n}" for n, name in enumerate(names[:-1])}
    assert past_rows.old_names(store, "person", names) == {"old 0": "B7", "old 1": "B8"}
    assert past_rows.old_names(store, "person", ["OLD 0", ""]) == {}


def test_many_patients_get_the_tokens_that_each_would_get_by_itself(vault: Vault) -> None:
    references = [f"NR {number}" for number in range(MANY)]
    known = {reference: vault.token(reference) for reference in references[::3]}

    tokens = vault.tokens(references)

    assert list(tokens) == references and len(set(tokens.values())) == MANY
    assert {one: tokens[one] for one in known} == known
    assert tokens == {reference: vault.find(reference) for reference in references}
    assert vault.tokens(references) == tokens
    assert vault.reveal(tokens["NR 1"]) == "NR 1"


def test_one_patient_typed_in_two_ways_among_many_is_one(vault: Vault) -> None:
    tokens = vault.tokens(["QX 17", "qx  17", "QX 18"])

    assert tokens["QX 17"] == tokens["qx  17"] != tokens["QX 18"]
    assert vault.tokens([]) == {}
