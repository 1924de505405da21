"""Scans moved to another patient stand on that patient's page, marked on the one they left."""

import pytest

from equip.desk.lookback import history
from equip.desk.lookback.history import HistoryLine
from tests.support.playing import Play

ONE, TWO, THREE = "12345601", "12345602", "12345603"


def lines(play: Play, reference: str) -> list[HistoryLine]:
    return list(history.page(play.clinic, token(play, reference)).lines)


def token(play: Play, reference: str) -> str:
    found = play.clinic.vault.find(reference)
    assert found is not None
    return found


@pytest.fixture
def moved(play: Play) -> Play:
    """Two hooks used on ONE, of whom nothing else is told, and moved to TWO."""
    hooks = [play.add("hook", "go-live") for _ in range(2)]
    play.scan("start over", ONE, "left ear", *hooks, "move to another patient", TWO)
    return play


def test_they_stand_on_the_page_of_the_patient_they_were_moved_to(moved: Play) -> None:
    shown = lines(moved, TWO)

    used = [line for line in shown if line.kind == "used"]
    assert [line.kind for line in shown] == ["use-begun", "used", "used", "moved-to-patient"]
    assert all(f"Used on patient {token(moved, TWO)}" in line.text for line in used)
    assert {line.moved.out_of for line in used} == {token(moved, ONE)}
    assert shown[-1].moved == history.NOT_MOVED


def test_on_the_page_they_left_they_stay_as_told_and_say_where_they_went(moved: Play) -> None:
    shown = lines(moved, ONE)

    used = [line for line in shown if line.kind == "used"]
    assert len(used) == 2
    assert all(f"Used on patient {token(moved, ONE)}" in line.text for line in used)
    assert {line.moved.to for line in used} == {token(moved, TWO)}
    assert history.page(moved.clinic, token(moved, ONE)).touches == ()


def test_the_page_of_the_item_says_it_too(moved: Play) -> None:
    hook = history.page(moved.clinic, token(moved, TWO)).touches[0].item

    [line] = [line for line in history.page(moved.clinic, hook).lines if line.kind == "used"]

    assert line.moved.to == token(moved, TWO)


def test_a_move_that_is_taken_back_leaves_no_trace_of_them_there(moved: Play) -> None:
    moved.scan("undo", "undo")

    assert [line.kind for line in lines(moved, TWO)] == ["moved-to-patient", "withdrawn"]
    assert all(line.moved == history.NOT_MOVED for line in lines(moved, ONE))


def test_moved_on_they_stand_with_the_last_patient_only(moved: Play) -> None:
    moved.scan("move to another patient", THREE)

    assert [line.kind for line in lines(moved, TWO)] == ["moved-to-patient"] * 2
    assert len([line for line in lines(moved, THREE) if line.kind == "used"]) == 2
    assert {line.moved.to for line in lines(moved, ONE) if line.kind == "used"} == {
        token(moved, THREE)
    }


def test_moved_back_they_are_as_they_were(moved: Play) -> None:
    moved.scan("move to another patient", ONE)

    assert all(line.moved == history.NOT_MOVED for line in lines(moved, ONE))
    assert {line.kind for line in lines(moved, TWO)} == {"moved-to-patient"}


def test_what_was_told_after_the_move_is_of_the_patient_it_was_told_of(moved: Play) -> None:
    moved.scan(moved.add("hook", "go-live"))

    told = [line for line in lines(moved, TWO) if line.kind == "used"]
    assert [bool(line.moved.out_of) for line in told] == [True, True, False]


@pytest.mark.parametrize("most", [1, 2, 3, 4, 5])
def test_page_by_page_the_same_lines_come_in_the_same_order(moved: Play, most: int) -> None:
    moved.scan(moved.add("hook", "go-live"), "finish")
    whole = lines(moved, TWO)

    found: list[HistoryLine] = []
    before = ""
    while True:
        page = history.page(moved.clinic, token(moved, TWO), most=most, before=before)
        found = [*page.lines, *found]
        if not (before := page.earlier):
            break

    assert [line.path for line in found] == [line.path for line in whole]
    assert [line.moved for line in found] == [line.moved for line in whole]


def test_an_exposure_is_marked_on_the_page_of_the_patient_who_was_exposed(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("start over", THREE, hook, "start over", ONE, hook)
    play.scan("move to another patient", TWO)

    assert [bool(line.marks) for line in lines(play, TWO) if line.kind == "used"] == [True]
    assert not any(line.marks for line in lines(play, ONE))
