"""A tip is as fit as the pump it is put on: what no machine serves may not be used."""

from datetime import timedelta

import msgspec
import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.register import items, stock
from equip.facts import Loose
from equip.scan import show_tag
from equip.store.readings import item_rows
from tests.support.playing import Play


@pytest.fixture
def morning(play: Play) -> Play:
    """Nobody checks anything by themselves here."""
    play.keeps_checks = False
    return play


def fit_tip(play: Play, code: str = "single-use-tip") -> str:
    return play.add(code)


def ask(play: Play, *scans: str) -> list[str]:
    """The codes against the thing scanned last; none where it may be used."""
    answer = play.scan("start over", *scans)
    return [] if answer.tone == "yes" else play.codes(answer)


def define(play: Play, code: str, **more: object) -> None:
    kind = msgspec.structs.replace(play.clinic.house.types[code], **more)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.define_type(act, kind)


def test_a_tip_whose_pump_is_not_checked_is_unfit_with_the_way_on(morning: Play) -> None:
    tip, pump = fit_tip(morning), morning.add("suction-pump", name="east")

    refused = morning.scan("123456", "start a use", tip)

    assert (refused.tone, morning.codes(refused)) == ("no", ["machine-unchecked"])
    label = stock_label(morning, pump)
    assert refused.reasons[0].says == (
        f"{label}: its suction vacuum has not been checked for this session."
    )
    assert refused.next.startswith("Scan the machine, say “check”, check it, then scan this again.")

    morning.checked(pump)
    assert morning.scan("start over", "123456", "start a use", tip).tone == "yes"


def stock_label(play: Play, tag: str) -> str:
    row = item_rows.item_row(play.clinic.store, tag)
    assert row is not None
    return play.clinic.house.label(row)


def test_without_a_pump_in_the_book_nothing_is_asked_for(morning: Play) -> None:
    assert morning.scan("lay up", fit_tip(morning)).tone == "yes"


def test_a_pump_that_left_for_good_is_asked_for_no_more(morning: Play) -> None:
    tip, pump = fit_tip(morning), morning.add("suction-pump")

    with acting(morning.clinic, by=morning.people["manager"]) as act:
        items.retire(act, pump, "worn out")

    assert ask(morning, "lay up", tip) == []


def test_one_that_is_away_serves_nobody(morning: Play) -> None:
    tip, pump = fit_tip(morning), morning.add("suction-pump")
    morning.checked(pump)

    with acting(morning.clinic, by=morning.people["manager"]) as act:
        items.send_out(act, pump, "Fenwick Repairs", "repair")

    assert ask(morning, "lay up", tip) == ["machine-not-fit"]


def test_one_in_quarantine_serves_nobody_until_it_is_lifted(morning: Play) -> None:
    tip, pump = fit_tip(morning), morning.add("suction-pump")
    morning.checked(pump)
    with acting(morning.clinic, by=morning.people["manager"]) as act:
        items.quarantine(act, pump, "smells burnt", "clean-it-now")

    refused = morning.scan("lay up", tip)

    assert morning.codes(refused) == ["machine-not-fit"]
    assert "smells burnt" in refused.reasons[0].says
    with acting(morning.clinic, by=morning.people["manager"]) as act:
        items.lift(act, pump, "looked at by an electrician, a burnt label")
    assert ask(morning, "lay up", tip) == []


def test_the_pump_of_the_room_in_hand_counts_and_any_other_where_none_stands_there(
    morning: Play,
) -> None:
    tip = fit_tip(morning)
    here = morning.add("suction-pump", place=morning.places["room"])
    there = morning.add("suction-pump", place=morning.places["shelf"])
    morning.checked(there)

    assert ask(morning, "lay up", tip) == []
    assert ask(morning, morning.places["room"], "lay up", tip) == ["machine-unchecked"]
    assert ask(morning, morning.places["shelf"], "lay up", tip) == []

    morning.checked(here)
    assert ask(morning, morning.places["room"], "lay up", tip) == []


def test_a_pump_that_was_scanned_for_this_patient_is_the_one_that_counts(morning: Play) -> None:
    tip = fit_tip(morning)
    morning.add("suction-pump", place=morning.places["room"])
    brought = morning.add("suction-pump", place=morning.places["shelf"])
    morning.checked(brought)

    refused = ask(morning, morning.places["room"], "123456", "start a use", tip)
    allowed = ask(morning, morning.places["room"], "123456", "start a use", brought, tip)

    assert (refused, allowed) == (["machine-unchecked"], [])


def test_a_pump_that_failed_its_check_stops_the_tip_and_nobody_sets_that_aside(
    morning: Play,
) -> None:
    tip, pump = fit_tip(morning), morning.add("suction-pump")

    morning.scan("check", pump, "not good")

    assert ask(morning, "123456", "start a use", tip) == ["machine-failed"]
    assert "Nobody can set this aside" in morning.scan("used anyway", who="manager").what


def test_a_missing_check_of_the_pump_is_set_aside_by_name_with_a_reason(morning: Play) -> None:
    tip = fit_tip(morning)
    morning.add("suction-pump")
    morning.scan("123456", "start a use", tip)

    answer = morning.scan("used anyway", "the gauge is at the maker's", who="manager")

    assert (answer.tone, morning.codes(answer)) == ("warn", ["machine-unchecked"])
    stands = item_rows.standing_of(morning.clinic.store, tip)
    assert stands is not None and stands.uses == 1


