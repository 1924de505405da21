"""The reference cycle chosen, the questions before release, and what the machine's past says."""

from dataclasses import dataclass

import pytest

from equip import facts
from equip.demo.cycles import steam_log
from equip.desk.act.act import Refused, acting
from equip.desk.cycles import reference_questions
from equip.desk.loads import second_reader
from equip.desk.loads.end import LogFile, ReadOff, end_load
from equip.desk.loads.release import reject_load, release_load
from equip.desk.lookback import history
from equip.rules.loads.load import Load
from equip.store.fold.rebuild import rebuild
from equip.store.ledger.about import told_about
from equip.store.readings import load_rows
from tests.support.playing import Play

SLOW_S = 300


@dataclass
class Steriliser:
    """A machine and enough hooks to fill it; each load of *things* heats for so long."""

    play: Play
    tag: str
    hooks: list[str]
    cycles: int = 100

    def run(self, things: int = 2, heat_s: int = 200, **more: int) -> Load:
        self.play.scan("start over", self.tag, *self.hooks[:things], "start the load")
        load = load_rows.load_on(self.play.clinic.store, self.tag)
        assert load is not None
        self.cycles += 1
        self.play.clock.passes(minutes=25)
        log = steam_log(self.cycles, heat_s=heat_s, **more)
        with acting(self.play.clinic, by=self.play.people["nurse"]) as act:
            end_load(act, load, LogFile(log), cycle_no=str(self.cycles))
        return self.now(load)

    def now(self, load: Load) -> Load:
        found = load_rows.load_of(self.play.clinic.store, load.load)
        assert found is not None
        return found

    def released(self, things: int = 2, heat_s: int = 200) -> Load:
        load = self.run(things, heat_s)
        assert self.play.scan(load.load, "release").word == "Released"
        return self.now(load)

    def choose(self, load: Load, who: str = "manager", reason: str = "as validated") -> None:
        with acting(self.play.clinic, by=self.play.people[who]) as act:
            reference_questions.choose(act, load, reason)

    def release(self, load: Load, answer: str, seen: list[str] | None) -> Load:
        nurse = self.play.people["nurse"]
        with acting(self.play.clinic, by=nurse, signed=nurse) as act:
            release_load(act, load, nurse, answer=answer, seen=seen)
        return self.now(load)

    def asked(self, load: Load) -> list[str]:
        return [one.code for one in reference_questions.open_questions(self.play.clinic, load)]


@pytest.fixture
def steriliser(play: Play) -> Steriliser:
    return Steriliser(play, play.add("steriliser-vacuum"), [play.add("hook") for _ in range(8)])


# --- choosing ---------------------------------------------------------------------------------


def test_the_latest_cycle_that_a_manager_chose_is_the_reference(steriliser: Steriliser) -> None:
    first, second = steriliser.released(), steriliser.released()
    clinic = steriliser.play.clinic

    steriliser.choose(first)
    steriliser.choose(second, reason="validated again")

    assert reference_questions.reference_of(clinic, first) == second
    lines = [line.text for line in history.page(clinic, steriliser.tag).lines]
    assert lines[-1] == (
        f"The cycle of load {second.load} kept as the reference of {steriliser.tag} for "
        "steam-134: validated again"
    )


def test_that_a_reference_was_chosen_survives_a_rebuild(steriliser: Steriliser) -> None:
    load = steriliser.released()
    steriliser.choose(load)
    clinic = steriliser.play.clinic

    rebuild(clinic.store)

    assert reference_questions.reference_of(clinic, load) == steriliser.now(load)


@pytest.mark.parametrize("who", ["nurse", "trainee", "auditor"])
def test_nobody_but_a_manager_chooses(steriliser: Steriliser, who: str) -> None:
    load = steriliser.released()

    with pytest.raises(Refused, match="for the practice manager to choose"):
        steriliser.choose(load, who)


def test_only_a_cycle_that_passed_by_its_log_and_was_not_rejected_can_be_the_reference(
    steriliser: Steriliser,
) -> None:
    failed = steriliser.run(hold_s=140)
    steriliser.play.scan(failed.load, "run again", "start over")
    wet = steriliser.now(load_rows.load_on(steriliser.play.clinic.store, steriliser.tag))  # type: ignore[arg-type]
    with acting(steriliser.play.clinic, by=steriliser.play.people["nurse"]) as act:
        end_load(act, wet, LogFile(steam_log(7)), cycle_no="7")
    with acting(steriliser.play.clinic, by=steriliser.play.people["nurse"]) as act:
        reject_load(act, steriliser.now(wet), steriliser.play.people["nurse"], "wet packs")

    with pytest.raises(Refused, match="only a cycle that passed by its log can"):
        steriliser.choose(steriliser.now(failed))
    with pytest.raises(Refused, match="was rejected: choose another"):
        steriliser.choose(steriliser.now(wet))


