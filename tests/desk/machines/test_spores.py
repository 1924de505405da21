"""Spore tests of loads: put in, read days later, and what they do to machine, stock and sheet."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.loads import indicators
from equip.desk.lookback.cases import spore_doubt
from equip.desk.machines import lots, spores
from equip.desk.register import items
from equip.facts import Stated
from equip.store.database import migrate
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.post import agenda
from equip.store.readings import case_rows, item_rows, load_rows, machine_rows
from tests.support.playing import Play
from tests.support.spore_play import SporePlay, asked_for_weekly


@pytest.fixture
def life(play: Play) -> SporePlay:
    return SporePlay.begin(play)


def held(play: Play) -> list[str]:
    return [one.item for one in item_rows.standings_held(play.clinic.store)]


# --- put in and read ---------------------------------------------------------------------------


def test_a_result_days_after_the_release_is_the_loads_and_the_machines(life: SporePlay) -> None:
    load = life.run(spores=True)
    life.play.clock.passes(days=2)

    result = life.read(load, grew=False, incubated_h=Decimal(48), incubator_c=Decimal("56.5"))

    (spore,) = life.load_of(load).spores
    told = [entry.fact for entry in told_about(life.play.clinic.store, life.machine)]
    (tested,) = [one for one in told if isinstance(one, facts.MachineTested) and one.load]
    assert result == spore.result == "negative"
    assert (tested.test, tested.verdict, tested.load) == ("spore", "pass", load)
    assert tested.at == life.load_of(load).ran
    assert life.load_of(load).state == "released"


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"control_grew": None}, "whether its control grew"),
        ({"incubated_h": Decimal(0)}, "0 h in the incubator"),
        ({"incubator_c": Decimal(134)}, "An incubator at 134 °C"),
    ],
)
def test_a_reading_that_makes_no_sense_is_a_sentence(
    life: SporePlay, more: dict[str, object], says: str
) -> None:
    load = life.run(spores=True)

    with pytest.raises(Refused, match=says):
        life.read(load, grew=False, **more)


def test_a_load_without_one_has_no_result(life: SporePlay) -> None:
    with pytest.raises(Refused, match="put it in first"):
        life.read(life.run(), grew=False)


def test_the_same_lot_goes_into_a_load_once_and_not_after_the_decision(life: SporePlay) -> None:
    load = life.run(spores=True, release=False)
    with pytest.raises(Refused, match="already"):
        life.put(load)
    with pytest.raises(Refused, match="is decided"):
        life.put(life.run())


def test_a_lot_past_its_day_is_kept_out_while_it_can_be_changed(play: Play) -> None:
    life = SporePlay.begin(play, expires=date(2026, 3, 3))
    play.scan(life.machine, play.add("hook"))
    filling = load_rows.load_on(play.clinic.store, life.machine)
    assert filling is not None

    with pytest.raises(Refused, match=r"expired on 2026-03-03\. Take another"):
        life.put(filling.load)


def test_a_lot_past_its_day_that_went_in_all_the_same_is_invalid_and_closes_nothing(
    play: Play,
) -> None:
    asked_for_weekly(play)
    play.keeps_sheets = True
    life = SporePlay.begin(play, expires=date(2026, 3, 3))
    load = life.run(spores=True)

    assert life.read(load, grew=False) == "invalid"
    assert life.scope().begins is not None  # the test of the sheet that let the load run
    life.play.clock.passes(days=7)
    assert life.line() == ("missing", True)


def test_a_dead_control_makes_it_invalid_until_it_is_seen_to_grow(life: SporePlay) -> None:
    load = life.run(spores=True)

    first = life.read(load, grew=False, control_grew=False)
    second = life.read(load, grew=False, control_grew=True)

    assert (first, second) == ("invalid", "negative")


def test_growth_that_shows_later_counts_and_is_never_read_away(life: SporePlay) -> None:
    load = life.run(spores=True)
    life.read(load, grew=False)

    assert life.read(load, grew=True) == "positive"
    with pytest.raises(Refused, match="stays in the book"):
        life.read(load, grew=False)
    assert life.scope().is_open


def test_a_load_that_waits_is_not_released_once_its_spores_grew(life: SporePlay) -> None:
    load = life.run(spores=True, release=False)
    life.read(load, grew=True)

    assert "Spores grew in its own test" in life.play.scan(load, "release").what


# --- what a positive one does ------------------------------------------------------------------


def test_a_positive_one_keeps_back_what_was_not_used_since_the_last_negative(play: Play) -> None:
    life = SporePlay.begin(play)
    hooks = [play.add("hook") for _ in range(4)]
    play.cleaned(*hooks)
    packs = [play.packed(hook) for hook in hooks]
    before = life.run(packs[0], spores=True)
    life.run(packs[1])
    play.scan("start over", "123456", "start a use", packs[1], "finish", "start over")
    life.run(packs[2])
    positive = life.run(packs[3], spores=True)
    life.read(before, grew=False)

    life.read(positive, grew=True)

    assert sorted(held(play)) == sorted([packs[2], hooks[2], packs[3], hooks[3]])
    assert [job.what for job in agenda.waiting(play.clinic.store)] == ["alert"]


def test_where_the_rule_only_blocks_nothing_is_kept_back(play: Play) -> None:
    life = SporePlay.begin(play)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, "test.spore.failed", "block", "our policy", date(2026, 1, 1))
    life.read(life.run(spores=True), grew=True)

    assert held(play) == []
    assert life.line() == ("failed", True)


def test_in_england_no_spore_test_is_asked_for_and_a_positive_one_stops_the_machine(
    life: SporePlay,
) -> None:
    load = life.run(spores=True)
    before = life.line()

    life.read(load, grew=True)
    answer = life.play.scan("start over", life.machine, life.play.add("hook"), "start the load")

    assert before is None
    assert life.line() == ("failed", True)
    assert "0 of 3 negative repeats in a row so far" in answer.what


def test_after_three_negative_repeats_the_machine_runs_and_its_stock_is_let_out(
    life: SporePlay,
) -> None:
    play = life.play
    positive = life.run(spores=True)
    life.read(positive, grew=True)
    assert len(held(play)) == 2

    def let_out() -> int:
        with acting(play.clinic, by=play.people["manager"]) as act:
            return spore_doubt.let_out(act, life.machine, life.process, "three were negative")

    for _ in range(3):
        with pytest.raises(Refused, match="still out of use"):
            let_out()
        life.repeat(negative=True)

    assert life.line() is None
    assert let_out() == 2
    assert held(play) == []
    with pytest.raises(Refused, match="Nothing is kept back"):
        let_out()


def test_only_who_may_lift_a_quarantine_lets_the_stock_out(life: SporePlay) -> None:
    play = life.play
    life.read(life.run(spores=True), grew=True)
    for _ in range(3):
        life.repeat(negative=True)

    with (
        pytest.raises(Refused, match="no right to lift"),
        acting(play.clinic, by=play.people["nurse"]) as act,
    ):
        spore_doubt.let_out(act, life.machine, life.process, "in a hurry")


# --- the look-back, opened by a person ----------------------------------------------------------


def confirm(life: SporePlay, why: str = "Spores grew twice.", **declared: object) -> str:
    with acting(life.play.clinic, by=life.play.people["manager"]) as act:
        return spore_doubt.confirm(act, life.machine, life.process, why, **declared)  # type: ignore[arg-type]


def test_no_look_back_is_opened_by_itself(life: SporePlay) -> None:
    life.read(life.run(spores=True), grew=True)
    life.repeat(negative=False)

    assert case_rows.doubts(life.play.clinic.store) == []
    assert len(life.scope().proposed) == 1


def test_a_confirmed_doubt_is_one_look_back_and_is_not_proposed_again(life: SporePlay) -> None:
    before = life.run(spores=True)
    loads = [life.run(), life.run(spores=True), life.run()]
    life.read(before, grew=False)
    life.read(loads[1], grew=True)
    life.repeat(negative=False)

    case = confirm(life)

    (row,) = case_rows.doubts(life.play.clinic.store)
    assert (row.case, list(row.loads)) == (case, loads)
    assert life.scope().proposed == ()
    assert life.scope().cases == (case,)
    with pytest.raises(Refused, match="in a look-back already"):
        confirm(life)


def test_a_doubt_that_nobody_confirmed_outlasts_the_negative_repeats(life: SporePlay) -> None:
    load = life.run(spores=True)
    life.read(load, grew=True)
    for negative in (False, True, True, True):
        life.repeat(negative=negative)

    found = life.scope()
    assert not found.is_open
    assert found.proposed == (load,)
    with (
        pytest.raises(Refused, match="open it first"),
        acting(life.play.clinic, by=life.play.people["manager"]) as act,
    ):
        spore_doubt.let_out(act, life.machine, life.process, "all well")
    confirm(life)
    assert life.scope().in_doubt == ()


def test_wrong_settings_are_declared_without_any_positive_test(life: SporePlay) -> None:
    loads = [life.run() for _ in range(3)]

    confirm(life, "It was set to 121 °C.", wrong=[loads[1]])

    (row,) = case_rows.doubts(life.play.clinic.store)
    assert list(row.loads) == [loads[1]]
    assert len(held(life.play)) == 2
    assert life.line() is None


def test_a_machine_found_at_fault_goes_out_of_use_until_somebody_lifts_it(
    life: SporePlay,
) -> None:
    loads = [life.run() for _ in range(2)]

    confirm(life, "The door seal was torn.", defect=True)
    answer = life.play.scan("start over", life.machine)

    (row,) = case_rows.doubts(life.play.clinic.store)
    assert list(row.loads) == loads
    assert life.machine in held(life.play)
    assert "may not run" in answer.what


def test_a_load_of_another_machine_had_no_settings_here(life: SporePlay) -> None:
    other = SporePlay(life.play, life.play.add("steriliser-plain"), life.lot)
    hook = life.play.add("hook")
    life.play.cleaned(hook)
    strange = other.run(hook)
    life.run()

    with pytest.raises(Refused, match="not among the loads"):
        confirm(life, wrong=[strange])


# --- the sheet of the day and what waits --------------------------------------------------------


def test_a_weekly_test_in_a_load_satisfies_the_sheet_while_it_grows_and_when_it_is_read(
    play: Play,
) -> None:
    asked_for_weekly(play)
    life = SporePlay.begin(play, stated=Stated(incubate_h=48))
    play.tested(life.machine)
    play.clock.passes(days=6)
    load = life.run(spores=True)

    play.clock.passes(days=1)
    growing = life.line()
    play.clock.passes(hours=36)
    late = life.line()
    life.read(load, grew=False, incubated_h=Decimal(60))
    read = life.line()
    play.clock.passes(days=6)

    assert (growing, late, read) == (("passed", False), ("missing", True), ("passed", False))
    assert life.line() == ("missing", True)


def test_a_test_that_waits_is_late_after_the_hours_on_its_packet(play: Play) -> None:
    life = SporePlay.begin(play, stated=Stated(incubate_h=24))
    load = life.run(spores=True)
    ran = life.load_of(load).ran
    assert ran is not None
    play.clock.now = ran + timedelta(hours=24)
    on_time = spores.late_lines(play.clinic, play.clock.now)
    play.clock.passes(seconds=1)

    (late,) = spores.late_lines(play.clinic, play.clock.now)

    assert on_time == []
    assert "waits to be read since" in late
    life.read(load, grew=False)
    assert spores.waiting(play.clinic, play.clock.now) == []


def test_a_test_in_a_load_that_has_not_run_waits_and_is_not_late(play: Play) -> None:
    life = SporePlay.begin(play)
    play.scan(life.machine, play.add("hook"))
    load = load_rows.load_on(play.clinic.store, life.machine)
    assert load is not None
    life.put(load.load)
    play.clock.passes(days=30)

    (one,) = spores.waiting(play.clinic, play.clock.now)

    assert (one.due, one.late) == (None, False)


def test_a_steriliser_without_steam_has_its_spore_test_on_the_sheet(play: Play) -> None:
    asked_for_weekly(play)
    life = SporePlay.begin(play, "gas")

    assert life.line() == ("missing", True)


def test_incubation_that_no_packet_states_is_refused(play: Play) -> None:
    with pytest.raises(Refused, match="5000 h of incubation"):
        SporePlay.begin(play, stated=Stated(incubate_h=5000))


def test_another_lot_is_no_spore_test(life: SporePlay) -> None:
    load = life.run(release=False)
    with acting(life.play.clinic, by=life.play.people["nurse"]) as act:
        strips = lots.add(act, "chemical-indicator", "Strip", "N-1")

    with pytest.raises(Refused, match="is not a spore test"), acting(life.play.clinic, "") as act:
        indicators.put_spore(act, life.load_of(load), strips, with_control=True)


def test_the_tables_follow_from_the_ledger(life: SporePlay) -> None:
    load = life.run(spores=True)
    life.run(spores=True)
    life.read(load, grew=False, control_grew=False)
    life.read(load, grew=True)
    life.repeat(negative=False)
    confirm(life)

    assert differences(life.play.clinic.store, life.play.clinic.settings.data) == []


def test_a_book_from_before_gets_its_spore_cycles_from_what_is_there(life: SporePlay) -> None:
    store = life.play.clinic.store
    for negative in (True, False, True):
        life.repeat(negative=negative)
    store.run("DROP TABLE spore_test")
    store.run("DELETE FROM schema_migration WHERE name = ?", "0010_spore_tests")

    done = migrate(store)

    assert done == ["0010_spore_tests"]
    assert differences(store, life.play.clinic.settings.data) == []
    assert [test.result for test in machine_rows.spore_tests(store, life.machine)] == [
        "negative",
        "positive",
        "negative",
    ]
