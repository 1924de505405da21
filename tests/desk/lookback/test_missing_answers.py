"""The question that settles most patients of a look-back; the rehearsal, once a night."""

from datetime import timedelta
from pathlib import Path
from threading import Barrier, Thread

import pytest

from equip import facts
from equip.desk.act.act import acting
from equip.desk.clinic import Clinic
from equip.desk.lookback.cases import rehearsal
from equip.desk.lookback.cases.case_acts import raise_doubt
from equip.desk.lookback.cases.missing_answers import best_question, unproven_in, weakest
from equip.desk.lookback.exposure_answer import Scope, look_back
from equip.desk.post import tick as reminding
from equip.facts import Loose
from equip.scan import next_tag, show_tag
from equip.store.database import Store
from equip.store.fold.rebuild import differences
from equip.store.ledger.about import told_about
from equip.store.ledger.ledger import everything
from equip.store.readings import case_rows, item_rows, load_rows
from tests.support.playing import Play

FIRST, SECOND, THIRD = "12345601", "12345602", "12345603"


def use(play: Play, tag: str, patient: str) -> None:
    play.scan("start over", patient, tag, "finish", "start over")


def last_load(play: Play, machine: str) -> str:
    found = load_rows.last_load(play.clinic.store, machine)
    assert found is not None
    return found.load


def rehearsals(store: Store) -> list[facts.RehearsalRun]:
    return [e.fact for e in everything(store) if isinstance(e.fact, facts.RehearsalRun)]


@pytest.fixture
def machine(play: Play) -> str:
    return play.add("steriliser-vacuum")


def not_let_go(play: Play, machine: str, *hooks: str) -> str:
    """A load with these in it that passed, and that nobody let go; they were taken out of it."""
    play.cleaned(*hooks)
    load = next_tag("L", 900)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        told = {"load": load, "machine": machine, "covers": hooks}
        act.tell(facts.LoadOpened, load=load, machine=machine, programme="steam-134")
        act.tell(facts.LoadEnded, **told, steps=("sterilise",))
        act.tell(facts.LoadJudged, **told, programme="steam-134", verdict="pass")
    return load


def test_a_load_that_nobody_let_go_is_the_question_and_settles_all_behind_it(
    play: Play, machine: str
) -> None:
    hooks = [play.add("hook") for _ in range(3)]
    for hook in hooks:
        use(play, play.sterile_pack(machine, hook), FIRST)
    between = not_let_go(play, machine, *hooks[:2])
    play.cleaned(*hooks)
    packs = [play.packed(hook) for hook in hooks]
    doubted = play.released(machine, *packs)
    play.clock.passes(hours=1)
    for pack, patient in zip(packs, (SECOND, THIRD, "12345604"), strict=True):
        use(play, pack, patient)

    answer = look_back(play.clinic, Scope(loads=(doubted,)))
    found = weakest(play.clinic, answer)

    assert sorted(one.certainty.word for one in answer.exposures) == [
        "certain",
        "no-proof",
        "no-proof",
    ]
    assert [(a.link.question.sort, a.link.question.about) for a in found.asked] == [
        ("release", between)
    ]
    assert (found.asked[0].link.settles, found.patients, found.unproven) == (2, 2, 2)
    assert show_tag(between) in best_question(play.clinic, answer)
    assert "settles 2 of 2 patients" in found.best


def test_a_step_that_nobody_recorded_is_asked_for_by_its_name(play: Play, machine: str) -> None:
    hook = play.add("hook")
    use(play, play.sterile_pack(machine, hook), FIRST)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        act.tell(facts.LoadOpened, load="L000000900", machine=machine, programme="steam-134")
        act.tell(facts.LoadAdded, load="L000000900", item=hook)
    play.clock.passes(minutes=30)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        told = {"load": "L000000900", "machine": machine}
        act.tell(facts.LoadEnded, **told, steps=("sterilise",), covers=(hook,))
        act.tell(facts.LoadJudged, **told, programme="steam-134", verdict="pass", covers=(hook,))
        act.tell(facts.LoadReleased, load="L000000900", released=(hook,))
    play.clock.passes(minutes=5)
    pack = play.sterile_pack(machine, hook)
    use(play, pack, SECOND)

    found = weakest(play.clinic, look_back(play.clinic, Scope(loads=(last_load(play, machine),))))

    assert [a.link.question.sort for a in found.asked] == ["steps"]
    assert "“clean”" in found.best
    assert show_tag(hook) in found.best


