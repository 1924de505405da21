"""Canister, liner, tubing and filter of a suction pump: by rule for each patient or session."""

from datetime import date

import pytest

from equip import facts
from equip.desk.act.act import acting
from equip.desk.act.answer import Answer
from equip.desk.register import items
from equip.store.ledger.about import told_about
from tests.support.playing import Play

ONE, TWO = "123451", "123452"
PARTS = ("canister", "liner", "tubing", "filter")


@pytest.fixture
def room(play: Play) -> Play:
    play.keeps_checks = False
    return play


@pytest.fixture
def pump(room: Play) -> str:
    return room.add("suction-pump")


def by_rule(play: Play, **each: str) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        for part, value in each.items():
            items.set_rule(act, f"check.{part}.each", value, "its maker", date(2026, 1, 1))


def use(play: Play, patient: str, *tips: str) -> Answer:
    return play.scan("start over", patient, "start a use", *tips)


def tips(play: Play, number: int) -> list[str]:
    return [play.add("single-use-tip") for _ in range(number)]


def test_the_rule_book_leaves_them_to_the_maker_until_they_are_set(room: Play, pump: str) -> None:
    [tip] = tips(room, 1)

    asked = room.scan("start over", "check", pump)
    checked = room.scan("60")

    assert (asked.word, checked.word) == ("Suction vacuum", "Checked")
    assert use(room, ONE, tip).word == "Used"


@pytest.mark.parametrize("part", PARTS)
def test_for_each_session_a_tip_waits_until_it_is_seen_to(room: Play, pump: str, part: str) -> None:
    by_rule(room, **{part: "session"})
    first, second = tips(room, 2)

    before = use(room, ONE, first)
    room.scan("start over", "check", pump, "good", "60")

    assert room.codes(before) == ["machine-unchecked"]
    assert f"its {part} and suction vacuum have not been checked" in before.reasons[0].says
    assert use(room, ONE, first).word == "Used"
    room.scan("finish")
    assert use(room, TWO, second).word == "Used"


@pytest.mark.parametrize("part", PARTS)
def test_for_each_patient_the_next_one_waits_until_it_is_seen_to_anew(
    room: Play, pump: str, part: str
) -> None:
    by_rule(room, **{part: "patient"})
    first, second, third = tips(room, 3)
    room.scan("start over", "check", pump, "good", "60")

    one = use(room, ONE, first)
    more = room.scan(second)
    room.scan("finish")
    other = use(room, TWO, third)

    assert (one.word, more.word) == ("Used", "Used")
    assert room.codes(other) == ["machine-unchecked"]
    assert f"its {part} was checked" in other.reasons[0].says
    room.scan("start over", "check", pump, "good")
    assert use(room, TWO, third).word == "Used"
    told = [entry.fact for entry in told_about(room.clinic.store, pump)]
    met = {fact.patient for fact in told if isinstance(fact, facts.Used)}
    assert met == {room.clinic.vault.find(ONE), room.clinic.vault.find(TWO)}


def test_of_two_pumps_the_bench_asks_which_one_it_was(room: Play, pump: str) -> None:
    by_rule(room, liner="patient")
    other = room.add("suction-pump")
    for one in (pump, other):
        room.scan("start over", "check", one, "good", "60")
    [tip] = tips(room, 1)

    answer = use(room, ONE, tip)

    says = "Scan the suction pump that it is used with: there are several."
    assert says in [one.says for one in answer.reasons]
