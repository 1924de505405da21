"""The stages of a load corrected by hand: who may, when, what is refused, what comes of it."""

from pathlib import Path

import msgspec
import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.cycles import reference_questions, rejudging
from equip.desk.cycles.picture import cycle
from equip.desk.loads import stages
from equip.desk.loads.end import LogFile, ReadOff, end_load
from equip.desk.loads.release import reject_load
from equip.desk.register import items
from equip.desk.register.open_book import verify
from equip.facts import Programme
from equip.rules.cycles.boundaries import Boundaries
from equip.rules.loads.load import Load
from equip.store.ledger.about import told_about
from equip.store.readings import item_rows, load_rows
from tests.desk.cycles.test_rejudging import TODAY
from tests.desk.register.test_machine_limits import STEAM, WASHER, define, load_of
from tests.rules.cycles.test_thermal_wet import UNCLEAR
from tests.support.playing import Play


def log_of_unclear() -> bytes:
    lines = [f"{at:g},{c:.3f}" for at, c in zip(UNCLEAR.seconds, UNCLEAR.probes[0], strict=True)]
    return "\n".join(["seconds,celsius", *lines, ""]).encode()


@pytest.fixture
def steamed(play: Play) -> str:
    define(play, "steriliser-vacuum", limits=STEAM)
    return play.run(play.add("steriliser-vacuum"), play.add("hook"))


def washed(play: Play, log: bytes) -> str:
    define(play, "washer", programmes=(Programme(judged_by="thermal-a0-600", hollow=True),))
    return run_of(play, play.add("washer"), log)


