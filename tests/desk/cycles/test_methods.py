"""The method page: every figure that a judgement shows is explained, every rule family exists."""

import pytest

from equip.desk.cycles import methods
from equip.desk.cycles.methods import METHODS
from tests.support.playing import Play


@pytest.mark.parametrize("method", METHODS, ids=lambda method: method.name)
def test_every_method_has_a_formula_and_a_source(method: methods.Method) -> None:
    assert method.formula.endswith(".")
    assert method.source.endswith(".")


def test_every_rule_that_a_method_names_is_in_force(play: Play) -> None:
    for shown in methods.methods(play.clinic, play.clock.now):
        for start in shown.method.rules:
            assert any(rule.id.startswith(start) for rule in shown.rules), start
