"""A log is not a load: what must not go through a machine's programme, however good its curve."""

import msgspec
import pytest

from equip import facts
from equip.facts import ItemType, Process, Programme, RouteStep
from equip.rules.fitness.gates import Member
from equip.rules.fitness.suiting import UNSUITED, contents_in, loose_in, steps_open, why_not_in
from equip.rules.verdict import Reason, worst
from tests.support.lives import (
    GATE,
    HOOK,
    HOOK_TYPE,
    LOAD,
    PACK_TAG,
    PACK_TYPE,
    SCOPE,
    SCOPE_TYPE,
    SET_TAG,
    SET_TYPE,
    SINGLE,
    Life,
)

ALL = Programme(judged_by="steam-134", wrapped=True, hollow=True)
SOLIDS = Programme(judged_by="steam-134")
VACUUM = Process(steps=("sterilise",), heat="steam", vacuum=True, programmes=(ALL, SOLIDS))
PLAIN = Process(steps=("sterilise",), heat="steam", programmes=(ALL, SOLIDS))
WASHER = Process(steps=("clean", "rinse", "disinfect", "dry"), heat="hot-water")
BATH = Process(steps=("clean",))
RUN = Programme(judged_by="thermal-a0-3000")

TIP = ItemType(
    code="suction-tip",
    name="Suction tip",
    hollow=True,
    route=(RouteStep(step="clean"), RouteStep(step="inspect"), GATE),
)
STEAMED_SCOPE = msgspec.structs.replace(HOOK_TYPE, name="Scope", optic="rigid", heat_proof=False)


@pytest.fixture
def hook() -> Life:
    return Life(HOOK).added()


def against(
    life: Life,
    process: Process,
    programme: Programme,
    kind: ItemType = HOOK_TYPE,
    *,
    wrapped: bool = False,
) -> list[str]:
    return codes(why_not_in(life.stands, kind, process, programme, wrapped=wrapped))


def codes(reasons: list[Reason]) -> list[str]:
    return [reason.code for reason in reasons]


# --- the thing and the programme --------------------------------------------------------------


@pytest.mark.parametrize("hollow", [False, True])
@pytest.mark.parametrize("wrapped", [False, True])
@pytest.mark.parametrize("vacuum", [False, True])
@pytest.mark.parametrize("programme", [ALL, SOLIDS])
def test_steam_reaches_a_lumen_or_a_wrap_only_with_vacuum_and_a_programme_for_it(
    hook: Life, hollow: bool, wrapped: bool, vacuum: bool, programme: Programme
) -> None:
    kind = TIP if hollow else HOOK_TYPE

    found = against(hook, VACUUM if vacuum else PLAIN, programme, kind, wrapped=wrapped)

    reached = vacuum and programme is ALL
    expected = (
        [] if reached else ["hollow-not-reached"] * hollow + ["wrapped-not-reached"] * wrapped
    )
    assert found == expected


def test_what_is_wrong_with_the_machine_or_its_programme_is_said(hook: Life) -> None:
    plain = why_not_in(hook.stands, TIP, PLAIN, ALL, wrapped=True)
    solids = why_not_in(hook.stands, TIP, VACUUM, SOLIDS, wrapped=True)

    assert all(one.says.startswith("This machine draws no vacuum") for one in plain)
    assert solids[0].says.startswith("This programme is for solids")
    assert solids[1].says.startswith("This programme is for unwrapped things")


@pytest.mark.parametrize("process", [VACUUM, WASHER])
def test_a_scope_that_stands_no_heat_goes_neither_into_steam_nor_hot_water(
    process: Process,
) -> None:
    scope = Life(SCOPE).added(type="scope")

    assert against(scope, process, ALL, STEAMED_SCOPE) == ["not-heat-proof"]


def test_a_wiped_scope_has_no_sterilisation_on_its_route_either() -> None:
    scope = Life(SCOPE).added(type="scope-wiped")

    assert against(scope, VACUUM, ALL, SCOPE_TYPE) == ["not-on-its-route", "not-heat-proof"]


def test_a_cold_bath_takes_what_stands_no_heat() -> None:
    assert against(Life(SCOPE).added(), BATH, RUN, SCOPE_TYPE) == []


def test_a_lumen_is_no_question_where_there_is_no_steam(hook: Life) -> None:
    assert against(hook, WASHER, RUN, TIP) == []


def test_a_step_that_is_not_on_its_route_is_refused_by_name(hook: Life) -> None:
    soak = Process(steps=("disinfect",))

    reasons = why_not_in(hook.stands, HOOK_TYPE, soak, RUN, wrapped=False)

    assert codes(reasons) == ["not-on-its-route"]
    assert "Hook has no step “disinfect” on its route" in reasons[0].says
    assert "maker's instructions" in reasons[0].says