def test_typed_values_are_no_reference(steriliser: Steriliser) -> None:
    play = steriliser.play
    play.scan("start over", steriliser.tag, steriliser.hooks[0], "start the load", "end the load")
    play.scan("12")
    load = load_rows.last_load(play.clinic.store, steriliser.tag)
    assert load is not None
    typed = {"lowest_c": "134.4", "highest_c": "135.1", "hold_min": "3.5", "completed": "yes"}
    with acting(play.clinic, by=play.people["nurse"]) as act:
        end_load(act, load, ReadOff(typed))
    with acting(play.clinic, by=play.people["manager"]) as act:
        second_reader.read_again(act, steriliser.now(load), typed)
    typed_load = steriliser.now(load)

    assert typed_load.verdict == "pass"
    with pytest.raises(Refused, match="only a cycle that passed by its log can"):
        steriliser.choose(typed_load)
    assert reference_questions.beside(play.clinic, typed_load).questions == ()


def test_a_reference_needs_a_reason(steriliser: Steriliser) -> None:
    load = steriliser.released()

    with pytest.raises(Refused, match="Say why this cycle"):
        steriliser.choose(load, reason="  ")


# --- asked and answered -----------------------------------------------------------------------


def test_without_a_reference_and_a_past_nothing_is_asked(steriliser: Steriliser) -> None:
    load = steriliser.run(heat_s=SLOW_S)

    assert steriliser.asked(load) == []
    assert steriliser.play.scan(load.load, "release").word == "Released"
    assert steriliser.now(load).asked == ()


def test_a_cycle_like_the_reference_is_released_by_scan_as_ever(steriliser: Steriliser) -> None:
    steriliser.choose(steriliser.released())

    load = steriliser.run()

    assert steriliser.play.scan(load.load).word == "Passed"
    assert steriliser.play.scan("release").word == "Released"


def test_a_scan_does_not_release_what_is_asked_about_and_says_where_to_go(
    steriliser: Steriliser,
) -> None:
    steriliser.choose(steriliser.released())
    load = steriliser.run(heat_s=SLOW_S)

    shown = steriliser.play.scan("start over", load.load)
    refused = steriliser.play.scan("release")

    assert (shown.word, shown.tone, shown.options) == ("Passed", "warn", ())
    assert any("in the reference cycle" in one.says for one in shown.reasons)
    assert refused.tone == "no"
    assert "1 question is asked about the cycle of load" in refused.what
    assert "answer on its page under Loads" in refused.what
    assert steriliser.now(load).state == "judged"


def test_the_answer_is_kept_with_the_release_and_the_verdict_is_as_it_was(
    steriliser: Steriliser,
) -> None:
    steriliser.choose(steriliser.released())
    load = steriliser.run(heat_s=SLOW_S)

    done = steriliser.release(load, " a cold, full load ", ["likeness-heat-up"])

    assert (done.state, done.verdict, done.answer) == ("released", "pass", "a cold, full load")
    assert [one.code for one in done.asked] == ["likeness-heat-up"]
    told = [e.fact for e in told_about(steriliser.play.clinic.store, load.load)]
    released = next(fact for fact in told if isinstance(fact, facts.LoadReleased))
    assert released.asked == done.asked
    line = history.page(steriliser.play.clinic, load.load).lines[-1].text
    assert "Asked about its cycle: Heating: " in line
    assert line.endswith("Found: a cold, full load")


@pytest.mark.parametrize(
    ("answer", "seen", "says"),
    [
        ("", ["likeness-heat-up"], "1 question is asked"),
        ("a full load", None, "1 question is asked"),
        ("a full load", [], "has changed"),
        ("a full load", ["likeness-drying"], "has changed"),
    ],
)
def test_no_answer_and_an_answer_to_something_else_release_nothing(
    steriliser: Steriliser, answer: str, seen: list[str] | None, says: str
) -> None:
    steriliser.choose(steriliser.released())
    load = steriliser.run(heat_s=SLOW_S)

    with pytest.raises(Refused, match=says):
        steriliser.release(load, answer, seen)

    assert steriliser.now(load).state == "judged"


