"""A load whose stages were corrected by hand: what it keeps, and who may let it go."""

import pytest

from equip import facts
from equip.rules.loads.load import Load
from equip.rules.loads.release import why_not_release
from tests.rules.loads.test_loading import LOAD, RIGHTS, Run
from tests.support.lives import NURSE, OTHER

BY_HAND = {"drying-begins": "1500"}


def run(first: str, *corrected: tuple[str, str, dict[str, str]]) -> Load:
    """A load judged *first*, then corrected: by whom, to which verdict, with which boundaries."""
    life = Run().add().start().end().judge(first)
    for who, verdict, boundaries in corrected:
        life.then(
            facts.StagesCorrected, load=LOAD, boundaries=boundaries, reason="the strip", by=who
        )
        life.judge(verdict)
    return life.load


def codes(load: Load, by: str, *, corrected_two: bool = True) -> list[str]:
    found = why_not_release(load, by, RIGHTS, two_people=False, corrected_two=corrected_two)
    return [told.code for told in found]


def test_a_corrected_load_keeps_by_whom_why_and_what_its_log_alone_was_worth() -> None:
    load = run("undecided", (NURSE, "pass", BY_HAND))

    assert load.corrected is not None
    assert (load.corrected.by, load.corrected.reason) == (NURSE, "the strip")
    assert load.boundaries == BY_HAND
    assert (load.as_found, load.verdict, load.state) == ("undecided", "pass", "judged")


def test_whoever_made_a_load_pass_by_a_correction_may_not_release_it() -> None:
    load = run("fail", (NURSE, "pass", BY_HAND))

    assert codes(load, NURSE) == ["same-person-corrected"]
    assert codes(load, OTHER) == []
    assert codes(load, NURSE, corrected_two=False) == []


def test_a_second_correction_by_another_frees_neither_of_them() -> None:
    load = run("fail", (NURSE, "pass", BY_HAND), (OTHER, "pass", {"drying-begins": "1501"}))

    assert load.as_found == "fail"
    assert codes(load, NURSE) == codes(load, OTHER) == ["same-person-corrected"]


def test_a_load_that_passed_anyway_may_be_released_by_whoever_corrected_it() -> None:
    assert codes(run("pass", (NURSE, "pass", BY_HAND)), NURSE) == []


def test_a_load_that_still_does_not_pass_is_released_by_nobody() -> None:
    assert codes(run("fail", (NURSE, "fail", BY_HAND)), NURSE) == ["load-fail"]


def test_a_correction_that_was_taken_back_leaves_no_boundary() -> None:
    load = run("fail", (NURSE, "pass", BY_HAND), (NURSE, "fail", {}))

    assert load.boundaries == {}
    assert load.verdict == "fail"


@pytest.mark.parametrize("first", ["pass", "fail", "undecided"])
def test_a_load_that_nobody_corrected_is_as_it_was(first: str) -> None:
    load = run(first)

    assert (load.corrected, load.as_found, load.correctors) == (None, None, ())
