"""A look-back from alarm to close, played on a small clinic; drills; what is lifted, what stays."""

import random
from datetime import timedelta
from pathlib import Path

import pytest

from equip import facts
from equip.desk.act.act import Refused, acting
from equip.desk.lookback.cases import case_acts, case_page, drills, exposed_list
from equip.desk.machines import sheets
from equip.store.fold.exposures import tallies
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.readings import case_rows, item_rows, load_rows, use_rows
from tests.support.cases import ask, opened, step
from tests.support.playing import Play

FIRST, SECOND, THIRD = ("12345601", "12345602", "12345603")


def exposed_now(play: Play) -> int:
    return tallies(play.clinic.store).get("open", 0)


def use(play: Play, tag: str, patient: str) -> None:
    play.scan("start over", patient, tag, "finish")


@pytest.fixture
def machine(play: Play) -> str:
    return play.add("steriliser-vacuum")


@pytest.fixture
def hook(play: Play) -> str:
    return play.add("hook")


@pytest.fixture
def load(play: Play, machine: str, hook: str) -> str:
    """A hook used, sterilised in the load that is doubted, used on a second patient."""
    use(play, play.sterile_pack(machine, hook), FIRST)
    pack = play.sterile_pack(machine, hook)
    found = load_rows.last_load(play.clinic.store, machine)
    assert found is not None
    play.clock.passes(hours=1)
    use(play, pack, SECOND)
    return found.load


def test_a_look_back_goes_from_alarm_to_close_and_exposed_now_returns_to_none(
    play: Play, load: str, hook: str, tmp_path: Path
) -> None:
    assert exposed_now(play) == 0
    case = opened(play, ask(play, "load", load), load)
    assert exposed_now(play) == 1

    assert hook in step(play, case_acts.contain, case)  # type: ignore[operator]
    stands = item_rows.standing_of(play.clinic.store, hook)
    assert stands is not None
    assert [kept.why.code for kept in stands.quarantines] == ["in-look-back"]
    step(play, case_acts.take_list, case)
    step(play, case_acts.judge_risk, case, "B", "It had been cleaned and wrapped.")
    step(play, case_acts.decide, case, "the patient is told", "Local policy says so.")

    assert exposed_now(play) == 0
    assert tallies(play.clinic.store)["exposed"] == 1
    with pytest.raises(Refused, match="who was told"):
        step(play, case_acts.close, case, "done")
    step(play, case_acts.note, case, "tell", "Told by telephone; a letter follows.")
    step(play, case_acts.note, case, "follow-up", "Seen, well.")
    step(play, case_acts.close, case, "Nothing is left to do.")
    step(play, case_acts.note, case, "learn", "The strip is read by two people.")

    found = case_page.shown(play.clinic, case, play.clock.now)
    assert found is not None
    assert all(one.is_done for one in found.stages)
    assert found.case.clock == timedelta(minutes=2)
    assert [row.certainty for row in found.listed] == ["certain"]
    assert [row.is_decided for row in found.listed] == [True]
    assert differences(play.clinic.store, tmp_path) == []


def test_the_next_exposure_after_a_decision_alerts_again(
    play: Play, load: str, hook: str, tmp_path: Path
) -> None:
    case = opened(play, ask(play, "load", load), load)
    step(play, case_acts.take_list, case)
    step(play, case_acts.decide, case, "told", "policy")

    use(play, hook, THIRD)

    assert exposed_now(play) == 1
    found = case_page.shown(play.clinic, case, play.clock.now)
    assert found is not None
    # By the doubt it met what the first left, and what the second left anyway.
    assert (found.undecided, found.open_undecided) == (1, 1)
    with pytest.raises(Refused):
        step(play, case_acts.decide, case, "told", "policy")
    assert differences(play.clinic.store, tmp_path) == []


