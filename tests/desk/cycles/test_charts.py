"""Control charts of a machine: what is usual is known from its own cycles; what is odd is told."""

from decimal import Decimal
from xml.etree import ElementTree

from equip.demo.cycles import steam_log
from equip.desk.act.act import acting
from equip.desk.cycles import charts
from equip.desk.loads.end import LogFile, end_load
from equip.desk.machines import sheets
from equip.store.readings import load_rows
from tests.support.playing import Play


def cycle(play: Play, machine: str, plateau_c: float) -> None:
    """One judged cycle whose plateau is at *plateau_c*."""
    play.scan("start over", machine, play.add("hook"), "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    play.cycles += 1
    play.clock.passes(minutes=25)
    log = steam_log(play.cycles, plateau_c=plateau_c)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, LogFile(log), cycle_no=str(play.cycles))


def charted(play: Play, machine: str) -> dict[str, charts.Chart]:
    return {c.figure.id: c for c in charts.charts(play.clinic, machine, play.clock.now)}


def test_too_few_cycles_make_no_chart(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    for _ in range(7):
        cycle(play, steriliser, 134.8)

    assert charted(play, steriliser) == {}


def test_a_steady_machine_shows_nothing_odd(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    for _ in range(12):
        cycle(play, steriliser, 134.8)

    found = charts.charts(play.clinic, steriliser, play.clock.now)

    figures = {chart.figure.id for chart in found}
    assert figures == {"hold_min_c", "theory_gap_max_k", "hold_start_s"}
    assert charts.signals(found) == []


def test_a_cycle_that_leaves_the_usual_range_is_odd_though_it_passed(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    for plateau in [135.5, 135.52, 135.48] * 5 + [134.6]:
        cycle(play, steriliser, plateau)

    found = charts.charts(play.clinic, steriliser, play.clock.now)

    newest = load_rows.last_load(play.clinic.store, steriliser)
    assert newest is not None
    assert newest.verdict == "pass"
    assert charts.signals(found)


def test_a_slow_drift_is_seen_by_the_moving_average(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    ends = ["5.2", "5.3"] * 8 + ["5.4", "5.5", "5.4", "5.5", "5.5"]
    for end in ends:
        given = {"start_kpa": "5.0", "end_kpa": end, "settle_s": "300", "timed_s": "600"}
        with acting(play.clinic, by=play.people["nurse"]) as act:
            sheets.record(act, steriliser, "leak-rate", given=given)
        play.clock.passes(days=7)

    chart = charted(play, steriliser)["leak-rate"]

    assert [point.value for point in chart.points][:2] == [Decimal("0.02"), Decimal("0.03")]
    assert chart.singles == ()
    assert chart.drifting[-1] == chart.points[-1]
    assert "drifts away" in " ".join(charts.signals([chart]))


def test_the_picture_is_a_whole_drawing_that_says_what_it_shows(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    for _ in range(8):
        cycle(play, steriliser, 134.8)

    drawing = ElementTree.fromstring(charted(play, steriliser)["hold_min_c"].picture)

    assert drawing[0].text is not None
    assert "8 values" in drawing[0].text
