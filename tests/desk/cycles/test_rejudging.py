"""Stored cycles judged again: what flips is told, and nothing is overwritten."""

from datetime import date
from decimal import Decimal

import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.cycles import rejudging
from equip.desk.cycles.rejudging import Sensor
from equip.desk.loads.end import ReadOff, end_load
from equip.desk.register import items
from equip.store.ledger.about import told_about
from equip.store.readings import load_rows
from tests.support.playing import Play

TODAY = date(2026, 3, 4)


@pytest.fixture
def steriliser(play: Play) -> str:
    return play.add("steriliser-vacuum")


@pytest.fixture
def cycles(play: Play, steriliser: str) -> list[str]:
    """A cycle of 215 s and one of 140 s in the band, or a little longer with its slopes."""
    good = play.run(steriliser, play.add("hook"))
    short = play.run(steriliser, play.add("ring-probe"), hold_s=140)
    return [good, short]


def again(play: Play, machine: str, **more: object) -> rejudging.Result:
    with acting(play.clinic, by=play.people["manager"]) as act:
        return rejudging.rejudge(act, machine, TODAY, TODAY, "asked in a test", **more)  # type: ignore[arg-type]


def test_under_the_same_rules_nothing_flips(play: Play, steriliser: str, cycles: list[str]) -> None:
    result = again(play, steriliser)

    assert (result.judged, result.flips, result.left_out) == (2, (), ())


def test_a_sensor_that_read_high_flips_what_was_barely_hot_enough(
    play: Play, steriliser: str, cycles: list[str]
) -> None:
    result = again(play, steriliser, sensor=Sensor(offset_k=Decimal("-1.0")))

    assert [(row.load.load, row.would_be) for row in result.flips] == [(cycles[0], "fail")]
    assert "134 °C" in result.flips[0].says[0]


def test_nothing_is_overwritten_and_that_it_was_asked_is_an_entry(
    play: Play, steriliser: str, cycles: list[str]
) -> None:
    again(play, steriliser, sensor=Sensor(offset_k=Decimal("-1.0")))

    verdicts = [load_rows.load_of(play.clinic.store, load) for load in cycles]
    told = [e.fact for e in told_about(play.clinic.store, cycles[0])]
    asked = [fact for fact in told if isinstance(fact, facts.Rejudged)]
    assert [load.verdict for load in verdicts if load] == ["pass", "fail"]
    assert (asked[0].judged, asked[0].flipped, asked[0].verdicts) == (2, (cycles[0],), ("fail",))
    assert asked[0].offset_k == Decimal("-1.0")


def test_another_edition_of_a_rule_flips_what_it_would_have_passed(
    play: Play, steriliser: str, cycles: list[str]
) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, "steam-134.hold", "120", "a thought", date(2027, 1, 1))

    result = again(play, steriliser, rules_of=date(2027, 1, 1))

    assert [(row.load.load, row.would_be) for row in result.flips] == [(cycles[1], "pass")]


def test_a_wide_uncertainty_leaves_it_undecided(
    play: Play, steriliser: str, cycles: list[str]
) -> None:
    result = again(play, steriliser, sensor=Sensor(uncertainty_k=Decimal("1.4")))

    assert {row.would_be for row in result.flips} == {"undecided"}


def test_a_load_without_a_log_is_left_out_and_said_so(play: Play, steriliser: str) -> None:
    typed = {"lowest_c": "134.4", "highest_c": "135.1", "hold_min": "3.5", "completed": "yes"}
    play.scan(steriliser, play.add("hook"), "start the load", "end the load", "12")
    load = load_rows.last_load(play.clinic.store, steriliser)
    assert load is not None
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, ReadOff(typed))

    result = again(play, steriliser)

    assert result.judged == 0
    assert [tag for tag, _ in result.left_out] == [load.load]


def test_only_cycles_of_the_range_are_judged_again(
    play: Play, steriliser: str, cycles: list[str]
) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        result = rejudging.rejudge(act, steriliser, date(2026, 3, 5), date(2026, 4, 1), "later")

    assert result.judged == 0


@pytest.mark.parametrize(
    "sensor",
    [
        {"offset_k": Decimal("21")},
        {"gain": Decimal("0")},
        {"gain": Decimal("NaN")},
        {"uncertainty_k": Decimal("-1")},
    ],
)
def test_a_correction_that_no_sensor_needs_is_refused(sensor: dict[str, Decimal]) -> None:
    with pytest.raises((Refused, ArithmeticError)):
        Sensor(**sensor)


def test_a_range_that_ends_before_it_begins_is_refused(play: Play, steriliser: str) -> None:
    with pytest.raises(Refused, match="before it begins"), acting(play.clinic, "") as act:
        rejudging.rejudge(act, steriliser, date(2026, 3, 5), TODAY, "x")