def test_a_late_entry_changes_the_list_and_not_the_snapshot(play: Play, load: str) -> None:
    case = opened(play, ask(play, "load", load), load)
    taken = step(play, case_acts.take_list, case)
    assert isinstance(taken, facts.DoubtListed)
    again = step(play, case_acts.take_list, case)
    assert isinstance(again, facts.DoubtListed)
    assert again.digest == taken.digest
    late_pack_use = play.people["nurse"]
    pack = next(one.item for one in use_rows.touches_behind(play.clinic.store, load))
    at = play.clock.now - timedelta(minutes=30)
    with acting(play.clinic, by=late_pack_use, at=at) as act:
        token = play.clinic.vault.token(THIRD)
        act.tell(facts.UseBegun, use="late-use", patient=token)
        act.tell(facts.Used, use="late-use", item=pack, patient=token)

    found = case_page.shown(play.clinic, case, play.clock.now)

    assert found is not None and found.changes is not None
    assert [key[1] for key in found.changes.added] == ["late-use"]
    assert found.case.listed is not None and found.case.listed.digest == taken.digest
    with pytest.raises(Refused, match="list it again"):
        step(play, case_acts.decide, case, "told", "policy")


def test_a_case_found_unfounded_lifts_its_doubt(play: Play, load: str, tmp_path: Path) -> None:
    case = opened(play, ask(play, "load", load), load)
    step(play, case_acts.contain, case)
    assert exposed_now(play) == 1

    step(
        play, case_acts.decide, case, "nothing was wrong", "judged anew, it passes", unfounded=True
    )

    assert exposed_now(play) == 0
    assert tallies(play.clinic.store).get("exposed", 0) == 0
    assert step(play, case_acts.let_out, case, "found unfounded")
    assert item_rows.standings_held(play.clinic.store) == []
    step(play, case_acts.close, case, "nothing was wrong")
    assert differences(play.clinic.store, tmp_path) == []


def test_a_scope_that_is_narrowed_lets_the_rest_count_again(
    play: Play, load: str, tmp_path: Path
) -> None:
    case = opened(play, ask(play, "load", load), load)
    step(play, case_acts.take_list, case)

    step(play, case_acts.rescope, case, [], [], "it was another load")

    assert exposed_now(play) == 0
    stands = case_acts.case_of(play.clinic, case)
    assert stands is not None and stands.left_out == (load,) and stands.stale
    with pytest.raises(Refused, match="List first"):
        step(play, case_acts.decide, case, "told", "policy")
    assert differences(play.clinic.store, tmp_path) == []


def test_two_look_backs_on_one_load_each_list_nothing_new_and_lifting_one_keeps_the_doubt(
    play: Play, load: str
) -> None:
    first = opened(play, ask(play, "load", load), load)
    play.clock.passes(minutes=1)
    second = opened(play, ask(play, "load", load), load)

    step(play, case_acts.decide, first, "not this", "another look-back is on it", unfounded=True)

    assert exposed_now(play) == 1
    found = case_page.shown(play.clinic, second, play.clock.now)
    assert found is not None
    assert len(found.listed) == 1


def test_a_drill_touches_nothing_but_the_book_of_drills(play: Play, load: str) -> None:
    store = play.clinic.store
    before = store.rows("SELECT item, state FROM standing ORDER BY item")

    drill = drills.run(play.clinic, load)
    with acting(play.clinic, by=play.people["manager"]) as act:
        drills.keep(act, drill)

    assert len(drill.answer.exposures) == 1
    assert exposed_now(play) == 0
    assert store.rows("SELECT * FROM in_doubt") == []
    assert store.rows("SELECT item, state FROM standing ORDER BY item") == before
    (entry,) = case_rows.drills(store)
    fact = entry.fact
    assert isinstance(fact, facts.DrillRun)
    assert (fact.load, fact.uses, fact.patients) == (load, 1, 1)
    assert fact.traceable == 1


