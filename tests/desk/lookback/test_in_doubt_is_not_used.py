"""What an open look-back holds in doubt is not used, from its opening until its decision."""

import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.lookback.cases import case_acts, case_page
from equip.desk.machines import lots, sheets
from equip.desk.register import stock
from equip.facts import Stated
from equip.store.fold.rebuild import differences
from equip.store.readings import load_rows
from tests.support.cases import ask, opened, step
from tests.support.playing import Play


def decided(play: Play, case: str) -> None:
    step(play, case_acts.take_list, case)
    step(play, case_acts.decide, case, "nobody is to be told", "the repeat was good")


def asked(play: Play, tag: str) -> list[str]:
    answer = play.scan("start over", "lay up", tag)
    return [] if answer.tone == "yes" else play.codes(answer)


def in_stock(play: Play, tag: str) -> list[str]:
    shown = stock.thing(play.clinic, tag, play.clock.now)
    assert shown is not None
    return [why.code for why in shown.reasons]


@pytest.fixture
def machine(play: Play) -> str:
    return play.add("steriliser-vacuum")


@pytest.fixture
def hook(play: Play) -> str:
    return play.add("hook")


@pytest.fixture
def pack(play: Play, machine: str, hook: str) -> str:
    return play.sterile_pack(machine, hook)


def load_of(play: Play, machine: str) -> str:
    found = load_rows.last_load(play.clinic.store, machine)
    assert found is not None
    return found.load


def test_unused_stock_of_a_test_that_failed_is_no_yes_before_anybody_contains_it(
    play: Play, machine: str, pack: str, hook: str
) -> None:
    assert asked(play, pack) == []
    play.clock.passes(hours=20)
    with acting(play.clinic, by=play.people["nurse"]) as act:
        sheets.record(act, machine, "steam-penetration", passed=False)
    case = opened(play, ask(play, "machine-test", machine, more="steam-penetration"), machine)

    assert "in-look-back" in asked(play, pack)
    assert "in-look-back" in in_stock(play, pack)
    assert "in-look-back" in in_stock(play, hook)
    play.scan("start over", "123456", "start a use")
    answer = play.scan(pack)
    assert (answer.tone, answer.word) == ("no", "No")

    decided(play, case)

    assert asked(play, pack) == []
    assert in_stock(play, pack) == []
    assert differences(play.clinic.store, play.clinic.settings.data) == []


def test_a_machine_in_doubt_runs_nothing_until_it_is_decided(
    play: Play, machine: str, pack: str
) -> None:
    today = play.clinic.house.today(play.clock.now)
    case = opened(play, ask(play, "machine", machine, since=today), machine)
    other = play.packed(play.add("forceps"))

    refused = play.scan("start over", machine)
    play.scan(other)

    assert load_rows.load_on(play.clinic.store, machine) is None
    assert f"Look-back {case} holds it in doubt" in " ".join(
        [refused.what, *(one.says for one in refused.reasons)]
    )
    assert "in-look-back" in in_stock(play, machine)
    decided(play, case)
    play.scan("start over", machine, other)
    assert load_rows.load_on(play.clinic.store, machine) is not None


def test_a_lot_in_doubt_serves_no_step(play: Play) -> None:
    with acting(play.clinic, by=play.people["manager"]) as act:
        lot = lots.add(act, "wipe", "Lot one", "N-1", stated=Stated(contact_s=60))
    scope = play.add("scope-wiped", "go-live")
    play.scan("123456", scope, "finish", "start over", "clean", scope, "disinfect", lot, scope)
    case = opened(play, ask(play, "lot", lot), lot)

    answer = play.scan("start over", "disinfect", lot)

    assert play.codes(answer) == ["lot-in-doubt"]
    with pytest.raises(Refused, match=f"Look-back {case} holds lot N-1"):
        step(play, lots.serve, lot, ("wipe",))
    decided(play, case)
    assert play.scan("start over", "disinfect", lot).tone != "no"


def test_an_instrument_found_damaged_is_held_until_it_is_decided(
    play: Play, machine: str, pack: str, hook: str
) -> None:
    case = opened(play, ask(play, "damage", hook), hook)

    assert "in-look-back" in asked(play, pack)
    assert any(f"Look-back {case}" in why.says for why in _reasons(play, pack))


def _reasons(play: Play, tag: str) -> tuple[object, ...]:
    shown = stock.thing(play.clinic, tag, play.clock.now)
    assert shown is not None
    return shown.reasons


def test_what_a_wider_scope_takes_in_is_no_yes_and_contain_waits_again(
    play: Play, machine: str, pack: str, hook: str
) -> None:
    first = load_of(play, machine)
    other = play.sterile_pack(machine, play.add("forceps"))
    second = load_of(play, machine)
    case = opened(play, ask(play, "load", first), first)
    step(play, case_acts.contain, case)
    assert asked(play, other) == []
    assert _waits(play, case)["contain"] is False

    step(play, case_acts.rescope, case, [first, second], [], "the same chart")

    assert "load-refused" in asked(play, other)
    assert _waits(play, case)["contain"] is True
    kept = step(play, case_acts.contain, case)
    assert hook not in kept, "kept back already, and not once more"
    assert other in kept
    assert _waits(play, case)["contain"] is False


def test_a_narrower_scope_leaves_contain_done(play: Play, machine: str, pack: str) -> None:
    first = load_of(play, machine)
    play.sterile_pack(machine, play.add("forceps"))
    second = load_of(play, machine)
    case = opened(play, ask(play, "load", first), first)
    step(play, case_acts.rescope, case, [first, second], [], "the same chart")
    step(play, case_acts.contain, case)

    step(play, case_acts.rescope, case, [first], [], "it was another chart")

    assert _waits(play, case)["contain"] is False


def _waits(play: Play, case: str) -> dict[str, bool]:
    found = case_page.shown(play.clinic, case, play.clock.now)
    assert found is not None
    return {one.stage: not one.is_done for one in found.stages}
