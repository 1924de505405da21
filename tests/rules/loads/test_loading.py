"""Where a load stands, fact by fact, and who may let it go."""

from functools import reduce

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip import facts
from equip.facts import Fact, Told
from equip.rules.loads.fold import after, fold
from equip.rules.loads.load import Load
from equip.rules.loads.release import why_not_release
from tests.golden.test_golden_facts import FIELDS
from tests.support.lives import HOOK, LOAD, MACHINE, NURSE, OTHER, PACK_TAG, SECOND, Life
from tests.support.stopped import NOON

RIGHTS = frozenset({"release"})


class Run(Life):
    """The life of a load."""

    def __init__(self) -> None:
        super().__init__(LOAD)
        self.then(facts.LoadOpened, load=LOAD, machine=MACHINE, programme="steam-134")

    def add(self, item: str = HOOK, *covers: str, by: str = NURSE) -> "Run":
        self.then(facts.LoadAdded, load=LOAD, item=item, covers=covers, wrapped=bool(covers), by=by)
        return self

    def start(self, by: str = NURSE) -> "Run":
        self.then(facts.LoadStarted, load=LOAD, machine=MACHINE, programme="steam-134", by=by)
        return self

    def end(self) -> "Run":
        self.then(
            facts.LoadEnded, load=LOAD, machine=MACHINE, steps=("sterilise",), cycle_no="4711"
        )
        return self

    def judge(self, verdict: str = "pass") -> "Run":
        self.then(
            facts.LoadJudged,
            load=LOAD,
            machine=MACHINE,
            programme="steam-134",
            verdict=verdict,
            figures={"hold_s": "215"},
        )
        return self

    def release(self) -> "Run":
        self.then(facts.LoadReleased, load=LOAD, released=(HOOK,), held=(SECOND,), note="one damp")
        return self

    def reject(self) -> "Run":
        self.then(facts.LoadRejected, load=LOAD, reason="cold")
        return self

    @property
    def load(self) -> Load:
        return fold(LOAD, self.told)


@pytest.fixture
def run() -> Run:
    return Run()


def codes(load: Load, by: str = OTHER, rights: frozenset[str] = RIGHTS, **more: bool) -> list[str]:
    two_people = more.get("two_people", False)
    return [told.code for told in why_not_release(load, by, rights, two_people=two_people)]


# --- the fold ---------------------------------------------------------------------------------


def test_a_load_goes_through_its_states_in_order(run: Run) -> None:
    states = [run.load.state]
    for step in (run.add, run.start, run.end, run.judge, run.release):
        step()
        states.append(run.load.state)

    assert states == ["filling", "filling", "running", "ended", "judged", "released"]


def test_what_the_machine_said_and_when_is_kept(run: Run) -> None:
    opened = run.at
    started = run.add().start().at
    ended = run.end().at

    load = run.load
    assert (load.opened, load.started, load.ended) == (opened, started, ended)
    assert (load.machine, load.programme, load.cycle_no) == (MACHINE, "steam-134", "4711")


def test_another_programme_before_the_start_keeps_when_it_was_opened(run: Run) -> None:
    opened = run.at

    run.then(facts.LoadOpened, load=LOAD, machine=MACHINE, programme="steam-121")

    assert (run.load.programme, run.load.opened) == ("steam-121", opened)


def test_everything_in_it_is_listed_once_with_what_it_held(run: Run) -> None:
    run.add(PACK_TAG, HOOK, SECOND).add(SECOND)

    assert run.load.covers == (PACK_TAG, HOOK, SECOND)
    assert [put.wrapped for put in run.load.inside] == [True, False]


def test_what_was_taken_out_is_in_it_no_longer_with_what_it_held(run: Run) -> None:
    run.add(PACK_TAG, HOOK).add(SECOND)

    run.then(facts.LoadTakenOut, load=LOAD, item=PACK_TAG, covers=(HOOK,))

    assert run.load.covers == (SECOND,)


def test_what_was_refused_was_never_in_it(run: Run) -> None:
    run.then(facts.LoadRefused, load=LOAD, item=HOOK, reasons=())

    assert run.load.covers == ()


def test_who_decided_what_is_kept_for_a_release_and_a_rejection(run: Run) -> None:
    run.add().start().end().judge()
    released = fold(LOAD, run.told)
    released = after(released, run.release().told[-1])
    rejected = Run().add().start().end().judge("fail").reject().load

    assert (released.released, released.held, released.note) == ((HOOK,), (SECOND,), "one damp")
    assert (released.decided, released.decided_by) == (run.at, NURSE)
    assert (rejected.state, rejected.note, rejected.decided_by) == ("rejected", "cold", NURSE)