def test_an_answer_to_nothing_is_not_kept(steriliser: Steriliser) -> None:
    load = steriliser.run()

    done = steriliser.release(load, "nothing to say", [])

    assert (done.asked, done.answer) == ((), "")


def test_a_failed_load_is_compared_and_asked_nothing(steriliser: Steriliser) -> None:
    steriliser.choose(steriliser.released())

    load = steriliser.run(hold_s=140)

    assert load.verdict == "fail"
    assert steriliser.asked(load) == []
    assert reference_questions.beside(steriliser.play.clinic, load).rows


def test_a_programme_of_its_own_has_a_reference_of_its_own(steriliser: Steriliser) -> None:
    steriliser.choose(steriliser.released())
    other = Steriliser(steriliser.play, steriliser.play.add("steriliser-vacuum"), steriliser.hooks)

    load = other.run(heat_s=SLOW_S)

    assert steriliser.asked(load) == []


def test_a_reference_whose_log_was_changed_compares_with_nothing_and_says_so(
    steriliser: Steriliser,
) -> None:
    reference = steriliser.released()
    steriliser.choose(reference)
    store = steriliser.play.clinic.store
    with store.writing():
        store.run("UPDATE file SET bytes = ? WHERE sha256 = ?", b"forged", reference.log)

    load = steriliser.run(heat_s=SLOW_S)

    found = reference_questions.beside(steriliser.play.clinic, load)
    assert (found.rows, found.questions) == ((), ())
    assert "missing or no longer as it was handed in" in found.says


# --- the size of the load ---------------------------------------------------------------------


def past(steriliser: Steriliser, count: int = 12) -> None:
    for number in range(count):
        things = 2 + 2 * (number % 4)
        steriliser.released(things, 150 + 15 * things)


def test_a_judgement_keeps_what_tells_of_the_size(steriliser: Steriliser) -> None:
    load = steriliser.run()

    assert {"heat_up_s", "drying_s"} <= set(load.figures)


def test_a_load_that_heated_like_a_larger_one_is_asked_about(steriliser: Steriliser) -> None:
    past(steriliser)

    load = steriliser.run(things=2, heat_s=150 + 15 * 6)

    asked = reference_questions.open_questions(steriliser.play.clinic, load)
    assert [one.code for one in asked] == ["load-size-heated"]
    assert "2 things were put in, but it heated like about 6" in asked[0].says
    assert "12 passed cycles of this machine" in asked[0].says


def test_a_load_that_heated_as_it_should_is_not(steriliser: Steriliser) -> None:
    past(steriliser)

    assert steriliser.asked(steriliser.run(things=4, heat_s=150 + 15 * 4)) == []


def test_too_short_a_past_asks_nothing(steriliser: Steriliser) -> None:
    past(steriliser, 11)

    load = steriliser.run(things=2, heat_s=150 + 15 * 8)

    assert steriliser.asked(load) == []
    assert reference_questions.beside(steriliser.play.clinic, load).sizes == ()


def test_only_what_came_before_counts_so_that_a_question_stays_what_it_was(
    steriliser: Steriliser,
) -> None:
    past(steriliser, 11)
    load = steriliser.run(things=2, heat_s=150 + 15 * 8)
    others = [steriliser.play.add("hook") for _ in range(8)]

    past(Steriliser(steriliser.play, steriliser.tag, others, cycles=200), 4)

    assert steriliser.asked(load) == []
    assert len(load_rows.loads_like(steriliser.play.clinic.store, load, 60)) == 11


def test_a_full_load_heats_longer_than_a_smaller_reference_and_is_not_asked_about(
    steriliser: Steriliser,
) -> None:
    small = steriliser.released(2, 180)
    steriliser.choose(small)
    alone = steriliser.run(things=8, heat_s=270)
    steriliser.release(alone, "it was full", steriliser.asked(alone))
    for things in (3, 4, 5, 6) * 3:
        load = steriliser.run(things, 150 + 15 * things)
        steriliser.release(load, "looked at", steriliser.asked(load))

    later = steriliser.run(things=6, heat_s=240)

    assert [one.code for one in steriliser.now(alone).asked] == ["likeness-heat-up"]
    assert steriliser.asked(later) == []
