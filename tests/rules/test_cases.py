"""A look-back folded from its facts: its stages, its clock, what it refuses."""

from datetime import timedelta
from typing import Any

import pytest

from equip import facts
from equip.facts import Fact
from equip.rules import cases
from equip.rules.cases import STAGES
from tests.stopped import NOON

CASE = "case-1"


def told(kind: type[Fact], minutes: int, **fields: Any) -> Fact:
    return kind(at=NOON + timedelta(minutes=minutes), by="B1", act="a", case=CASE, **fields)


RAISED = told(facts.DoubtRaised, 0, loads=(), why="odd")
SCOPED = told(facts.DoubtScoped, 0, says="It failed.", reason="odd", loads=("L1",))
LISTED = told(facts.DoubtListed, 9, heads={"A": 3}, uses=1, patients=1, gaps=0, digest="ab" * 32)
DECIDED = told(facts.DoubtDecided, 12, decision="told", reason="policy")
UNFOUNDED = told(facts.DoubtDecided, 12, decision="nothing", reason="looked", unfounded=True)


def test_the_clock_runs_from_the_opening_to_the_first_list() -> None:
    again = told(facts.DoubtListed, 50, heads={}, uses=1, patients=1, gaps=0, digest="cd" * 32)

    assert cases.fold(CASE, [RAISED, SCOPED]).clock is None
    assert cases.fold(CASE, [RAISED, SCOPED, LISTED, again]).clock == timedelta(minutes=9)


def test_what_is_next_follows_the_stages() -> None:
    contained = told(facts.DoubtContained, 3, items=())

    assert cases.next_stage(cases.fold(CASE, [RAISED, SCOPED])) == "contain"
    assert cases.next_stage(cases.fold(CASE, [RAISED, SCOPED, contained])) == "list"
    assert cases.next_stage(cases.fold(CASE, [RAISED, SCOPED, contained, LISTED])) == "risk"


def test_a_case_found_unfounded_only_wants_to_be_closed_and_learnt_from() -> None:
    stands = cases.fold(CASE, [RAISED, SCOPED, UNFOUNDED])

    assert cases.next_stage(stands) == "close"
    assert cases.why_not_close(stands, 3, 3) == ""


def test_a_scope_changed_after_the_list_asks_for_the_list_again() -> None:
    stands = cases.fold(CASE, [RAISED, SCOPED, LISTED, SCOPED])

    assert stands.stale
    assert "List first" in cases.why_not_decide(stands, unfounded=False)
    assert not cases.done(stands)["list"]


def test_it_is_not_closed_before_it_is_decided_and_somebody_told() -> None:
    open_case = cases.fold(CASE, [RAISED, SCOPED, LISTED])
    decided = cases.fold(CASE, [RAISED, SCOPED, LISTED, DECIDED])
    said = cases.fold(
        CASE, [RAISED, SCOPED, LISTED, DECIDED, told(facts.DoubtStep, 20, step="tell", says="x")]
    )

    assert "Decide" in cases.why_not_close(open_case, 1, 1)
    assert "not decided" in cases.why_not_close(decided, 1, 1)
    assert "who was told" in cases.why_not_close(decided, 0, 1)
    assert cases.why_not_close(decided, 0, 0) == ""
    assert cases.why_not_close(said, 0, 1) == ""


def test_an_old_look_back_of_loads_alone_is_read_as_ever() -> None:
    raised = told(facts.DoubtRaised, 0, loads=("L1", "L2"), why="odd")

    stands = cases.fold(CASE, [raised, DECIDED])

    assert stands.loads == ("L1", "L2")
    assert cases.done(stands)["scope"]
    assert stands.decided and not stands.unfounded


def test_a_case_takes_no_fact_of_another() -> None:
    other = facts.DoubtClosed(at=NOON, by="B1", act="a", case="case-2", reason="done")

    assert cases.fold(CASE, [RAISED, other]).closed is None


@pytest.mark.parametrize(
    "fact", [RAISED, SCOPED, LISTED, DECIDED, UNFOUNDED], ids=lambda one: type(one).__name__
)
def test_every_fact_of_a_case_has_a_stage(fact: Fact) -> None:
    assert cases.stage_of(fact) in STAGES
