"""One table of folds by kind of fact: nothing is folded twice, and no wing is left out."""

import ast
from importlib import import_module
from pathlib import Path

import pytest

from equip import facts
from equip.store import fold
from equip.store.database import Store
from equip.store.fold import project
from equip.store.fold.by_kind import together
from equip.store.ledger.ledger import Entry

MODULES = sorted(path for path in Path(fold.__path__[0]).glob("*.py") if path.stem != "__init__")


def _keep(store: Store, entry: Entry, fact: facts.SheetSigned) -> None:
    """Never called: only which wing names it matters."""


def test_a_kind_that_two_wings_fold_is_refused_with_a_sentence_that_names_both() -> None:
    with pytest.raises(ValueError, match="SheetSigned is folded twice, by machines and by bench"):
        together({"machines": {facts.SheetSigned: _keep}, "bench": {facts.SheetSigned: _keep}})


def test_the_tables_of_the_wings_are_put_together_whole() -> None:
    found = together({"machines": {facts.SheetSigned: _keep}, "past": {facts.PastBroughtIn: _keep}})

    assert found == {facts.SheetSigned: _keep, facts.PastBroughtIn: _keep}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_a_wing_that_folds_kinds_of_its_own_is_in_the_one_table(path: Path) -> None:
    module = import_module(f"equip.store.fold.{path.stem}")
    left_out = {
        kind.__name__
        for kind, function in getattr(module, "FOLDS", {}).items()
        if project.FOLDS.get(kind) is not function
    }

    assert not left_out, (
        f"The FOLDS of {path.stem} are not in those of equip/store/fold/project.py: "
        f"put {path.stem} there, or {', '.join(sorted(left_out))} changes no table."
    )


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_no_wing_names_a_kind_twice_for_the_second_would_hide_the_first(path: Path) -> None:
    tables = [
        node.value
        for node in ast.parse(path.read_text("utf-8")).body
        if isinstance(node, ast.Assign | ast.AnnAssign)
        and isinstance(node.value, ast.Dict)
        and "FOLDS" in map(ast.unparse, getattr(node, "targets", [getattr(node, "target", None)]))
    ]
    named = [ast.unparse(key) for table in tables for key in table.keys if key is not None]
    twice = {kind for kind in named if named.count(kind) > 1}

    assert not twice, f"The FOLDS of {path.stem} name {', '.join(sorted(twice))} twice."
