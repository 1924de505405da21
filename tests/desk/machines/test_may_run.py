"""Why a machine may not run: one answer for its page, the lists, the Bench and the acts."""

import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.loads import loads
from equip.desk.loads.release import release_load, why_not_release
from equip.desk.lookback.cases import case_acts
from equip.desk.machines import may_run, sheets
from equip.desk.register import items, stock
from equip.rules.loads.load import Load
from equip.store.readings import load_rows
from tests.support.playing import Play


def in_short(play: Play, machine: str) -> str:
    stands = play.clinic.house.kind(_type(play, machine)).process
    assert stands is not None
    return may_run.in_short(play.clinic, machine, stands, play.clock.now)


def _type(play: Play, machine: str) -> str:
    shown = stock.thing(play.clinic, machine, play.clock.now)
    assert shown is not None
    return shown.type


def paged(play: Play, machine: str) -> list[str]:
    shown = stock.thing(play.clinic, machine, play.clock.now)
    assert shown is not None
    found = may_run.thing_with(play.clinic, shown, play.clock.now)
    return [why.says for why in found.reasons if why.code == "machine-not-to-run"]


def load_of(play: Play, tag: str) -> Load:
    found = load_rows.load_of(play.clinic.store, tag)
    assert found is not None
    return found


@pytest.fixture
def steriliser(play: Play) -> str:
    return play.add("steriliser-vacuum")


def failed_penetration(play: Play, machine: str) -> None:
    with acting(play.clinic, by=play.people["nurse"]) as act:
        sheets.record(act, machine, "steam-penetration", passed=False)


def test_tests_to_do_then_a_signature_then_ready(play: Play, steriliser: str) -> None:
    before = in_short(play, steriliser)
    play.tested(steriliser)

    assert before == "tests to do"
    assert in_short(play, steriliser) == "ready"
    assert paged(play, steriliser) == []


def test_after_a_failed_test_nothing_says_that_a_load_of_it_may_be_released(
    play: Play, steriliser: str
) -> None:
    hook = play.add("hook")
    play.cleaned(hook)
    pack = play.packed(hook)
    load = play.run(steriliser, pack)
    failed_penetration(play, steriliser)

    at_the_bench = play.scan("start over", load)
    told = play.scan("release")
    on_the_page = why_not_release(
        play.clinic, load_of(play, load), play.people["nurse"], play.clock.now
    )

    assert [one.code for one in on_the_page] == ["machine-not-to-run"]
    assert (at_the_bench.tone, at_the_bench.word) == ("no", "Not yet")
    assert at_the_bench.reasons == tuple(on_the_page)
    assert told.word != "Released"
    with (
        pytest.raises(Refused, match="was not to run"),
        acting(play.clinic, by=play.people["nurse"]) as act,
    ):
        release_load(act, load_of(play, load), play.people["nurse"])
    assert in_short(play, steriliser) == "out of use"
    assert any("failed" in says for says in paged(play, steriliser))


def test_a_soak_bath_that_nobody_filled_is_not_ready(play: Play) -> None:
    bath = play.add("soak-bath")
    play.tested(bath)

    assert in_short(play, bath) == "to be filled anew"
    assert paged(play, bath) != []


def test_what_is_in_quarantine_starts_no_load_that_was_opened_before(
    play: Play, steriliser: str
) -> None:
    hook = play.add("hook")
    play.cleaned(hook)
    play.scan("start over", steriliser, hook)
    play.tested(steriliser)
    with acting(play.clinic, by=play.people["manager"]) as act:
        items.quarantine(act, steriliser, "it smells burnt", "clean-it-now")
    load = load_rows.load_on(play.clinic.store, steriliser)
    assert load is not None

    with (
        pytest.raises(Refused, match="it smells burnt"),
        acting(play.clinic, by=play.people["nurse"]) as act,
    ):
        loads.start(act, load)
    assert in_short(play, steriliser) == "out of use"


def test_a_load_in_doubt_is_not_released_unless_the_doubt_is_unfounded(
    play: Play, steriliser: str
) -> None:
    hook = play.add("hook")
    play.cleaned(hook)
    load = play.run(steriliser, play.packed(hook))
    with acting(play.clinic, by=play.people["manager"]) as act:
        case = case_acts.raise_doubt(act, [load], "the curve looks odd")

    refused = play.scan("start over", load)
    with acting(play.clinic, by=play.people["manager"]) as act:
        case_acts.decide(act, case, "nothing was wrong", "judged anew", unfounded=True)

    assert play.codes(refused) == ["load-in-doubt"]
    assert play.scan("start over", load, "release").word == "Released"
