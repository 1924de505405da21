"""The list of what is due a page at a time: the same lines as the whole list, each once."""

from datetime import date, timedelta
from random import Random

import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.upkeep.due_line import Due
from equip.desk.upkeep.due_list import SOON, due_list, section
from equip.desk.upkeep.duties import due
from equip.facts import DutyTerms
from tests.support.playing import Play

TODAY = date(2026, 3, 4)
_SHIFTS = ("", "none", "before", "after")


def _many(play: Play) -> None:
    """Duties by days, counts, certificates and moves, with days over, about closed days."""
    random = Random(5)
    things = [play.add("suction-pump") for _ in range(6)]
    with acting(play.clinic, by=play.people["manager"]) as act:
        for thing in things:
            for number in range(7):
                terms = DutyTerms(
                    every_count=random.choice((0, 0, 0, 2, 900)),
                    counts="uses",
                    tolerance_days=random.choice((0, 0, 9)),
                    shift=random.choice(_SHIFTS),  # type: ignore[arg-type]
                    after_move_days=random.choice((None, 3)),
                    not_after=random.choice((None, TODAY + timedelta(days=random.randint(-9, 99)))),
                )
                act.tell(
                    facts.DutySet,
                    item=thing,
                    duty=f"check {number}",
                    anchor=TODAY + timedelta(days=random.randint(-30, 120)),
                    every_months=0 if terms.every_count and not terms.not_after else 6,
                    terms=terms,
                )
    play.clock.passes(minutes=1)
    for thing in things[:2]:
        with acting(play.clinic, by=play.people["manager"]) as act:
            act.tell(facts.Arrived, item=thing, arrival="repaired")
        play.scan("start over", "123456", thing, "finish", "start over", "123457", thing, "finish")


def _pages(play: Play, most: int) -> list[Due]:
    found: list[Due] = []
    onward, more = "", True
    while more:
        page = due_list(play.clinic, TODAY, onward, most)
        assert len(page.lines) <= most and page.further == bool(onward)
        found += page.lines
        onward, more = page.onward, bool(page.onward)
    return found


@pytest.mark.parametrize("most", [1, 5, 17, 100])
def test_the_pages_together_are_the_whole_list_each_line_once(play: Play, most: int) -> None:
    _many(play)
    whole = due(play.clinic, TODAY, expect=True)

    pages = _pages(play, most)

    assert len(whole) == 42 and sorted(pages, key=str) == sorted(whole, key=str)
    order = ("overdue", "due", "soon", "later", "no day")
    spots = [(order.index(section(one, TODAY)), one.next_due) for one in pages]
    assert spots == sorted(spots)
    assert {section(one, TODAY) for one in whole} == set(order)


def test_what_is_counted_is_all_of_the_list_on_every_page(play: Play) -> None:
    _many(play)
    whole = due(play.clinic, TODAY, expect=True)
    first = due_list(play.clinic, TODAY, most=4)

    for page in (first, due_list(play.clinic, TODAY, first.onward, most=4)):
        assert page.overdue == sum(1 for one in whole if one.standing == "overdue")
        assert page.due_now == sum(1 for one in whole if one.standing == "due")
        assert page.soon == sum(
            1 for one in whole if one.standing == "ok" and one.next_due <= TODAY + SOON
        )
        assert page.every == len(whole)


@pytest.mark.parametrize("within", [0, 7, 60])
def test_the_coming_days_are_the_same_part_of_the_whole_list(play: Play, within: int) -> None:
    _many(play)
    until = TODAY + timedelta(days=within)

    for expect in (False, True):
        whole = due(play.clinic, TODAY, expect=expect)
        part = due(play.clinic, TODAY, within, expect=expect)
        assert part == [one for one in whole if one.next_due <= until]


@pytest.mark.parametrize("onward", ["tomorrow", "1 2026-02-30 D x", "x 2026-03-01 D x"])
def test_a_page_that_there_is_not_is_refused_in_words(play: Play, onward: str) -> None:
    with pytest.raises(Refused, match="start at its first page"):
        due_list(play.clinic, TODAY, onward)
