"""Rights are asked of the person who acts, and a refusal says who may."""

from collections.abc import Callable

import pytest

from equip.desk.act.act import Act, Refused, acting
from equip.desk.machines import lots, sheets
from equip.desk.register import items
from equip.facts import Stated
from equip.store.readings import item_rows
from tests.support.playing import Play

Doing = Callable[[Act, str], object]


def recorded(act: Act, machine: str) -> object:
    return sheets.record(act, machine, "door-seal", passed=True)


def signed(act: Act, machine: str) -> object:
    return sheets.sign(act, machine)


def entered(act: Act, machine: str) -> object:
    return lots.add(act, "wipe", "Wipes", "W-9", stated=Stated(contact_s=60))


def retired(act: Act, machine: str) -> object:
    return items.retire(act, machine, "worn")


DOING: dict[str, Doing] = {
    "record periodic tests": recorded,
    "sign the sheet of the day": signed,
    "enter lots": entered,
    "retire items": retired,
}


@pytest.mark.parametrize("what", sorted(DOING))
@pytest.mark.parametrize("who", ["trainee", "auditor"])
def test_whoever_lacks_the_right_is_told_who_may(play: Play, what: str, who: str) -> None:
    machine = play.add("steriliser-vacuum")

    with (
        pytest.raises(Refused, match=rf"You have no right to {what}\. Ask .*Mo Reed"),
        acting(play.clinic, by=play.people[who]) as act,
    ):
        DOING[what](act, machine)


def test_a_lot_is_ended_by_whoever_may(play: Play) -> None:
    lot = play.wipes()

    with (
        pytest.raises(Refused, match="no right to take lots out of use"),
        acting(play.clinic, by=play.people["trainee"]) as act,
    ):
        lots.finish(act, lot, "used up")


def test_what_somebody_else_wrote_down_is_taken_back_by_whoever_may(play: Play) -> None:
    hook = play.add("hook", "go-live")
    play.scan("123456", hook)

    refused = play.scan("undo", who="trainee")
    own = play.scan("start over", "clean", hook, "undo", "undo", who="trainee")
    taken_back = play.scan("undo", "other patients too", "take it back")

    assert "You have no right to take back what Nell Ash wrote down" in refused.what
    assert own.word == "Taken back"
    assert taken_back.word == "Taken back"


def test_in_a_book_that_never_gave_a_new_right_it_goes_with_the_post(play: Play) -> None:
    """People who were put on the register before the right existed go on as they did."""
    old = ["release", "override", "lift"]
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.add_person(act, "Mo Reed", "manager", old, tag=play.people["manager"])
        items.add_person(act, "Nell Ash", "nurse", ["release"], tag=play.people["nurse"])
    house = play.clinic.house

    assert {"test", "lots", "retire", "undo"} <= house.rights(play.people["nurse"])
    assert "declare" in house.rights(play.people["manager"])
    assert "declare" not in house.rights(play.people["nurse"])
    assert house.rights(play.people["auditor"]) == frozenset()
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.add_person(act, "Nell Ash", "nurse", ["test"], tag=play.people["nurse"])
    assert "test" not in play.clinic.house.rights(play.people["trainee"])
    assert "lots" in play.clinic.house.rights(play.people["trainee"])


def test_a_refusal_is_set_aside_by_the_badge_in_hand_or_by_nobody(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook)
    play.clock.passes(days=400)
    play.scan("start over", play.people["nurse"], "123456", "start a use", pack)

    answer = play.scan("used anyway", who="manager")

    assert "The badge of Nell Ash is in hand, and Mo Reed is signed in" in answer.what
    stands = item_rows.standing_of(play.clinic.store, hook)
    assert stands is not None
    assert stands.uses == 0