def test_one_step_of_a_machine_that_is_on_the_route_is_enough(hook: Life) -> None:
    assert against(hook, WASHER, RUN) == []


def test_a_machine_itself_is_nothing_to_put_into_a_machine() -> None:
    pump = ItemType(code="pump", name="Suction pump", sort="machine", contact="neither")

    assert against(Life("D000000013").added(), VACUUM, ALL, pump) == ["not-on-its-route"]


@pytest.mark.parametrize("process", [VACUUM, WASHER, BATH])
def test_a_single_use_thing_is_kept_out_used_or_not(process: Process) -> None:
    fresh, used = Life(HOOK).added(), Life(HOOK).added().used()

    assert against(fresh, process, ALL, SINGLE) == ["not-on-its-route"]
    assert against(used, process, ALL, SINGLE) == ["single-use-again"]


def test_a_single_use_thing_that_comes_unsterile_goes_in_once() -> None:
    kind = msgspec.structs.replace(SINGLE, route=(GATE,))

    assert against(Life(HOOK).added(), VACUUM, ALL, kind) == []
    assert against(Life(HOOK).added().used(), VACUUM, ALL, kind) == ["single-use-again"]


# --- where it stands --------------------------------------------------------------------------


def test_a_soiled_hook_goes_in(hook: Life) -> None:
    assert against(hook.used(), VACUUM, ALL) == []


@pytest.mark.parametrize("how_far", ["filling", "running", "ended"])
def test_what_is_in_a_load_is_taken_out_of_it_first(hook: Life, how_far: str) -> None:
    hook.put_in()
    if how_far != "filling":
        hook.started()
    if how_far == "ended":
        hook.ended()

    reasons = why_not_in(hook.stands, HOOK_TYPE, VACUUM, ALL, wrapped=False)

    assert codes(reasons) == ["in-a-load"]
    assert "L 0000 0001 E" in reasons[0].says


@pytest.mark.parametrize("decided", ["released", "rejected"])
def test_what_came_out_of_a_decided_load_may_go_into_the_next(hook: Life, decided: str) -> None:
    hook.put_in().started().ended().judged()
    if decided == "released":
        hook.released()
    else:
        hook.then(facts.LoadRejected, load=LOAD, reason="wet", covers=(HOOK,))

    assert against(hook, VACUUM, ALL) == []


def test_what_is_bagged_stays_as_it_is_and_what_is_to_be_cleaned_goes_in(hook: Life) -> None:
    assert against(hook.kept_back("clean-it-now"), VACUUM, ALL) == []

    assert against(hook.kept_back("bag-it"), VACUUM, ALL) == ["quarantined"]


def test_a_failed_inspection_keeps_it_out(hook: Life) -> None:
    assert against(hook.stepped("inspect", passed=False), VACUUM, ALL) == ["inspection-failed"]


def test_a_retired_thing_stays_out(hook: Life) -> None:
    assert against(hook.then(facts.Retired, item=HOOK, why="worn"), VACUUM, ALL) == ["retired"]


def test_an_opened_or_torn_pack_is_packed_anew() -> None:
    opened = Life(PACK_TAG).packed().used(item=PACK_TAG)
    torn = Life(PACK_TAG).packed().marked("torn", "unpack", item=PACK_TAG)

    assert against(opened, VACUUM, ALL, PACK_TYPE, wrapped=True) == ["pack-opened"]
    assert against(torn, VACUUM, ALL, PACK_TYPE, wrapped=True) == ["pack-spoilt"]


def test_what_a_torn_pack_held_may_go_in_again() -> None:
    life = Life(HOOK).added().packed().marked("torn", "unpack", item=PACK_TAG, covers=(HOOK,))

    assert against(life, VACUUM, ALL) == []


def test_the_last_cycle_that_its_maker_allows_is_the_last(hook: Life) -> None:
    kind = msgspec.structs.replace(HOOK_TYPE, cycle_limit=2)
    assert against(hook.cycle(), VACUUM, ALL, kind) == []

    assert against(hook.cycle(), VACUUM, ALL, kind) == ["cycle-limit"]


def test_all_reasons_are_listed(hook: Life) -> None:
    kind = msgspec.structs.replace(TIP, heat_proof=False, cycle_limit=0)
    hook.stepped("inspect", passed=False).kept_back("bag-it")

    assert against(hook, PLAIN, SOLIDS, kind, wrapped=True) == [
        "quarantined",
        "inspection-failed",
        "cycle-limit",
        "not-heat-proof",
        "hollow-not-reached",
        "wrapped-not-reached",
    ]