def test_mixed_untagged_contents_ask_what_went_into_which_pack(play: Play, machine: str) -> None:
    loose = (Loose(type="fine-tip", count=2),)
    packs, load = [play.fresh_pack() for _ in range(4)], next_tag("L", 900)
    nurse = play.people["nurse"]
    with acting(play.clinic, by=nurse) as act:
        for pack in packs[:2]:
            act.tell(facts.Packed, pack=pack, loose=loose)
    for pack, patient in zip(packs[:2], (FIRST, SECOND), strict=True):
        use(play, pack, patient)
    play.clock.passes(minutes=5)
    with acting(play.clinic, by=nurse) as act:
        told = {"load": load, "machine": machine}
        act.tell(facts.LoadEnded, **told, steps=("sterilise",), covers=tuple(packs[:2]))
        act.tell(facts.LoadJudged, **told, programme="steam-134", verdict="pass")
        act.tell(facts.LoadReleased, load=load, released=tuple(packs[:2]))
    play.clock.passes(minutes=5)
    with acting(play.clinic, by=nurse) as act:
        for pack in packs[2:]:
            act.tell(facts.Packed, pack=pack, loose=loose, load=load)
    for pack, patient in zip(packs[2:], (THIRD, "12345604"), strict=True):
        use(play, pack, patient)

    answer = look_back(play.clinic, Scope(loads=(load,)))
    found = weakest(play.clinic, answer)

    assert {one.certainty.word for one in answer.exposures} == {"possible"}
    assert found.asked[0].link.question.sort == "contents"
    assert (found.asked[0].link.settles, found.patients) == (2, 4)  # two are gaps
    assert {one.link.question.sort for one in found.asked[1:]} == {"before"}


def test_a_gap_asks_what_stood_before_and_is_counted_once(play: Play, machine: str) -> None:
    hook = play.add("hook", "go-live")
    use(play, hook, FIRST)
    use(play, play.sterile_pack(machine, hook), SECOND)

    answer = look_back(play.clinic, Scope(loads=(last_load(play, machine),)))
    found = weakest(play.clinic, answer)

    assert len(answer.gaps) == 1
    assert [one.is_gap for one in unproven_in(play.clinic, answer)] == [True]
    assert found.asked[0].link.question.sort == "before"
    assert "What did Mo Reed declare things fit by on going live?" in found.best


def test_whoever_declared_things_fit_on_going_live_is_asked_once_for_all_of_them(
    play: Play, machine: str
) -> None:
    hooks = [play.add("hook", "go-live") for _ in range(3)]
    for hook, patient in zip(hooks, (FIRST, SECOND, THIRD), strict=True):
        use(play, hook, patient)
    play.cleaned(*hooks)
    packs = [play.packed(hook) for hook in hooks]
    load = play.released(machine, *packs)
    for pack in packs:
        use(play, pack, "12345604")

    found = weakest(play.clinic, look_back(play.clinic, Scope(loads=(load,))))

    assert [(a.link.settles, a.link.bears_on) for a in found.asked] == [(3, 3)]


def test_what_is_new_and_went_through_nothing_is_asked_of_by_its_tag(
    play: Play, machine: str
) -> None:
    hook = play.add("hook")
    use(play, hook, FIRST)
    use(play, play.sterile_pack(machine, hook), SECOND)

    answer = look_back(play.clinic, Scope(loads=(last_load(play, machine),)))

    assert show_tag(hook) in best_question(play.clinic, answer)


def test_where_all_is_sure_there_is_nothing_to_ask(play: Play, machine: str) -> None:
    hook = play.add("hook")
    for patient in (FIRST, SECOND):
        use(play, play.sterile_pack(machine, hook), patient)
    answer = look_back(play.clinic, Scope(loads=(last_load(play, machine),)))

    assert [one.certainty.word for one in answer.exposures] == ["certain"]
    assert unproven_in(play.clinic, answer) == []
    assert best_question(play.clinic, answer) == ""


# --- the rehearsal of the night --------------------------------------------------------------


@pytest.fixture
def night(play: Play, machine: str) -> Play:
    """Some loads were let go on one day; it is three in the morning of the next."""
    hook = play.add("hook")
    for patient in (FIRST, SECOND, THIRD):
        use(play, play.sterile_pack(machine, hook), patient)
    play.clock.now = (play.clock.now + timedelta(days=1)).replace(hour=3, minute=0)
    return play


def tick(clinic: Clinic) -> None:
    reminding.tick(clinic, None, lambda now: None)


def beside(play: Play, url: str) -> Clinic:
    """Another process over the same book."""
    store = Store.open(url)
    store.connect()
    return Clinic(store, play.clinic.vault, play.clock, play.clinic.settings)


def test_it_runs_once_a_night_with_two_processes_and_many_beats(
    night: Play, database_url: str, tmp_path: Path
) -> None:
    other = beside(night, database_url)
    for _ in range(3):
        tick(night.clinic)
        tick(other)
    first = rehearsals(night.clinic.store)
    night.clock.passes(days=1)
    tick(other)
    tick(night.clinic)

    assert len(first) == 1
    assert [one.day for one in rehearsals(night.clinic.store)] == [
        first[0].day,
        first[0].day + timedelta(days=1),
    ]
    assert differences(night.clinic.store, tmp_path) == []
    other.store.dispose()


