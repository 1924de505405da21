"""What may be done with what is kept back: by its type, and by the strictest of its reasons."""

from datetime import UTC, datetime
from typing import Any

import pytest

from equip.facts import How, ItemType, Told
from equip.rules.fitness.held import DO, LIFTED_BY, kept_how, to_do, why_not_free, why_not_lift
from equip.rules.fitness.standing import Kept

AT = datetime(2026, 3, 4, 12, tzinfo=UTC)


def kept(how: How, code: str = "by-hand") -> Kept:
    return Kept(at=AT, why=Told(code=code, says="a burr"), how=how)


@pytest.mark.parametrize(
    ("more", "how"),
    [
        ({}, "clean-it-now"),
        ({"reuse": "single-use"}, "throw-away"),
        ({"sort": "machine", "contact": "neither"}, "out-of-use"),
        ({"sort": "machine", "contact": "water-or-air"}, "clean-it-now"),
        ({"contact": "neither"}, "clean-it-now"),
    ],
)
def test_how_an_item_is_kept_back_follows_from_its_type(more: dict[str, Any], how: How) -> None:
    kind = ItemType(code="x", name="X", **more)

    assert kept_how(kind) == how
    assert kept_how(kind, "bag-it") == "bag-it"


def test_of_several_reasons_the_strictest_says_what_may_be_done() -> None:
    ways: list[How] = ["bag-it", "throw-away", "out-of-use", "clean-it-now"]

    for turn, strictest in enumerate(ways):
        assert to_do([kept(how) for how in reversed(ways[turn:])]) == DO[strictest]
    assert to_do([], "throw-away") == "throw it away"


def test_a_reason_is_lifted_with_a_reason_and_what_was_bagged_with_a_name_too() -> None:
    assert why_not_free(kept("clean-it-now"), " ", "") == "Give a reason: it is read years later."
    assert why_not_free(kept("clean-it-now"), "polished", "") == ""
    assert "name who found" in why_not_free(kept("bag-it"), "negative", " ")
    assert why_not_free(kept("bag-it"), "negative", "Rowan Field") == ""


@pytest.mark.parametrize("code", sorted(LIFTED_BY))
def test_what_a_decision_of_its_own_lifts_is_not_lifted_by_hand(code: str) -> None:
    assert why_not_lift(kept("clean-it-now", code), "in a hurry", "Rowan Field") == LIFTED_BY[code]
    assert why_not_free(kept("clean-it-now", code), "decided", "") == ""