def test_judging_anew_after_release_changes_the_verdict_and_not_the_decision(run: Run) -> None:
    run.add().start().end().judge().release().judge("fail")

    assert (run.load.state, run.load.verdict) == ("released", "fail")


def test_judging_twice_before_release_leaves_the_last_word(run: Run) -> None:
    run.add().start().end().judge("undecided").judge("pass")

    assert (run.load.state, run.load.verdict) == ("judged", "pass")


def test_a_log_that_came_with_the_judgement_is_kept_and_one_there_is_stays(run: Run) -> None:
    run.add().start()
    run.then(facts.LoadEnded, load=LOAD, machine=MACHINE, steps=("sterilise",), log="ab" * 32)

    assert run.judge().load.log == "ab" * 32


def test_a_withdrawn_act_never_happened_to_the_load(run: Run) -> None:
    run.add().start().end().judge().release()

    run.then(facts.Withdrawn, withdrawn=run.last_act, covers=(LOAD, HOOK))

    assert run.load.state == "judged"
    assert run.load.released == ()


def test_a_load_survives_the_table_it_is_kept_in(run: Run) -> None:
    load = run.add(PACK_TAG, HOOK).start().end().judge("fail").reject().load

    assert msgspec.json.decode(msgspec.json.encode(load), type=Load) == load


_KINDS = sorted(set(FIELDS) - {facts.Withdrawn}, key=lambda kind: kind.__name__)


def _some(kind: type[Fact]) -> Fact:
    return kind(at=NOON, by=NURSE, act="a", **FIELDS[kind])


@given(st.lists(st.sampled_from(_KINDS).map(_some), max_size=20))
def test_folding_all_at_once_equals_folding_one_after_the_other(told: list[Fact]) -> None:
    assert fold(LOAD, told) == reduce(after, told, Load(load=LOAD))


# --- letting go -------------------------------------------------------------------------------


def test_a_passed_load_is_released_by_whoever_has_the_right(run: Run) -> None:
    assert codes(run.add().start().end().judge().load) == []


@pytest.mark.parametrize("rights", [frozenset(), frozenset({"override", "quarantine"})])
def test_nobody_releases_without_the_right(run: Run, rights: frozenset[str]) -> None:
    load = run.add().start().end().judge().load

    assert codes(load, rights=rights) == ["no-right"]


@pytest.mark.parametrize(
    ("how_far", "code"),
    [
        (0, "load-filling"),
        (1, "load-running"),
        (2, "load-ended"),
        (3, None),
        (4, "load-released"),
    ],
)
def test_a_load_is_released_only_when_it_is_judged_and_only_once(
    run: Run, how_far: int, code: str | None
) -> None:
    run.add()
    for step in (run.start, run.end, run.judge, run.release)[:how_far]:
        step()

    assert codes(run.load) == ([] if code is None else [code])


@pytest.mark.parametrize("verdict", ["fail", "undecided"])
def test_what_did_not_pass_is_released_by_nobody(run: Run, verdict: str) -> None:
    everything = frozenset({"release", "override", "quarantine", "setup"})

    found = codes(run.add().start().end().judge(verdict).load, rights=everything)

    assert found == [f"load-{verdict}"]


def test_a_rejected_load_is_not_released_after_all(run: Run) -> None:
    assert codes(run.add().start().end().judge().reject().load) == ["load-rejected"]


def test_where_two_people_are_asked_for_the_one_who_loaded_does_not_release(run: Run) -> None:
    load = run.add(by=NURSE).add(SECOND, by=OTHER).start(by="B00000007G").end().judge().load

    for by, expected in ((NURSE, ["same-person"]), (OTHER, ["same-person"]), ("B000000089", [])):
        assert codes(load, by, two_people=True) == expected
        assert codes(load, by, two_people=False) == []


def test_whoever_started_it_is_not_the_second_person_either(run: Run) -> None:
    load = run.add(by=NURSE).start(by=OTHER).end().judge().load

    assert load.loaders == {NURSE, OTHER}
    assert codes(load, OTHER, two_people=True) == ["same-person"]


def test_whoever_put_in_only_what_was_taken_out_again_is_a_second_person(run: Run) -> None:
    run.add(by=NURSE).add(SECOND, by=OTHER)
    run.then(facts.LoadTakenOut, load=LOAD, item=SECOND)

    assert codes(run.start().end().judge().load, OTHER, two_people=True) == []