def test_told_afterwards_it_is_a_use_with_the_reason_and_keeps_nothing_back(
    morning: Play,
) -> None:
    tip = fit_tip(morning)
    morning.add("suction-pump")

    answer = morning.scan("123456", tip)

    assert (answer.tone, answer.word) == ("warn", "Used")
    assert morning.codes(answer) == ["machine-unchecked"]
    assert "Scan the machine, say “check”, and check it" in answer.next
    stands = item_rows.standing_of(morning.clinic.store, tip)
    assert stands is not None and stands.quarantines == ()


def test_the_way_on_is_one_that_can_be_gone_with_the_patient_in_the_chair(
    morning: Play,
) -> None:
    tip, pump = fit_tip(morning), morning.add("suction-pump")
    morning.scan("123456", "start a use", tip)

    assert "Scan what is checked" in morning.scan("check").next
    assert morning.codes(morning.scan(pump)) == ["check-missing"]
    assert morning.scan("check").word == "Suction vacuum"
    assert morning.scan("60").word == "Checked"

    assert morning.scan(tip).tone == "yes"
    stands = item_rows.standing_of(morning.clinic.store, tip)
    assert stands is not None and stands.uses == 1


def test_no_other_tip_is_named_where_the_pump_of_the_room_serves_none(morning: Play) -> None:
    tip = fit_tip(morning)
    other = fit_tip(morning)
    morning.add("suction-pump", place=morning.places["room"])
    elsewhere = morning.add("suction-pump", place=morning.places["shelf"])
    morning.checked(elsewhere)

    refused = morning.scan(morning.places["room"], "123456", "start a use", tip)

    assert morning.codes(refused) == ["machine-unchecked"]
    assert show_tag(other) not in refused.next


def test_a_handpiece_waits_for_warm_water(morning: Play) -> None:
    handpiece, irrigator = morning.add("irrigator-handpiece", "go-live"), morning.add("irrigator")
    morning.watered(irrigator)

    morning.scan("check", irrigator, "good", "33.5", "1")
    cold = ask(morning, "lay up", handpiece)
    morning.scan("start over", "check", irrigator, "37")

    assert (cold, ask(morning, "lay up", handpiece)) == (["machine-failed"], [])


def test_a_sealed_pack_is_served_for_all_that_it_holds(play: Play) -> None:
    steriliser, tip = play.add("steriliser-vacuum"), play.add("suction-tip")
    play.cleaned(tip)
    pack = play.packed(tip)
    play.released(steriliser, pack)
    assert ask(play, "lay up", pack) == []
    play.keeps_checks = False

    play.add("suction-pump")

    assert ask(play, "lay up", pack) == ["machine-unchecked"]
    shown = stock.thing(play.clinic, pack, play.clock.now)
    assert shown is not None
    assert [why.code for why in shown.reasons] == ["machine-unchecked"]
    assert shown.round == "ready"


def test_untagged_tips_in_a_pack_are_served_too(play: Play) -> None:
    kind = play.clinic.house.types["fine-tip"]
    assert (kind.tagged, kind.served_by) == (False, "suction-pump")
    steriliser = play.add("steriliser-vacuum")
    pack = play.fresh_pack()
    play.scan("start over", "pack", kind.card, "clean", pack)
    play.released(steriliser, pack)
    stands = item_rows.standing_of(play.clinic.store, pack)
    assert stands is not None and stands.loose == (Loose(type="fine-tip", count=1),)

    play.add("suction-pump")
    play.keeps_checks = False

    assert ask(play, "lay up", pack) == ["machine-unchecked"]


def test_stock_and_the_page_of_a_thing_say_the_same_as_the_bench(morning: Play) -> None:
    tip, pump = fit_tip(morning), morning.add("suction-pump")

    def says() -> list[list[str]]:
        now = morning.clock.now
        shown = stock.thing(morning.clinic, tip, now)
        assert shown is not None
        (shelf,) = [one for one in stock.stock(morning.clinic, now).shelves if "tip" in one.name]
        bench = morning.scan("start over", "lay up", tip)
        return [
            [why.says for why in shown.reasons],
            [why.says for why in shelf.things[0].reasons],
            [why.says for why in bench.reasons if bench.tone == "no"],
        ]

    before = says()
    morning.checked(pump)
    after = says()
    morning.clock.now += timedelta(hours=30)
    again = says()

    assert before[0] == before[1] == before[2] and len(before[0]) == 1
    assert after == [[], [], []]
    assert again == before


# --- what may be said of a type -----------------------------------------------------------------


def test_only_an_instrument_is_used_with_a_machine_and_only_with_a_machine(play: Play) -> None:
    with pytest.raises(Refused, match="Audiometer is a machine: only an instrument"):
        define(play, "audiometer", served_by="suction-pump")
    with pytest.raises(Refused, match="Hook is no machine"):
        define(play, "ring-probe", served_by="hook")


def test_what_serves_others_stays_a_machine(play: Play) -> None:
    with pytest.raises(Refused, match="is used with Suction pump, so that stays a machine"):
        define(play, "suction-pump", sort="instrument")


def test_a_type_of_before_says_nothing_of_a_machine() -> None:
    old = b'{"code":"hook","name":"Hook"}'

    assert msgspec.json.decode(old, type=facts.ItemType).served_by == ""
