"""Competence at the bench and at release: asked about once, never a lock-out, always printed."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.bench import scanning
from equip.desk.loads.release import release_load
from equip.desk.machines import sheets
from equip.desk.people import competence
from equip.desk.register import items, open_book
from equip.store.fold.rebuild import rebuild
from equip.store.ledger import ledger
from equip.store.readings import load_rows, people_rows
from tests.support.playing import Play


def today(play: Play) -> date:
    return play.clinic.house.today(play.clock.now)


def assess(play: Play, who: str, task: str, outcome: str = "competent", **more: object) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        since = more.pop("since", today(play))
        more.setdefault("outside", "Trainer of the tests")
        competence.assess(act, play.people[who], task, outcome, since, **more)  # type: ignore[arg-type]


def lapse(play: Play, who: str, task: str) -> None:
    """It was valid until yesterday."""
    yesterday = today(play) - timedelta(days=1)
    assess(play, who, task, since=yesterday, until=yesterday)


def allow(play: Play, by: str, who: str, task: str, **more: object) -> None:
    with acting(play.clinic, by=play.people[by]) as act:
        until = more.get("until", today(play))
        competence.allow(act, play.people[who], task, until, "assessed on Friday")  # type: ignore[arg-type]


def told(play: Play, kind: type[facts.Fact]) -> list[facts.Fact]:
    every = ledger.entries(play.clinic.store, "TEST")
    return [entry.fact for entry in every if isinstance(entry.fact, kind)]


def steps(play: Play) -> list[facts.Stepped]:
    return [fact for fact in told(play, facts.Stepped) if isinstance(fact, facts.Stepped)]


def test_whoever_was_never_assessed_works_on_as_before(play: Play) -> None:
    hook = play.add("hook")

    answer = play.scan("clean", hook)

    assert (answer.tone, answer.word) == ("note", "Done")
    assert steps(play)[0].lapses == ()


def test_an_assessment_counts_for_a_year_by_the_rule_and_names_it(play: Play) -> None:
    assess(play, "nurse", "clean", since=date(2026, 1, 2))

    fact = told(play, facts.CompetenceAssessed)[0]

    assert isinstance(fact, facts.CompetenceAssessed)
    assert fact.until == date(2027, 1, 1)
    assert [rule.id for rule in fact.rules] == ["competence.months"]


def test_a_step_by_somebody_whose_competence_lapsed_asks_why_once(play: Play) -> None:
    one, two = play.add("hook"), play.add("hook")
    lapse(play, "nurse", "clean")

    asked = play.scan("clean")
    assert (asked.tone, play.codes(asked)) == ("no", ["competence-lapsed"])
    assert steps(play) == []
    play.scan("alone until Friday", one)
    answer = play.scan(two)

    assert answer.word == "Done"
    assert [[each.code for each in step.lapses] for step in steps(play)] == [
        ["competence-lapsed", "competence-reason"]
    ] * 2
    assert "alone until Friday" in steps(play)[1].lapses[1].says
    assert len(told(play, facts.LapseExplained)) == 1


def test_without_an_answer_the_thing_is_not_taken_as_cleaned(play: Play) -> None:
    hook = play.add("hook")
    lapse(play, "nurse", "clean")

    answer = play.scan("clean", hook)

    assert (answer.tone, answer.word) == ("no", "Why?")
    assert steps(play) == []


def test_the_reason_of_one_is_not_the_reason_of_another(play: Play) -> None:
    hook = play.add("hook")
    lapse(play, "nurse", "clean")
    lapse(play, "trainee", "clean")
    play.scan("clean", "alone today")

    answer = play.scan(play.people["trainee"], hook)

    assert answer.word == "Why?"
    assert "Tam Birch" in answer.reasons[0].says


def test_a_reason_counts_no_longer_than_a_badge(play: Play) -> None:
    hook = play.add("hook")
    lapse(play, "nurse", "clean")
    play.scan("clean", "alone today", hook)
    play.clock.passes(minutes=300)

    assert play.scan("clean").word == "Why?"


def test_a_trainee_needs_a_supervisor_and_no_reason_will_do(play: Play) -> None:
    hook = play.add("hook")
    assess(play, "trainee", "clean", "trainee")

    refused = play.scan("clean", "I know how", who="trainee")
    assert refused.tone != "yes" and told(play, facts.LapseExplained) == []
    answer = play.scan("clean", play.people["nurse"], hook, who="trainee")

    assert answer.word == "Done"
    step = steps(play)[0]
    assert (step.by, step.supervisor) == (play.people["trainee"], play.people["nurse"])


def test_nobody_supervises_whose_own_competence_lapsed(play: Play) -> None:
    hook = play.add("hook")
    assess(play, "trainee", "clean", "trainee")
    lapse(play, "nurse", "clean")

    play.scan("clean", play.people["nurse"], who="trainee")
    play.scan(hook, who="trainee")

    assert steps(play) == []


def test_a_supervisor_may_then_work_in_their_own_name(play: Play) -> None:
    hook = play.add("hook")
    assess(play, "trainee", "clean", "trainee")

    play.scan("clean", play.people["nurse"], play.people["nurse"], hook, who="trainee")

    assert [(step.by, step.supervisor) for step in steps(play)] == [(play.people["nurse"], "")]


def test_before_the_patient_a_lapse_asks_and_the_use_says_why(play: Play) -> None:
    hook = play.sterile_pack(play.add("steriliser-vacuum"), play.add("hook"))
    lapse(play, "nurse", "use")

    assert play.scan("DEMO-77001", "start a use", hook).word == "Why?"
    assert told(play, facts.Used) == []
    answer = play.scan("alone today", hook)

    assert answer.tone == "warn"
    used = told(play, facts.Used)[0]
    assert isinstance(used, facts.Used)
    assert used.reasons == ()
    assert [one.code for one in used.lapses] == ["competence-lapsed", "competence-reason"]


def test_after_the_patient_it_is_a_use_and_the_thing_is_not_kept_back(play: Play) -> None:
    pack = play.sterile_pack(play.add("steriliser-vacuum"), play.add("hook"))
    lapse(play, "nurse", "use")

    answer = play.scan("DEMO-77001", pack)

    assert (answer.tone, answer.word) == ("warn", "Used")
    assert play.codes(answer) == ["competence-lapsed"]
    assert told(play, facts.Quarantined) == []


def test_a_late_step_is_judged_by_its_day_and_written_down(play: Play) -> None:
    hook, before, after = play.add("hook"), play.clock.now, timedelta(days=3)
    assess(play, "nurse", "clean", until=today(play))
    play.clock.passes(days=3)

    def scan(name: str, text: str, at: object) -> None:
        order = scanning.Scan(name, "bench 9", text, at=at)  # type: ignore[arg-type]
        scanning.scan(play.clinic, order, play.people["nurse"])

    scan("late-1", "clean", before + timedelta(minutes=1))
    scan("late-2", hook, before + timedelta(minutes=2))
    scan("late-3", "start over", before + timedelta(days=2))
    scan("late-4", "clean", before + timedelta(days=2, minutes=1))
    scan("late-5", hook, before + timedelta(days=2, minutes=2))

    assert play.clock.now - before >= after
    assert [[one.code for one in step.lapses] for step in steps(play)] == [
        [],
        ["competence-lapsed"],
    ]


def test_a_release_after_a_lapse_needs_the_leave_of_a_named_authority(play: Play) -> None:
    load = play.run(play.add("steriliser-vacuum"), play.packed(play.add("hook")))
    lapse(play, "nurse", "release")

    assert "named authority" in play.scan(load, "release").what
    assert told(play, facts.LoadReleased) == []
    allow(play, "manager", "nurse", "release")
    play.scan(load, "release")

    fact = told(play, facts.LoadReleased)[0]
    assert isinstance(fact, facts.LoadReleased)
    assert [one.code for one in fact.lapses] == ["competence-lapsed", "competence-leave"]
    assert "Mo Reed" in fact.lapses[1].says
    stands = load_rows.load_of(play.clinic.store, load)
    assert stands is not None and stands.lapses == fact.lapses


def test_leave_is_short_given_by_another_and_by_somebody_with_authority(play: Play) -> None:
    lapse(play, "nurse", "release")
    lapse(play, "manager", "release")

    with pytest.raises(Refused, match="no right"):
        allow(play, "trainee", "nurse", "release")
    with pytest.raises(Refused, match="themselves"):
        allow(play, "manager", "manager", "release")
    with pytest.raises(Refused, match="at most"):
        allow(play, "manager", "nurse", "release", until=today(play) + timedelta(days=8))
    with pytest.raises(Refused, match="not lapsed"):
        assess(play, "trainee", "clean")
        allow(play, "manager", "trainee", "clean")


def test_nobody_assesses_themselves_or_before_it_happened(play: Play) -> None:
    with pytest.raises(Refused, match="Say who assessed"):
        assess(play, "nurse", "clean", outside="", assessor=play.people["nurse"])
    with pytest.raises(Refused, match="not come yet"):
        assess(play, "nurse", "clean", since=today(play) + timedelta(days=1))
    with pytest.raises(Refused, match="no task"):
        assess(play, "nurse", "paint")


def test_a_competence_gives_no_right(play: Play) -> None:
    load = play.run(play.add("steriliser-vacuum"), play.packed(play.add("hook")))
    assess(play, "trainee", "release")

    found = load_rows.load_of(play.clinic.store, load)
    assert found is not None
    with (
        pytest.raises(Refused, match="no right"),
        acting(play.clinic, by=play.people["trainee"]) as act,
    ):
        release_load(act, found, act.by)


def test_where_a_record_is_needed_nothing_recorded_is_asked_about(play: Play) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.set_rule(act, "competence.record-needed", "true", "policy", today(play))

    assert play.codes(play.scan("clean")) == ["competence-unrecorded"]


def test_the_table_folds_to_the_same_again(play: Play) -> None:
    assess(play, "nurse", "clean", evidence="watched ten times", file="ab" * 32)
    lapse(play, "nurse", "release")
    allow(play, "manager", "nurse", "release")
    before = people_rows.competences(play.clinic.store)

    rebuild(play.clinic.store)

    assert len(before) == 3 and people_rows.competences(play.clinic.store) == before


def test_who_left_is_not_listed_as_lapsing(play: Play) -> None:
    lapse(play, "trainee", "clean")
    assert len(people_rows.lapsing(play.clinic.store, today(play), 0)) == 1
    with acting(play.clinic, by=play.people["manager"]) as act:
        tag = play.people["trainee"]
        items.add_person(act, "Tam Birch", "nurse", [], tag=tag, active=False)

    assert people_rows.lapsing(play.clinic.store, today(play), 0) == []


def test_starting_a_load_asks_and_the_start_says_by_whom(play: Play) -> None:
    machine, pack = play.add("steriliser-vacuum"), play.packed(play.add("hook"))
    assess(play, "nurse", "run", "trainee")

    asked = play.scan("start over", machine, pack, "start the load")
    assert (asked.word, play.codes(asked)) == ("With whom?", ["competence-trainee"])
    assert told(play, facts.LoadStarted) == []
    play.scan(play.people["manager"], "start the load")

    started = told(play, facts.LoadStarted)[0]
    assert isinstance(started, facts.LoadStarted)
    assert (started.by, started.supervisor) == (play.people["nurse"], play.people["manager"])


def test_whoever_signs_a_sheet_after_a_lapse_says_why(play: Play) -> None:
    machine = play.add("steriliser-vacuum")
    play.keeps_sheets = False
    lapse(play, "nurse", "sign")
    with pytest.raises(Refused, match="Say why you do it"):
        play.tested(machine)

    with acting(play.clinic, by=play.people["nurse"]) as act:
        sheets.sign(act, machine, "alone today")

    signed = told(play, facts.SheetSigned)[0]
    assert isinstance(signed, facts.SheetSigned)
    assert "alone today" in signed.lapses[1].says


def test_undo_takes_back_the_step_and_not_the_reason_given(play: Play) -> None:
    hook = play.add("hook")
    lapse(play, "nurse", "clean")
    play.scan("clean", hook, "alone today")

    assert play.scan("undo").tone == "no"
    play.scan(hook, "undo", "undo")

    gone = [fact.withdrawn for fact in told(play, facts.Withdrawn)]  # type: ignore[attr-defined]
    assert gone == [steps(play)[0].act]


def test_the_book_is_whole_with_people_assessed_and_let_through(play: Play, tmp_path: Path) -> None:
    hook = play.add("hook")
    lapse(play, "nurse", "clean")
    play.scan("clean", "alone today", hook)
    allow(play, "manager", "nurse", "clean")

    assert open_book.verify(play.clinic, [], chain_only=False, scratch=tmp_path).whole