def run_of(play: Play, machine: str, log: bytes, cycle_no: str = "1") -> str:
    play.scan("start over", machine, play.add("hook"), "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, LogFile(log), cycle_no=cycle_no)
    return load.load


def correct(play: Play, tag: str, who: str = "nurse", reason: str = "the strip", **at: str) -> Load:
    typed = {name.replace("_", "-"): seconds for name, seconds in at.items()}
    with acting(play.clinic, by=play.people[who], signed=play.people[who]) as act:
        load = load_rows.load_of(act.store, tag)
        assert load is not None
        stages.correct(act, load, typed, reason)
    return load_of(play, tag)


def shown(play: Play, tag: str) -> stages.StagesShown:
    load = load_of(play, tag)
    machine = item_rows.standing_of(play.clinic.store, load.machine)
    assert machine is not None
    return stages.shown(play.clinic, load, play.clinic.house.kind(machine.type).process)


# --- shown ------------------------------------------------------------------------------------


def test_the_stages_of_a_sterilisers_log_are_shown_in_order(play: Play, steamed: str) -> None:
    found = shown(play, steamed)

    assert [one.name for one in found.parts] == [
        "air removal",
        "heating",
        "holding",
        "venting",
        "drying",
    ]
    assert found.found == Boundaries(air_removal_ends_s=478.0, drying_begins_s=966.0)


def test_a_washer_can_only_have_the_beginning_of_its_drying_corrected(play: Play) -> None:
    found = shown(play, washed(play, WASHER))

    assert [one.name for one in found.parts] == ["wash", "rinse", "disinfection", "drying"]
    assert found.may == ("drying-begins",)


def test_a_load_without_a_log_has_no_stages(play: Play) -> None:
    bath, hook = play.add("ultrasonic-bath"), play.add("hook")
    play.scan("start over", bath, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, bath)
    assert load is not None
    with acting(play.clinic, by=play.people["nurse"]) as act:
        typed = {"completed": "yes", "detergent": "yes", "degassed": "yes"}
        end_load(act, load, ReadOff(typed))

    assert shown(play, load.load) == stages.NOTHING
    with pytest.raises(Refused, match="no log"):
        correct(play, load.load, drying_begins="10")


# --- corrected --------------------------------------------------------------------------------


def test_a_correction_is_told_with_a_new_judgement_in_the_same_act(
    play: Play, steamed: str
) -> None:
    load = correct(play, steamed, air_removal_ends="300", reason="the chart of the machine")

    told = [entry.fact for entry in told_about(play.clinic.store, steamed)][-2:]
    assert [type(fact) for fact in told] == [facts.StagesCorrected, facts.LoadJudged]
    assert told[0].act == told[1].act
    assert load.verdict == "fail"
    assert load.reasons[0].code == "pulses-few"
    assert load.reasons[-1].says == (
        "Stages corrected by Nell Ash: the chart of the machine "
        "(the end of the air removal at 5 min)"
    )


def test_band_holding_time_and_saturation_are_those_of_the_whole_log_either_way(
    play: Play, steamed: str
) -> None:
    before = load_of(play, steamed).figures

    after = correct(play, steamed, air_removal_ends="300", drying_begins="1100").figures

    changed = {name for name in before if before[name] != after[name]}
    assert changed <= {"pulses", "drying_min_kpa", "drying_s", "drying_held_s"}


def test_what_the_log_contradicts_is_refused_and_nothing_is_told(play: Play, steamed: str) -> None:
    before = play.clinic.store.rows("SELECT COUNT(*) FROM ledger")

    for wanted, why in (
        ({"air_removal_ends": "900"}, "the holding time began"),
        ({"drying_begins": "700"}, "still at"),
        ({"drying_begins": "99999"}, "The log runs from"),
        ({"drying_begins": "soon"}, "type the seconds"),
        ({}, "nothing was corrected"),
    ):
        with pytest.raises(Refused, match=why):
            correct(play, steamed, **wanted)

    assert play.clinic.store.rows("SELECT COUNT(*) FROM ledger") == before


def test_an_empty_correction_takes_the_one_before_it_back(play: Play, steamed: str) -> None:
    found = load_of(play, steamed).figures
    correct(play, steamed, air_removal_ends="300")

    load = correct(play, steamed, reason="that was another cycle's chart")

    assert (load.verdict, load.boundaries, load.figures) == ("pass", {}, found)
    assert load.reasons[-1].says == (
        "Stages as they were found again, by Nell Ash: that was another cycle's chart"
    )


@pytest.mark.parametrize("who", ["trainee", "auditor"])
def test_nobody_without_the_right_corrects_anything(play: Play, steamed: str, who: str) -> None:
    with pytest.raises(Refused, match="no right"):
        correct(play, steamed, who, air_removal_ends="300")


def test_a_reason_is_needed(play: Play, steamed: str) -> None:
    with pytest.raises(Refused, match="Say why"):
        correct(play, steamed, reason="  ", air_removal_ends="300")


def test_once_it_is_decided_nothing_is_corrected_any_more(play: Play, steamed: str) -> None:
    play.scan(steamed, "release")
    with pytest.raises(Refused, match="look-back"):
        correct(play, steamed, air_removal_ends="300")

    other = play.run(load_of(play, steamed).machine, play.add("ring-probe"), hold_s=140)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        reject_load(act, load_of(play, other), play.people["nurse"], "cold")
    with pytest.raises(Refused, match="rejected"):
        correct(play, other, air_removal_ends="300")


def test_a_load_that_was_not_judged_yet_has_nothing_to_correct(play: Play) -> None:
    machine = play.add("steriliser-vacuum")
    play.scan("start over", machine, play.add("hook"), "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None

    with pytest.raises(Refused, match="still running"):
        correct(play, load.load, air_removal_ends="300")


def test_an_unclear_washer_load_passes_by_hand_and_another_person_releases_it(play: Play) -> None:
    tag = washed(play, log_of_unclear())
    assert load_of(play, tag).verdict == "undecided"

    assert correct(play, tag, drying_begins="1500").verdict == "pass"

    answer = play.scan(tag, "release")
    assert "somebody other than who corrected them" in answer.what
    assert load_of(play, tag).state == "judged"
    answer = play.scan(tag, "release", who="manager", at="bench 2")
    assert answer.word == "Released"
    assert any("Stages corrected by Nell Ash" in reason.says for reason in answer.reasons)


def drawn(play: Play, tag: str) -> tuple[list[str], list[str]]:
    """The title of the last panel with its spans, and every moment of the picture, in words."""
    found = cycle.drawn_of(play.clinic, load_of(play, tag))
    assert found is not None
    spans = [span.says for panel in found.panels for span in panel.spans]
    return [found.panels[-1].title, *spans], [event.says for event in found.events]


def test_a_washers_picture_shows_the_stages_and_the_a0_that_it_was_judged_by(play: Play) -> None:
    tag = washed(play, log_of_unclear())
    assert drawn(play, tag)[0] == [
        "A0 so far, s: it came to 0",
        "water or air? does not count",
    ]

    a0_s = correct(play, tag, drying_begins="1500").figures["a0_s"]

    panels, moments = drawn(play, tag)
    assert a0_s.startswith("6835.2")
    assert panels == [
        "A0 so far, s: it came to 6,835.2",
        "water: counts",
        "drying, by hand: does not count",
    ]
    assert "drying begins, as corrected by hand" in moments


def test_a_sterilisers_picture_tells_what_was_corrected(play: Play, steamed: str) -> None:
    assert not any("by hand" in says for says in drawn(play, steamed)[1])

    correct(play, steamed, air_removal_ends="470")

    assert "end of the air removal, as corrected by hand" in drawn(play, steamed)[1]


def test_a_load_is_compared_by_the_stages_that_it_was_judged_by(play: Play) -> None:
    """Both logs are the same: only what was corrected of one of them can be asked about."""
    reference = washed(play, log_of_unclear())
    machine = load_of(play, reference).machine
    correct(play, reference, drying_begins="1500")
    with acting(play.clinic, by=play.people["manager"]) as act:
        reference_questions.choose(act, load_of(play, reference), "as validated")
    tag = run_of(play, machine, log_of_unclear() + b"\n", "2")

    def a0() -> tuple[float | None, float | None]:
        rows = reference_questions.beside(play.clinic, load_of(play, tag)).rows
        found = next(row for row in rows if row.figure.id == "a0_s")
        return found.reference, found.here

    assert a0() == (pytest.approx(6835.220237), None)
    correct(play, tag, drying_begins="1500")
    assert a0() == (pytest.approx(6835.220237), pytest.approx(6835.220237))
    assert reference_questions.open_questions(play.clinic, load_of(play, tag)) == ()


def test_a_clinic_of_one_may_decide_that_the_same_person_releases_it(play: Play) -> None:
    tag = washed(play, log_of_unclear())
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, "release.corrected-two-people", "no", "one nurse", TODAY)

    correct(play, tag, drying_begins="1500")

    assert play.scan(tag, "release").word == "Released"


def test_the_bench_says_of_a_passed_load_that_its_stages_were_corrected(
    play: Play, steamed: str
) -> None:
    correct(play, steamed, drying_begins="1000")

    answer = play.scan(steamed)

    assert answer.word == "Passed"
    assert any("Stages corrected by Nell Ash" in reason.says for reason in answer.reasons)


# --- afterwards -------------------------------------------------------------------------------


def test_stored_cycles_are_judged_again_by_their_corrected_stages(play: Play, steamed: str) -> None:
    correct(play, steamed, air_removal_ends="300")
    machine = load_of(play, steamed).machine

    with acting(play.clinic, by=play.people["manager"]) as act:
        again = rejudging.rejudge(act, machine, TODAY, TODAY, "asked in a test")

    assert (again.judged, again.flips) == (1, ())


def test_a_second_correction_replaces_the_first(play: Play, steamed: str) -> None:
    correct(play, steamed, air_removal_ends="300")

    load = correct(play, steamed, drying_begins="1000")

    assert load.boundaries == {"drying-begins": "1000"}
    assert load.verdict == "pass"


def test_the_tables_fold_again_to_the_same_with_a_correction_in_them(
    play: Play, steamed: str, tmp_path: Path
) -> None:
    correct(play, steamed, air_removal_ends="300")

    proof = verify(play.clinic, (), chain_only=False, scratch=tmp_path)

    assert proof.whole, proof.projections


def test_a_limit_set_since_then_counts_with_the_correction(play: Play, steamed: str) -> None:
    """It is judged by the machine's type as it is, and what it was worth before stays known."""
    define(play, "steriliser-vacuum", limits=msgspec.structs.replace(STEAM, pulses=9))

    load = correct(play, steamed, drying_begins="1000")

    assert (load.as_found, load.verdict) == ("pass", "fail")
