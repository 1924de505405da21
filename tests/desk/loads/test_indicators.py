"""Indicators read on a load: held against their packet and the programme, never against the log."""

from datetime import date
from decimal import Decimal

import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.loads import indicators, loads
from equip.desk.loads.end import ReadOff, end_load
from equip.desk.machines import lots
from equip.desk.register import items
from equip.facts import IndicatorPlace, IndicatorResult, Stated
from equip.rules.loads.load import Load
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.post import agenda
from equip.store.readings import item_rows, load_rows
from tests.support.playing import Play

SIX = Stated(type=6, celsius=Decimal(134), seconds=Decimal(180))


def lot(play: Play, stated: Stated | None = SIX, number: str = "N-1", **more: object) -> str:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        return lots.add(act, "chemical-indicator", "Strip", number, stated=stated, **more)  # type: ignore[arg-type]


def load_of(play: Play, tag: str) -> Load:
    load = load_rows.load_of(play.clinic.store, tag)
    assert load is not None
    return load


def read(
    play: Play,
    tag: str,
    lot_tag: str,
    result: IndicatorResult,
    where: IndicatorPlace = "in the chamber",
    **more: object,
) -> list[str]:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        told = indicators.read_indicator(
            act,
            load_of(play, tag),
            lot_tag,
            where,
            result,
            **more,  # type: ignore[arg-type]
        )
    return [one.code for one in told]


@pytest.fixture
def ran(play: Play) -> str:
    """A load with one pack in it that has run and passed."""
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.cleaned(hook)
    return play.run(steriliser, play.packed(hook))


def test_a_suited_indicator_that_did_not_turn_stops_the_release_and_not_the_verdict(
    play: Play, ran: str
) -> None:
    codes = read(play, ran, lot(play), "fail")

    answer = play.scan(ran, "release")

    assert codes == ["indicator-failed"]
    assert answer.tone == "no"
    assert "did not turn" in answer.what
    assert (load_of(play, ran).verdict, load_of(play, ran).state) == ("pass", "judged")


def test_an_indicator_that_does_not_suit_is_remarked_and_lets_the_load_go(
    play: Play, ran: str
) -> None:
    longer = lot(play, Stated(type=6, celsius=Decimal(134), seconds=Decimal(210)))

    codes = read(play, ran, longer, "fail")

    assert codes == ["needs-longer", "result-not-counted"]
    assert play.scan(ran, "release").word == "Released"


def test_an_unclear_one_waits_for_a_second_look(play: Play, ran: str) -> None:
    strip = lot(play)
    read(play, ran, strip, "unclear")
    first = play.scan(ran, "release")

    read(play, ran, strip, "pass", again=True)

    assert "until somebody reads it again" in first.what
    assert play.scan("release").word == "Released"


def test_a_second_look_needs_something_unclear(play: Play, ran: str) -> None:
    strip = lot(play)
    read(play, ran, strip, "pass")

    with pytest.raises(Refused, match="no unclear indicator"):
        read(play, ran, strip, "pass", again=True)


def test_an_indicator_is_read_after_the_cycle_only(play: Play) -> None:
    steriliser, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.scan(steriliser, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, steriliser)
    assert load is not None

    with pytest.raises(Refused, match="after the cycle"):
        read(play, load.load, lot(play), "pass")


def test_a_pack_that_was_not_in_the_load_has_no_indicator_in_it(play: Play, ran: str) -> None:
    with pytest.raises(Refused, match="is not in load"):
        read(play, ran, lot(play), "pass", "in a pack", pack=play.add("hook"))


def test_another_sort_of_lot_is_no_indicator(play: Play, ran: str) -> None:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        spores = lots.add(act, "spore-test", "Spores", "S-1")

    with pytest.raises(Refused, match="is not a chemical indicator"):
        read(play, ran, spores, "pass")


@pytest.mark.parametrize(
    ("result", "codes", "released"),
    [
        ("pass", ["lot-expired", "result-not-counted"], True),
        ("fail", ["indicator-failed", "lot-expired"], False),
    ],
)
def test_of_a_lot_past_its_day_only_a_failure_counts(
    play: Play, ran: str, result: IndicatorResult, codes: list[str], released: bool
) -> None:
    old = lot(play, expires=date(2026, 3, 3))

    assert read(play, ran, old, result) == codes
    assert (play.scan(ran, "release").word == "Released") is released


def test_a_packet_whose_type_nobody_told_says_nothing(play: Play, ran: str) -> None:
    assert read(play, ran, lot(play, None), "fail") == ["result-not-counted"]


def test_a_process_indicator_that_did_not_turn_asks_whether_the_thing_went_through(
    play: Play, ran: str
) -> None:
    codes = read(play, ran, lot(play, Stated(type=1)), "fail", "on the outside")

    assert codes == ["no-judge-of-exposure", "result-not-counted", "went-through"]


