"""Loads without a log: typed by kind of machine, read again by a second person, photographed."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import msgspec
import pytest

from equip import facts
from equip.demo.cycles import steam_log
from equip.desk.act.act import Refused, acting
from equip.desk.loads import second_reader
from equip.desk.loads.end import LogFile, ReadOff, end_load
from equip.desk.loads.release import release_load
from equip.desk.register import items
from equip.facts import EvidenceConfirmed, LoadEnded, LoadJudged
from equip.rules.loads.load import Load
from equip.store.fold.rebuild import differences
from equip.store.kept import files
from equip.store.ledger.about import told_about
from equip.store.readings import load_rows
from tests.support import pictures
from tests.support.playing import Play

STEAM = {"lowest_c": "134.4", "highest_c": "135.1", "hold_min": "3.5", "completed": "yes"}
WASHED = {"completed": "yes", "a0_shown": "3200", "detergent": "yes", "lot": "L7"}
BATHED = {"completed": "yes", "run_min": "4", "bath_c": "38", "detergent": "yes", "lot": "L7"}
BATHED |= {"degassed": "yes"}


def load_of(play: Play, tag: str) -> Load:
    load = load_rows.load_of(play.clinic.store, tag)
    assert load is not None
    return load


def typed(
    play: Play, code: str, values: Mapping[str, str], *, photo: bytes = b"", late: bool = False
) -> str:
    """A load of one hook on such a machine, whose nurse typed *values*; its tag."""
    machine, hook = play.add(code), play.add("hook")
    play.scan("start over", machine, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    if late:
        play.scan("end the load", "12")
    kept = second_reader.looked_at(play.clinic, photo, "strip.jpg") if photo else None
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load_of(play, load.load), ReadOff(values, kept))
    return load.load


def read_again(play: Play, load: str, values: Mapping[str, str], who: str = "manager") -> bool:
    play.clock.passes(minutes=1)
    with acting(play.clinic, by=play.people[who]) as act:
        return second_reader.read_again(act, load_of(play, load), values)


def decide(play: Play, rule: str, value: str) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, rule, value, "our policy", date(2026, 1, 1))


def codes(load: Load) -> list[str]:
    return [reason.code for reason in load.reasons]


def told(play: Play, load: str, kind: type[facts.Fact]) -> list[facts.Fact]:
    return [e.fact for e in told_about(play.clinic.store, load) if isinstance(e.fact, kind)]


# --- the second reader -------------------------------------------------------------------------


@pytest.mark.parametrize("late", [False, True])
def test_a_second_person_who_reads_the_same_makes_it_a_pass(play: Play, late: bool) -> None:
    tag = typed(play, "steriliser-vacuum", STEAM, late=late)
    alone = load_of(play, tag)

    agreed = read_again(play, tag, STEAM)

    load = load_of(play, tag)
    assert (alone.verdict, alone.wants_reader) == ("undecided", True)
    assert (agreed, load.verdict, load.wants_reader) == (True, "pass", False)
    assert load.readers == (play.people["nurse"], play.people["manager"])
    assert codes(load) == ["typed-shows-less", "no-photo"]


def test_a_name_said_by_the_first_reader_is_no_second_reading(play: Play) -> None:
    tag = typed(play, "steriliser-vacuum", STEAM)

    with pytest.raises(Refused, match="must be another person"):
        read_again(play, tag, STEAM, who="nurse")

    assert load_of(play, tag).verdict == "undecided"
    assert told(play, tag, EvidenceConfirmed) == []


def test_an_auditor_and_somebody_who_left_are_no_second_readers(play: Play) -> None:
    tag = typed(play, "steriliser-vacuum", STEAM)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.add_person(act, "Tam Birch", "nurse", [], tag=play.people["trainee"], active=False)

    for who in ("auditor", "trainee"):
        with pytest.raises(Refused, match="must be another person"):
            read_again(play, tag, STEAM, who=who)


def test_a_second_reading_that_differs_leaves_it_undecided_and_one_more_may_agree(
    play: Play,
) -> None:
    tag = typed(play, "steriliser-vacuum", STEAM)

    first = read_again(play, tag, {**STEAM, "lowest_c": "133.4"})
    between = load_of(play, tag)
    second = read_again(play, tag, STEAM)

    assert (first, second) == (False, True)
    assert (between.verdict, between.wants_reader) == ("undecided", True)
    assert "readers-differ" in codes(between)
    load = load_of(play, tag)
    assert load.verdict == "pass"
    assert "first-differed" in codes(load)
    assert [one.differs for one in load.again] == [("lowest_c",), ()]


def test_after_the_last_reading_that_differs_nobody_can_release_it(play: Play) -> None:
    tag = typed(play, "steriliser-vacuum", STEAM)
    other = {**STEAM, "hold_min": "4"}

    read_again(play, tag, other)
    read_again(play, tag, other, who="trainee")

    load = load_of(play, tag)
    assert (load.verdict, load.wants_reader) == ("undecided", False)
    assert "readers-disagree" in codes(load)
    with pytest.raises(Refused, match="does not wait"):
        read_again(play, tag, STEAM)
    with (
        pytest.raises(Refused, match="nobody can release it"),
        acting(play.clinic, by=play.people["manager"]) as act,
    ):
        release_load(act, load_of(play, tag), play.people["manager"])


def test_how_often_it_may_be_read_again_is_a_rule(play: Play) -> None:
    decide(play, "evidence.second-reading-tries", "1")
    tag = typed(play, "steriliser-vacuum", STEAM)

    read_again(play, tag, {**STEAM, "hold_min": "4"})

    assert not load_of(play, tag).wants_reader


def test_what_rounds_to_the_same_agrees_and_the_worse_reading_is_judged(play: Play) -> None:
    tag = typed(play, "steriliser-vacuum", {**STEAM, "lowest_c": "134"})

    agreed = read_again(play, tag, {**STEAM, "lowest_c": "133.6"})

    assert (agreed, load_of(play, tag).verdict) == (True, "fail")


def test_a_load_that_waits_for_a_second_reader_cannot_be_released(play: Play) -> None:
    tag = typed(play, "steriliser-vacuum", STEAM)

    with (
        pytest.raises(Refused, match="second person must read"),
        acting(play.clinic, by=play.people["manager"]) as act,
    ):
        release_load(act, load_of(play, tag), play.people["manager"])


def test_a_failed_load_waits_for_nobody(play: Play) -> None:
    tag = typed(play, "steriliser-vacuum", {**STEAM, "hold_min": "2"})

    assert load_of(play, tag).verdict == "fail"
    with pytest.raises(Refused, match="does not wait"):
        read_again(play, tag, STEAM)


def test_where_one_reader_is_enough_nothing_is_asked_of_a_second(play: Play) -> None:
    decide(play, "evidence.typed-two-readers", "false")

    tag = typed(play, "steriliser-vacuum", STEAM)

    assert load_of(play, tag).verdict == "pass"
    with pytest.raises(Refused, match="does not wait"):
        read_again(play, tag, STEAM)


def test_a_value_that_makes_no_sense_is_refused_and_costs_no_reading(play: Play) -> None:
    tag = typed(play, "steriliser-vacuum", STEAM)

    for bad in ({**STEAM, "lowest_c": "hot"}, {**STEAM, "lot": "L7"}, {"lowest_c": "134.4"}):
        with pytest.raises(Refused):
            read_again(play, tag, bad)

    assert load_of(play, tag).again == ()


def test_a_second_reader_who_leaves_a_value_out_did_not_read_it(play: Play) -> None:
    tag = typed(play, "steriliser-vacuum", STEAM)

    assert not read_again(play, tag, {"completed": "yes", "lowest_c": "134.4"})

    assert load_of(play, tag).again[0].differs == ("highest_c", "hold_min")


def test_whoever_is_to_read_is_shown_no_value_and_everybody_else_is(play: Play) -> None:
    tag = typed(play, "steriliser-vacuum", STEAM)
    kind = play.clinic.house.types["steriliser-vacuum"].process
    assert kind is not None

    seen = {
        who: second_reader.asked(play.clinic, load_of(play, tag), kind, play.people[who])
        for who in play.people
    }

    assert {who: one.may for who, one in seen.items() if one} == {
        "manager": True,
        "nurse": False,
        "trainee": True,
        "auditor": False,
    }
    assert seen["manager"] is not None and not seen["manager"].shows("below-band")
    assert seen["nurse"] is not None and seen["nurse"].shows("below-band")


def test_a_load_told_before_second_readers_read_for_themselves_stays_as_it_was(play: Play) -> None:
    """Its facts name a second reader and no readers: passed it stays so, undecided too."""
    machine, hook = play.add("steriliser-vacuum"), play.add("hook")
    play.scan("start over", machine, hook, "start the load")
    load = load_rows.load_on(play.clinic.store, machine)
    assert load is not None
    with acting(play.clinic, by=play.people["nurse"]) as act:
        about = {"load": load.load, "machine": machine}
        act.tell(
            LoadEnded,
            **about,
            steps=("sterilise",),
            typed=STEAM,
            second_reader=play.people["manager"],
        )
        reason = facts.Told(code="one-reader", says="Typed values need a second person.")
        act.tell(
            LoadJudged,
            **about,
            programme="steam-134",
            verdict="undecided",
            reasons=(reason,),
            figures=STEAM,
            judge="typed-1",
        )

    old = load_of(play, load.load)

    assert old.second_reader == play.people["manager"]
    assert not old.wants_reader
    assert b"readers" not in facts.canonical(told(play, load.load, LoadJudged)[0])
    assert b"photo" not in facts.canonical(told(play, load.load, LoadEnded)[0])


def test_the_tables_are_what_the_ledger_adds_up_to_after_second_readings(
    play: Play, tmp_path: Path
) -> None:
    tag = typed(play, "steriliser-vacuum", STEAM, photo=pictures.jpeg())
    read_again(play, tag, {**STEAM, "hold_min": "4"})
    read_again(play, tag, STEAM)

    assert differences(play.clinic.store, tmp_path) == []


# --- the photo -----------------------------------------------------------------------------------


@pytest.mark.parametrize("late", [False, True])
def test_a_photo_is_kept_by_its_hash_with_the_load(play: Play, late: bool) -> None:
    picture = pictures.jpeg()

    tag = typed(play, "steriliser-vacuum", STEAM, photo=picture, late=late)

    load = load_of(play, tag)
    assert files.fetch(play.clinic.store, load.photo) == picture
    assert "no-photo" not in codes(load)
    judged = told(play, tag, LoadJudged)[0]
    assert isinstance(judged, LoadJudged)
    assert judged.photo == load.photo


def test_a_photo_that_was_missing_is_added_and_the_load_judged_again(play: Play) -> None:
    decide(play, "evidence.typed-photo", "needed")
    tag = typed(play, "steriliser-vacuum", STEAM)
    read_again(play, tag, STEAM)
    before = load_of(play, tag)
    photo = second_reader.looked_at(play.clinic, pictures.png(), "strip.png")

    with acting(play.clinic, by=play.people["nurse"]) as act:
        second_reader.add_photo(act, load_of(play, tag), photo)

    after = load_of(play, tag)
    assert (before.verdict, after.verdict) == ("undecided", "pass")
    assert after.readers == before.readers
    with pytest.raises(Refused, match="has its photo"), acting(play.clinic, by="") as act:
        second_reader.add_photo(act, after, photo)


def test_a_photo_is_added_to_typed_values_of_an_undecided_load_only(play: Play) -> None:
    machine, hook = play.add("steriliser-vacuum"), play.add("hook")
    tag = play.run(machine, hook)
    photo = second_reader.looked_at(play.clinic, pictures.png(), "strip.png")

    with pytest.raises(Refused, match="goes with typed values"), acting(play.clinic, "") as act:
        second_reader.add_photo(act, load_of(play, tag), photo)


def test_a_photo_alone_is_no_evidence_that_can_be_judged(play: Play) -> None:
    with pytest.raises(Refused, match="type what it shows"):
        typed(play, "steriliser-vacuum", {}, photo=pictures.jpeg())


def test_what_is_no_photo_is_refused_in_a_sentence(play: Play) -> None:
    with pytest.raises(Refused, match="neither JPEG nor PNG"):
        second_reader.looked_at(play.clinic, b"<svg/>", "strip.jpg")


def test_how_large_a_photo_may_be_is_a_rule(play: Play) -> None:
    decide(play, "photo.most-pixels", "1000")

    with pytest.raises(Refused, match="Take it at a lower resolution"):
        second_reader.looked_at(play.clinic, pictures.jpeg(), "strip.jpg")


# --- machines ------------------------------------------------------------------------------------


def test_no_figure_is_ever_worked_out_from_typed_values(play: Play) -> None:
    for code, values in (
        ("steriliser-vacuum", STEAM),
        ("washer", WASHED),
        ("ultrasonic-bath", BATHED),
    ):
        assert load_of(play, typed(play, code, values)).figures == values


def test_a_washer_by_the_a0_it_shows_passes_once_two_people_read_it(play: Play) -> None:
    play.asks_a0_3000()
    tag = typed(play, "washer", WASHED)

    read_again(play, tag, {"completed": "yes", "a0_shown": "3200"})

    load = load_of(play, tag)
    assert load.verdict == "pass"
    assert "a0-machines-own" in codes(load)
    rules = {rule.id for rule in load.rules}
    assert rules >= {"thermal-a0-3000.target", "washer.flush-hottest-celsius"}
    assert not any(rule.startswith("steam") for rule in rules)


def test_a_washer_that_shows_a_temperature_and_minutes_only_cannot_be_judged_here(
    play: Play,
) -> None:
    pair = {"completed": "yes", "detergent": "yes", "disinfect_c": "93", "disinfect_min": "10"}

    before = load_of(play, typed(play, "washer", pair))
    decide(play, "evidence.washer-pair", "true")
    tag = typed(play, "washer", pair)
    read_again(play, tag, {name: pair[name] for name in pair if name != "detergent"})

    assert "a0-not-shown" in codes(before)
    assert before.verdict == "undecided"
    assert load_of(play, tag).verdict == "pass"
    assert "a0_s" not in load_of(play, tag).figures


@pytest.mark.parametrize(("celsius", "verdict"), [("45", "pass"), ("45.5", "fail")])
def test_an_ultrasonic_bath_is_judged_alone_by_one_reader_and_without_a_photo(
    play: Play, celsius: str, verdict: str
) -> None:
    load = load_of(play, typed(play, "ultrasonic-bath", {**BATHED, "bath_c": celsius}))

    assert load.verdict == verdict
    assert "no-photo" not in codes(load)


def test_a_clinic_may_ask_for_two_readers_of_a_bath(play: Play) -> None:
    decide(play, "evidence.cleaning-two-readers", "true")

    tag = typed(play, "ultrasonic-bath", BATHED)
    read_again(play, tag, {"completed": "yes", "run_min": "4:00", "bath_c": "38"})

    assert load_of(play, tag).verdict == "pass"
    assert len(load_of(play, tag).readers) == 2


def test_values_of_another_kind_of_machine_are_refused(play: Play) -> None:
    with pytest.raises(Refused, match="not read off this machine"):
        typed(play, "ultrasonic-bath", {**BATHED, "lowest_c": "134"})


def test_a_log_may_follow_where_typed_values_decide_nothing(play: Play) -> None:
    open_one = typed(play, "steriliser-vacuum", STEAM)
    failed = typed(play, "steriliser-vacuum", {**STEAM, "hold_min": "2"})

    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load_of(play, open_one), LogFile(steam_log(5)))

    load = load_of(play, open_one)
    assert (load.verdict, load.judge, load.readers) == ("pass", "steam-2", ())
    assert len(told(play, open_one, LoadEnded)) == 1
    for again in (ReadOff(STEAM), LogFile(steam_log(6))):
        with pytest.raises(Refused, match="evidence already"), acting(play.clinic, "") as act:
            end_load(act, load_of(play, failed), again)
    with pytest.raises(Refused, match="evidence already"), acting(play.clinic, "") as act:
        end_load(act, load, LogFile(steam_log(7)))


def test_a_programme_of_the_wrong_family_is_a_sentence_and_no_fault(play: Play) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        kind = act.house.types["washer"]
        wrong = facts.Programme(judged_by="steam-134", hollow=True)
        process = msgspec.structs.replace(kind.process, programmes=(wrong,))
        act.tell(facts.TypeDefined, type=msgspec.structs.replace(kind, process=process))

    with pytest.raises(Refused, match="no thermal programme “steam-134”"):
        typed(play, "washer", WASHED)