def test_a_drill_at_random_takes_a_load_that_was_let_go(play: Play, load: str) -> None:
    picked = {drills.pick(play.clinic, random.Random(seed)) for seed in range(20)}

    assert load in picked
    assert picked <= set(case_rows.drillable(play.clinic.store))


def test_a_cold_first_penetration_test_holds_unused_stock_and_drags_in_no_patient(
    play: Play, machine: str, load: str, hook: str
) -> None:
    spare = play.sterile_pack(machine, play.add("hook"))
    play.clock.passes(hours=15)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        sheets.record(act, machine, "steam-penetration", passed=False)

    proposal = ask(play, "machine-test", machine, more="steam-penetration")
    case = opened(play, proposal, machine)
    kept = step(play, case_acts.contain, case)

    assert proposal.is_empty
    assert exposed_now(play) == 0
    assert spare in kept  # type: ignore[operator]
    assert hook not in kept  # type: ignore[operator]
    found = ask(play, "machine-test", machine, more="steam-penetration", defect=True)
    assert load in found.loads


def test_damage_reaches_back_to_the_last_inspection_that_passed(
    play: Play, load: str, hook: str
) -> None:
    proposal = ask(play, "damage", hook)

    assert {ref for _, ref in proposal.gates} == {load}


def test_what_a_new_operator_did_up_to_the_discovery_is_all_in_doubt(play: Play, load: str) -> None:
    # T9 of the published pattern: from the first day of an operator to the day of discovery.
    today = play.clock.now.date()
    nurse = play.people["nurse"]

    assert load in ask(play, "person", nurse, since=today, until=today).loads
    tomorrow = today + timedelta(days=1)
    play.clock.passes(days=2)
    assert ask(play, "person", nurse, since=tomorrow).is_empty


def test_a_source_patient_lists_whom_what_was_used_reached(play: Play, hook: str) -> None:
    use(play, hook, FIRST)
    use(play, hook, SECOND)
    token = play.clinic.vault.find(FIRST)
    assert token is not None

    proposal = ask(play, "patient", token)
    case = opened(play, proposal, token)
    found = case_page.shown(play.clinic, case, play.clock.now)

    assert found is not None
    assert [row.patient for row in found.listed] == [play.clinic.vault.find(SECOND)]
    step(play, case_acts.take_list, case)
    step(play, case_acts.decide, case, "told", "policy")
    assert exposed_now(play) == 0


def test_uses_that_were_open_anyway_are_decided_only_if_somebody_says_so(
    play: Play, load: str
) -> None:
    other = play.add("hook")
    use(play, other, FIRST)
    use(play, other, THIRD)
    case = opened(play, ask(play, "load", load), load)
    step(play, case_acts.take_list, case)
    step(play, case_acts.decide, case, "told", "policy")
    assert exposed_now(play) == 1

    found = case_page.shown(play.clinic, case, play.clock.now)
    assert found is not None and found.open_undecided == 1
    step(play, case_acts.decide, case, "told too", "seen beside it", already_open=True)

    assert exposed_now(play) == 0


def test_a_decision_stands_in_the_logbook_of_the_patient(play: Play, load: str) -> None:
    case = opened(play, ask(play, "load", load), load)
    step(play, case_acts.take_list, case)
    step(play, case_acts.decide, case, "told", "policy")

    token = play.clinic.vault.find(SECOND)
    assert token is not None
    kinds = [type(entry.fact) for entry in told_about(play.clinic.store, token)]
    assert facts.UsesDecided in kinds


def test_the_list_is_spelled_the_same_however_often_it_is_worked_out(play: Play, load: str) -> None:
    case = opened(play, ask(play, "load", load), load)
    stands = case_acts.case_of(play.clinic, case)
    assert stands is not None

    spelled = {exposed_list.spelled(exposed_list.answer(play.clinic, stands)) for _ in range(3)}

    assert len(spelled) == 1
    assert FIRST.encode() not in spelled.pop()