def test_the_reading_keeps_the_rules_it_was_held_against(play: Play, ran: str) -> None:
    read(play, ran, lot(play), "pass")

    told = [e.fact for e in told_about(play.clinic.store, ran)]
    (fact,) = [one for one in told if isinstance(one, facts.IndicatorRead)]
    assert [(rule.id, rule.value) for rule in fact.rules] == [
        ("steam-134.low", "134.0"),
        ("steam-134.hold", "180"),
    ]


def test_one_that_is_read_after_the_release_keeps_back_what_was_not_used(play: Play) -> None:
    steriliser, used, unused = play.add("steriliser-vacuum"), play.add("hook"), play.add("hook")
    play.cleaned(used, unused)
    packs = play.packed(used), play.packed(unused)
    load = play.released(steriliser, *packs)
    play.scan("start over", "123456", "start a use", packs[0], "finish")

    read(play, load, lot(play), "fail", "in a pack", pack=packs[0])

    held = [one.item for one in item_rows.standings_held(play.clinic.store)]
    assert sorted(held) == sorted([unused, packs[1]])
    assert [job.what for job in agenda.waiting(play.clinic.store)] == ["alert"]
    assert load_of(play, load).state == "released"


# --- what the rule book asks for ---------------------------------------------------------------


def test_in_england_no_indicator_is_asked_for(play: Play, ran: str) -> None:
    assert indicators.missing(play.clinic, load_of(play, ran)) == []


def test_where_it_is_asked_for_nothing_is_released_before_it_is_read(play: Play, ran: str) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        for rule in ("indicator.each-load", "indicator.each-pack"):
            items.set_rule(act, rule, "true", "our policy", date(2026, 1, 1))
    (pack,) = [put.item for put in load_of(play, ran).inside]
    strip, wrong = lot(play), lot(play, Stated(type=1), "N-2")

    unread = play.scan("start over", ran, "release")
    at_the_bench = play.scan("start over", ran)
    read(play, ran, wrong, "pass")
    nothing_counts = indicators.missing(play.clinic, load_of(play, ran))
    read(play, ran, strip, "pass")
    one_in_the_load = indicators.missing(play.clinic, load_of(play, ran))
    read(play, ran, strip, "pass", "in a pack", pack=pack)

    assert "asks for an indicator in each load" in unread.what
    assert play.codes(at_the_bench) == ["indicator-missing", "indicator-missing"]
    assert len(nothing_counts) == 2
    assert [says.split(":")[0] for says in one_in_the_load] == [
        "The rule book asks for an indicator in each pack"
    ]
    assert indicators.missing(play.clinic, load_of(play, ran)) == []
    assert play.scan(ran, "release").word == "Released"


# --- the bench ---------------------------------------------------------------------------------


def test_a_lot_scanned_with_a_load_in_hand_leads_to_the_page_of_the_load(
    play: Play, ran: str
) -> None:
    strip = lot(play)

    without = play.scan("start over", strip)
    with_one = play.scan(ran, strip)

    assert without.tone == "no"
    assert "scan the machine or the load" in without.what
    assert with_one.word == "Indicator"
    assert "on the load's page" in with_one.next
    assert play.scan("release").word == "Released"


def test_a_lot_past_its_day_is_a_no_at_the_bench(play: Play, ran: str) -> None:
    answer = play.scan(ran, lot(play, expires=date(2026, 3, 3)))

    assert (answer.tone, answer.word) == ("no", "Not this lot")


def test_the_tables_follow_from_the_ledger(play: Play, ran: str) -> None:
    strip = lot(play)
    read(play, ran, strip, "unclear")
    read(play, ran, strip, "pass", again=True)
    play.scan(ran, "release", "undo", "undo")

    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_a_process_that_the_rule_book_promises_nothing_for_takes_the_result_as_read(
    play: Play,
) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.define_type(act, GAS)
    machine, hook = play.add("gas"), play.add("hook")
    play.keeps_sheets = False
    load = _typed_run(play, machine, hook)

    assert read(play, load, lot(play), "fail") == ["no-programme-to-suit", "indicator-failed"]


GAS = facts.ItemType(
    code="gas",
    name="Gas steriliser (invented)",
    sort="machine",
    contact="neither",
    process=facts.Process(
        steps=("sterilise",),
        programmes=(facts.Programme(judged_by="gas", name="Gas", wrapped=True, hollow=True),),
    ),
)


def _typed_run(play: Play, machine: str, *inside: str) -> str:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        load = loads.open_load(act, act.standing(machine))
    for item in inside:
        with acting(play.clinic, by=play.people["nurse"]) as act:
            loads.put_in(act, load_of(play, load), act.standing(item))
    play.clock.passes(hours=1)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load_of(play, load), ReadOff({"completed": "yes"}))
    return load
