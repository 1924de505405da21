"""A look-back folded from its facts: its stages, its clock, what it refuses."""

from datetime import timedelta
from typing import Any

import pytest

from equip import facts
from equip.facts import Fact
from equip.rules.lookback import case_stages
from equip.rules.lookback.case_stages import STAGES
from tests.support.stopped import NOON

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

    assert case_stages.fold(CASE, [RAISED, SCOPED]).clock is None
    assert case_stages.fold(CASE, [RAISED, SCOPED, LISTED, again]).clock == timedelta(minutes=9)


def test_what_is_next_follows_the_stages() -> None:
    contained = told(facts.DoubtContained, 3, items=())

    assert case_stages.next_stage(case_stages.fold(CASE, [RAISED, SCOPED])) == "contain"
    assert case_stages.next_stage(case_stages.fold(CASE, [RAISED, SCOPED, contained])) == "list"
    assert (
        case_stages.next_stage(case_stages.fold(CASE, [RAISED, SCOPED, contained, LISTED]))
        == "risk"
    )


def test_a_case_found_unfounded_only_wants_to_be_closed_and_learnt_from() -> None:
    stands = case_stages.fold(CASE, [RAISED, SCOPED, UNFOUNDED])

    assert case_stages.next_stage(stands) == "close"
    assert case_stages.why_not_close(stands, 3, 3) == ""


def test_a_scope_changed_after_the_list_asks_for_the_list_again() -> None:
    stands = case_stages.fold(CASE, [RAISED, SCOPED, LISTED, SCOPED])

    assert stands.stale
    assert "List first" in case_stages.why_not_decide(stands, unfounded=False)
    assert not case_stages.done(stands)["list"]


def test_it_is_not_closed_before_it_is_decided_and_somebody_told() -> None:
    open_case = case_stages.fold(CASE, [RAISED, SCOPED, LISTED])
    decided = case_stages.fold(CASE, [RAISED, SCOPED, LISTED, DECIDED])
    said = case_stages.fold(
        CASE, [RAISED, SCOPED, LISTED, DECIDED, told(facts.DoubtStep, 20, step="tell", says="x")]
    )

    assert "Decide" in case_stages.why_not_close(open_case, 1, 1)
    assert "not decided" in case_stages.why_not_close(decided, 1, 1)
    assert "who was told" in case_stages.why_not_close(decided, 0, 1)
    assert case_stages.why_not_close(decided, 0, 0) == ""
    assert case_stages.why_not_close(said, 0, 1) == ""


def test_an_old_look_back_of_loads_alone_is_read_as_ever() -> None:
    raised = told(facts.DoubtRaised, 0, loads=("L1", "L2"), why="odd")

    stands = case_stages.fold(CASE, [raised, DECIDED])

    assert stands.loads == ("L1", "L2")
    assert case_stages.done(stands)["scope"]
    assert stands.decided and not stands.unfounded


def test_a_case_takes_no_fact_of_another() -> None:
    other = facts.DoubtClosed(at=NOON, by="B1", act="a", case="case-2", reason="done")

    assert case_stages.fold(CASE, [RAISED, other]).closed is None


@pytest.mark.parametrize(
    "fact", [RAISED, SCOPED, LISTED, DECIDED, UNFOUNDED], ids=lambda one: type(one).__name__
)
def test_every_fact_of_a_case_has_a_stage(fact: Fact) -> None:
    assert case_stages.stage_of(fact) in STAGES