# --- what is inside ---------------------------------------------------------------------------


def member(life: Life, kind: ItemType) -> Member:
    return life.stands, kind


def test_a_pack_goes_by_what_it_holds(hook: Life) -> None:
    scope = Life(SCOPE).added()

    reasons = contents_in(
        [member(hook, TIP), member(scope, STEAMED_SCOPE)], VACUUM, ALL, wrapped=True
    )

    assert codes(reasons) == ["not-heat-proof"]
    assert reasons[0].says.startswith("Scope E 0000 0003 5: ")


def test_each_hollow_thing_in_a_pack_is_named_where_steam_does_not_reach(hook: Life) -> None:
    second = Life("E000000027").added()

    reasons = contents_in([member(hook, TIP), member(second, TIP)], VACUUM, SOLIDS, wrapped=False)

    assert codes(reasons) == ["hollow-not-reached"] * 2
    assert "E 0000 0002 7" in reasons[1].says


def test_what_a_pack_holds_is_in_the_load_with_it(hook: Life) -> None:
    hook.packed().put_in(put=PACK_TAG, wrapped=True)

    assert contents_in([member(hook, HOOK_TYPE)], VACUUM, ALL, wrapped=True) == []


def test_one_thing_of_a_tray_that_is_in_another_load_keeps_the_tray_out(hook: Life) -> None:
    hook.put_in()

    assert codes(contents_in([member(hook, HOOK_TYPE)], VACUUM, ALL, wrapped=False)) == [
        "in-a-load"
    ]


def test_a_set_itself_is_no_reason_for_anything() -> None:
    tray = Life(SET_TAG).added(type="set")

    for process in (VACUUM, PLAIN, WASHER, BATH):
        assert against(tray, process, SOLIDS, SET_TYPE) == []


def test_untagged_things_are_judged_by_their_type() -> None:
    fine = msgspec.structs.replace(TIP, name="Fine tip", tagged=False)

    assert loose_in(fine, VACUUM, ALL, wrapped=True) == []
    assert codes(loose_in(fine, PLAIN, SOLIDS, wrapped=True)) == [
        "hollow-not-reached",
        "wrapped-not-reached",
    ]
    assert loose_in(fine, PLAIN, ALL, wrapped=True)[0].says.startswith("Fine tip: ")


def test_untagged_single_use_things_are_never_put_through_a_machine() -> None:
    assert codes(loose_in(SINGLE, VACUUM, ALL, wrapped=True)) == ["single-use-again"]


# --- refused or warned ------------------------------------------------------------------------


def test_a_skipped_step_is_a_warning_and_not_a_refusal(hook: Life) -> None:
    hook.used().stepped("inspect")

    assert against(hook, VACUUM, ALL) == []
    assert steps_open(hook.stands, HOOK_TYPE, VACUUM) == ["clean"]


def test_only_steps_ahead_of_what_the_machine_does_are_open(hook: Life) -> None:
    hook.used()

    assert steps_open(hook.stands, HOOK_TYPE, WASHER) == []
    assert steps_open(hook.stands, HOOK_TYPE, VACUUM) == ["clean", "inspect"]


@pytest.mark.parametrize("verdict", ["fail", "undecided"])
def test_a_wash_that_did_not_pass_leaves_the_cleaning_open(hook: Life, verdict: str) -> None:
    hook.used().put_in().started().ended(LOAD, "clean").judged(verdict)

    assert "clean" in steps_open(hook.stands, HOOK_TYPE, VACUUM)


def test_whatever_is_found_here_keeps_it_out() -> None:
    found = why_not_in(Life(SCOPE).added().stands, SCOPE_TYPE, PLAIN, SOLIDS, wrapped=True)

    assert worst(found) == "fail"
    assert all(worst([reason]) == "fail" for reason in found)


def test_what_lies_in_the_thing_and_the_programme_holds_at_release_again(hook: Life) -> None:
    """What changes while it is in the load (it *is* in a load) does not hold it back."""
    kind = msgspec.structs.replace(TIP, heat_proof=False, route=(RouteStep(step="clean"),))
    found = against(hook.put_in(), PLAIN, SOLIDS, kind, wrapped=True)
    spent = against(Life(HOOK).added().used(), PLAIN, SOLIDS, SINGLE)

    assert set(found + spent) - UNSUITED == {"in-a-load"}
    assert set(found + spent) >= UNSUITED