def test_every_reason_against_a_release_is_listed(run: Run) -> None:
    load = run.add().start().end().judge("fail").load

    assert codes(load, NURSE, frozenset(), two_people=True) == [
        "no-right",
        "load-fail",
        "same-person",
    ]


# --- indicators and spore tests ---------------------------------------------------------------

LOT = "T00000001P"


def read_in(run: Run, result: str, *codes: str, again: bool = False, pack: str = "") -> Run:
    run.then(
        facts.IndicatorRead,
        load=LOAD,
        lot=LOT,
        where="in a pack" if pack else "in the chamber",
        result=result,
        pack=pack,
        again=again,
        reasons=tuple(facts.Told(code=code, says=code) for code in codes),
    )
    return run


def spores_in(run: Run, *results: str) -> Run:
    machine = {"load": LOAD, "machine": MACHINE, "lot": LOT}
    run.then(facts.SporeTestPut, **machine, with_control=True)
    for result in results:
        run.then(facts.SporeTestRead, **machine, result=result, control_grew=True)
    return run


@pytest.fixture
def passed(run: Run) -> Run:
    return run.add().start().end().judge()


def test_an_indicator_that_suits_and_did_not_turn_stops_the_release_and_no_verdict(
    passed: Run,
) -> None:
    load = read_in(passed, "fail", "indicator-failed").load

    assert codes(load) == ["indicator-failed"]
    assert (load.verdict, load.state) == ("pass", "judged")


def test_an_indicator_that_does_not_suit_says_nothing(passed: Run) -> None:
    assert codes(read_in(passed, "fail", "needs-longer", "result-not-counted").load) == []


def test_an_unclear_one_stops_the_release_until_somebody_reads_it_again(passed: Run) -> None:
    read_in(passed, "unclear", "indicator-unclear")
    unclear = passed.load
    clear = read_in(passed, "pass", again=True).load

    assert codes(unclear) == ["indicator-unclear"]
    assert codes(clear) == []
    assert [one.result for one in clear.indicators] == ["pass"]


def test_another_one_that_turned_does_not_clear_the_unclear_one(passed: Run) -> None:
    read_in(passed, "unclear", "indicator-unclear")

    assert codes(read_in(passed, "pass").load) == ["indicator-unclear"]


def test_a_second_look_in_another_place_does_not_clear_it_either(passed: Run) -> None:
    read_in(passed, "unclear", "indicator-unclear")

    assert codes(read_in(passed, "pass", again=True, pack=PACK_TAG).load) == ["indicator-unclear"]


def test_one_that_failed_stays_failed_whatever_is_read_after_it(passed: Run) -> None:
    read_in(passed, "fail", "indicator-failed")

    assert codes(read_in(passed, "pass", again=True).load) == ["indicator-failed"]


def test_a_load_whose_own_spores_grew_is_not_released(passed: Run) -> None:
    load = spores_in(passed, "positive").load

    assert codes(load) == ["spores-grew"]
    assert load.verdict == "pass"


@pytest.mark.parametrize("results", [(), ("negative",), ("invalid",), ("invalid", "negative")])
def test_a_spore_test_without_growth_or_without_result_stops_no_release(
    passed: Run, results: tuple[str, ...]
) -> None:
    assert codes(spores_in(passed, *results).load) == []


@pytest.mark.parametrize(
    ("results", "stands"),
    [
        (("invalid", "negative"), "negative"),
        (("negative", "positive"), "positive"),
        (("positive", "negative"), "positive"),
    ],
)
def test_once_spores_have_grown_no_later_reading_ungrows_them(
    passed: Run, results: tuple[str, ...], stands: str
) -> None:
    assert [one.result for one in spores_in(passed, *results).load.spores] == [stands]


def test_when_it_ran_is_its_start_or_else_its_end(run: Run) -> None:
    assert run.load.ran is None
    started = run.add().start().load
    ended = Run().add().end().load

    assert started.ran == started.started
    assert ended.ran == ended.ended


def test_what_was_asked_at_the_release_and_found_stays_with_the_load(run: Run) -> None:
    asked = (Told(code="likeness-heat-up", says="Heating: 4 min. Was more in it?"),)
    run.add().start().end().judge()

    run.then(
        facts.LoadReleased, load=LOAD, released=(HOOK,), asked=asked, answer="a cold, full load"
    )

    assert (run.load.asked, run.load.answer) == (asked, "a cold, full load")
    assert run.load.verdict == "pass"
