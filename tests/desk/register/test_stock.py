"""What stands ready is computed for the moment: time alone changes Bench, Stock and alerts."""

from datetime import date

import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.register import items, stock
from equip.desk.upkeep import duty_acts
from equip.store.readings import item_rows
from tests.support.playing import Play


def entries(play: Play) -> int:
    row = play.clinic.store.one("SELECT COUNT(*) FROM ledger")
    return int(row[0]) if row else 0


def thing(play: Play, tag: str) -> stock.Thing:
    found = stock.thing(play.clinic, tag, play.clock.now)
    assert found is not None
    return found


def test_a_pack_a_wiped_scope_and_an_unwrapped_set_age_with_no_new_entry(play: Play) -> None:
    steriliser, plain = play.add("steriliser-vacuum"), play.add("steriliser-plain")
    hook, tray, probe, scope = (
        play.add("hook"),
        play.add("set"),
        play.add("ring-probe"),
        play.add("scope-wiped"),
    )
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.join(act, tray, probe)
    pack = play.sterile_pack(steriliser, hook)
    play.cleaned(tray)
    play.released(plain, tray)
    play.scan("start over", "clean", scope)
    play.wiped(scope)
    play.scan("rinse", scope)
    fresh = [thing(play, tag).round for tag in (pack, scope, tray, probe)]
    before = entries(play)

    play.clock.passes(hours=1, minutes=1)
    after_an_hour = [thing(play, tag).round for tag in (pack, scope, tray)]
    play.clock.passes(days=1)
    next_day = [thing(play, tag).round for tag in (pack, scope, tray)]
    play.clock.passes(days=366)
    next_year = thing(play, pack)
    alerts = {one.tag for one in stock.stock(play.clinic, play.clock.now).lapsed}

    assert fresh == ["ready"] * 4
    assert after_an_hour == ["ready", "soiled", "ready"]
    assert next_day == ["ready", "soiled", "soiled"]
    assert [why.code for why in next_year.reasons] == ["shelf-life-over"]
    assert {pack, scope, probe} <= alerts
    assert entries(play) == before
    assert [play.scan("start over", "lay up", tag).tone for tag in (pack, scope, tray)] == [
        "no",
        "no",
        "no",
    ]


def test_what_runs_out_within_a_day_is_listed_ahead(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook)
    play.clock.passes(days=365)

    found = stock.stock(play.clinic, play.clock.now)

    assert [one.tag for one in found.lapsing] == [pack]
    assert found.lapsed == ()


def test_each_place_in_the_round_has_its_word(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    hook = play.add("hook", "go-live")
    seen = [thing(play, hook).round]
    play.scan("123456", "start a use", hook)
    seen.append(thing(play, hook).round)
    play.scan("finish")
    seen.append(thing(play, hook).round)
    play.cleaned(hook)
    seen.append(thing(play, hook).round)
    load = play.run(steriliser, hook)
    seen.append(thing(play, hook).round)
    play.scan(load, "release")
    seen.append(thing(play, hook).round)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.send_out(act, hook, "an invented repairer", "repair")
    seen.append(thing(play, hook).round)

    assert seen == [
        "ready",
        "in use",
        "soiled",
        "in process",
        "to be released",
        "ready",
        "sent out",
    ]


def test_quarantine_stands_beside_where_it_is(play: Play) -> None:
    hook = play.add("hook", "go-live")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.quarantine(act, hook, "a burr at the tip", "clean-it-now")

    found = thing(play, hook)

    assert (found.round, found.held, found.fit) == ("ready", True, False)


def test_what_comes_back_from_outside_goes_through_its_whole_route(play: Play) -> None:
    hook = play.add("hook", "go-live")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.send_out(act, hook, "an invented repairer", "repair")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.arrive(act, hook, "repaired", "an invented repairer")

    answer = play.scan("lay up", hook)

    assert play.codes(answer) == ["soiled"]
    assert "came in from outside" in answer.reasons[0].says


def test_a_lone_page_of_stock_counts_each_type_by_where_it_is(play: Play) -> None:
    ready, used = play.add("hook", "go-live"), play.add("hook", "go-live")
    play.scan("123456", used, "finish")

    shelf = next(s for s in stock.stock(play.clinic, play.clock.now).shelves if s.type == "hook")

    assert (shelf.count("ready"), shelf.count("soiled")) == (1, 1)
    assert {one.tag for one in shelf.things} == {ready, used}


def test_a_lifted_quarantine_needs_the_right_and_a_reason(play: Play) -> None:
    hook = play.add("hook", "go-live")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.quarantine(act, hook, "a burr at the tip", "clean-it-now")

    with pytest.raises(Refused, match="no right"), acting(play.clinic, play.people["nurse"]) as act:
        items.lift(act, hook, "looks fine")
    with acting(play.clinic, play.people["manager"]) as act:
        items.lift(act, hook, "ground smooth, seen under the lens")

    stands = item_rows.standing_of(play.clinic.store, hook)
    assert stands is not None
    assert stands.quarantines == ()


def test_what_is_overdue_inside_a_set_stops_the_set_on_every_list(play: Play) -> None:
    tray, probe = play.add("set"), play.add("ring-probe", "go-live")
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.join(act, tray, probe)
        duty_acts.set_duty(act, probe, "service", date(2026, 1, 5), every_months=12, grounds=True)

    asked = play.scan("lay up", tray)
    listed = stock.stock(play.clinic, play.clock.now)

    assert play.codes(asked) == ["service-overdue"]
    assert "Ring probe" in asked.reasons[0].says
    assert _codes_of(listed, tray) == ["service-overdue"]
    assert [why.code for why in thing(play, tray).reasons] == ["service-overdue"]


def test_a_pack_that_holds_something_retired_is_no_yes_on_any_list(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.retire(act, hook, "worn")

    asked = play.scan("lay up", pack)

    assert play.codes(asked) == ["retired"]
    assert _codes_of(stock.stock(play.clinic, play.clock.now), pack) == ["retired"]


def _codes_of(listed: stock.Stock, tag: str) -> list[str]:
    [found] = [one for shelf in listed.shelves for one in shelf.things if one.tag == tag]
    return [why.code for why in found.reasons]
