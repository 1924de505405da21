"""Each reason to keep an item back is lifted by itself, by the decision that it asks for."""

import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.lookback.cases import case_acts
from equip.desk.register import items
from equip.desk.upkeep import work_acts
from equip.rules.fitness.standing import Kept
from equip.store.fold.rebuild import differences
from equip.store.readings import item_rows, load_rows
from tests.support.playing import Play


def kept(play: Play, tag: str) -> list[Kept]:
    stands = item_rows.standing_of(play.clinic.store, tag)
    assert stands is not None
    return list(stands.quarantines)


def codes(play: Play, tag: str) -> list[str]:
    return [one.why.code for one in kept(play, tag)]


def told(play: Play, what: object, *given: object, who: str = "manager", **more: object) -> object:
    play.clock.passes(minutes=1)
    with acting(play.clinic, by=play.people[who], signed=play.people[who]) as act:
        return what(act, *given, **more)  # type: ignore[operator]


@pytest.fixture
def hook(play: Play) -> str:
    """Bent on a patient by whom somebody was hurt with it: two reasons keep it back."""
    hook = play.add("hook", "go-live")
    play.scan("123456", hook, "bent", "I was hurt")
    assert codes(play, hook) == ["bent", "hurt"]
    return hook


def test_one_reason_is_lifted_and_the_other_stands(play: Play, hook: str) -> None:
    bent, hurt = kept(play, hook)

    told(play, items.lift, hook, "straightened", items.name_of(bent))

    assert kept(play, hook) == [hurt]
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_of_several_reasons_the_one_that_is_lifted_is_named(play: Play, hook: str) -> None:
    with pytest.raises(Refused, match="2 reasons keep it back: say which"):
        told(play, items.lift, hook, "looked at")
    with pytest.raises(Refused, match="not kept back for that reason any more"):
        told(play, items.lift, hook, "looked at", "12 torn")

    assert codes(play, hook) == ["bent", "hurt"]


def test_what_was_bagged_is_lifted_only_with_who_found_it_safe(play: Play, hook: str) -> None:
    hurt = kept(play, hook)[1]

    with pytest.raises(Refused, match="name who found that it may be handled"):
        told(play, items.lift, hook, "the source was negative", items.name_of(hurt))
    told(play, items.lift, hook, "the source was negative", items.name_of(hurt), "Rowan Field")

    assert codes(play, hook) == ["bent"]


def test_what_must_not_be_cleaned_is_never_told_to_be_cleaned(play: Play, hook: str) -> None:
    asked = play.scan("start over", "lay up", hook)
    used = play.scan("start over", "234567", hook)

    for answer in (asked, used):
        words = " ".join([answer.next, *(one.says for one in answer.reasons)]).casefold()
        assert "bag it, do not clean it" in words
        assert "clean it now" not in words
        assert "still to do: clean" not in words


def test_a_single_use_tip_used_again_goes_to_the_bin(play: Play) -> None:
    tip = play.add("single-use-tip")
    play.scan("123456", tip, "finish")

    again = play.scan("start over", "234567", tip)
    asked = play.scan("start over", "lay up", tip)

    assert "throw it away" in again.next
    assert "clean" not in again.next
    assert asked.reasons[0].says.startswith("In quarantine (throw it away)")


def test_a_machine_under_work_is_told_not_to_be_used_and_not_to_be_cleaned(play: Play) -> None:
    pump = play.add("suction-pump")
    work = told(play, work_acts.raise_work, pump, "the gauge sticks", out_of_use=True)
    play.scan("lay up", pump)
    [one] = kept(play, pump)

    assert one.how == "out-of-use"
    with pytest.raises(Refused, match="it goes back to service when that work is signed off"):
        told(play, items.lift, pump, "it works again")
    told(play, items.quarantine, pump, "the cord is torn", "clean-it-now")
    assert work
    assert codes(play, pump) == ["work", "by-hand"]


def test_a_look_back_lets_go_only_of_its_own_reason_and_only_once_decided(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.sterile_pack(steriliser, hook)
    load = load_rows.last_load(play.clinic.store, steriliser)
    assert load is not None
    case = str(told(play, case_acts.raise_doubt, [load.load], "the curve looks odd"))
    told(play, case_acts.contain, case)
    told(play, items.quarantine, hook, "a burr", "clean-it-now")
    mine = kept(play, hook)[0]

    with pytest.raises(Refused, match="Its look-back keeps it back"):
        told(play, items.lift, hook, "in a hurry", items.name_of(mine))
    with pytest.raises(Refused, match="not decided yet"):
        told(play, case_acts.let_out, case, "in a hurry")
    told(play, case_acts.decide, case, "nothing was wrong", "no fault", unfounded=True)
    told(play, case_acts.let_out, case, "found unfounded")

    assert codes(play, hook) == ["by-hand"]


def test_nobody_lifts_without_the_right(play: Play, hook: str) -> None:
    bent = kept(play, hook)[0]

    with pytest.raises(Refused, match="no right to lift"):
        told(play, items.lift, hook, "straightened", items.name_of(bent), who="nurse")