def test_whoever_was_overtaken_while_working_it_out_writes_nothing(
    night: Play, database_url: str
) -> None:
    other = beside(night, database_url)
    overtaken: list[object] = []

    def clock_on_which_the_other_is_quicker() -> object:
        if not overtaken:
            overtaken.append(True)
            overtaken.append(rehearsal.run_if_due(other, night.clock.now))
        return night.clock()

    slow = Clinic(
        night.clinic.store,
        night.clinic.vault,
        clock_on_which_the_other_is_quicker,  # type: ignore[arg-type]
        night.clinic.settings,
    )
    ours = rehearsal.run_if_due(slow, night.clock.now)

    assert overtaken[1] is not None
    assert ours is None
    assert len(rehearsals(night.clinic.store)) == 1
    other.store.dispose()


def test_beats_at_the_very_same_moment_write_it_down_once(night: Play, database_url: str) -> None:
    barrier, problems = Barrier(4), []

    def beat() -> None:
        clinic = beside(night, database_url)
        barrier.wait()
        try:
            tick(clinic)
        except Exception as problem:
            problems.append(problem)
        finally:
            clinic.store.dispose()

    threads = [Thread(target=beat) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert problems == []
    assert len(rehearsals(night.clinic.store)) == 1


def test_two_processes_choose_the_same_load(night: Play, database_url: str) -> None:
    other = beside(night, database_url)
    day, now = night.clinic.house.today(night.clock.now), night.clock.now
    choice = rehearsal.chosen("TEST", str(day), rehearsal.candidates(other, day, now))

    tick(night.clinic)

    assert [one.load for one in rehearsals(night.clinic.store)] == [choice]
    other.store.dispose()


def test_nothing_is_put_in_doubt_nobody_is_told_and_nothing_is_kept_back(night: Play) -> None:
    before = len(list(everything(night.clinic.store)))

    tick(night.clinic)

    told = list(everything(night.clinic.store))[before:]
    assert [type(one.fact) for one in told] == [facts.RehearsalRun]
    assert case_rows.doubts(night.clinic.store) == []
    assert item_rows.standings_held(night.clinic.store) == []


def test_what_it_came_to_is_what_a_look_back_on_that_load_would_list(night: Play) -> None:
    tick(night.clinic)

    run = rehearsals(night.clinic.store)[0]
    answer = look_back(night.clinic, Scope(loads=(run.load,)))
    found = weakest(night.clinic, answer)
    assert (run.uses, run.looked_at) == (len(answer.exposures), answer.uses_looked_at)
    assert (run.unproven, run.unprovable) == (found.unproven, found.patients)
    assert [one.says for one in run.links] == [one.says for one in found.asked[:5]]


def test_it_waits_for_its_hour_and_for_a_load_that_was_let_go(play: Play, machine: str) -> None:
    play.clock.now = play.clock.now.replace(hour=3)
    tick(play.clinic)
    assert rehearsals(play.clinic.store) == []

    play.sterile_pack(machine, play.add("hook"))
    play.clock.now = (play.clock.now + timedelta(days=1)).replace(hour=1, minute=59)
    tick(play.clinic)
    assert rehearsals(play.clinic.store) == []

    play.clock.passes(minutes=1)
    tick(play.clinic)
    assert len(rehearsals(play.clinic.store)) == 1


def test_old_loads_and_loads_in_a_look_back_are_not_chosen(play: Play, machine: str) -> None:
    play.sterile_pack(machine, play.add("hook"))
    with acting(play.clinic, by=play.people["manager"]) as act:
        raise_doubt(act, [last_load(play, machine)], "damp")
    play.clock.passes(days=1)
    day = play.clinic.house.today(play.clock.now)
    assert rehearsal.candidates(play.clinic, day, play.clock.now) == []

    play.sterile_pack(machine, play.add("hook"))
    newest = last_load(play, machine)
    play.clock.passes(days=1)
    day = play.clinic.house.today(play.clock.now)
    assert rehearsal.candidates(play.clinic, day, play.clock.now) == [newest]
    play.clock.passes(days=91)
    day = play.clinic.house.today(play.clock.now)
    assert rehearsal.candidates(play.clinic, day, play.clock.now) == []


def test_it_stands_in_the_logbook_of_its_load(night: Play) -> None:
    tick(night.clinic)

    run = rehearsals(night.clinic.store)[0]
    told = [entry.fact for entry in told_about(night.clinic.store, run.load)]
    assert run in told
