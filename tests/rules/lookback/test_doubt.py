"""What evidence puts in doubt, rule by rule; T numbers are those of the published patterns.

Sources: CDC Guideline for Disinfection and Sterilization 2008, Table 12 (T1, T3, T5, T6);
the pattern of a new operator found out late (T9, its first day assumed); the last known good
and the end of a window as common practice in look-back protocols.
"""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.lookback import doubt_scope
from equip.rules.lookback.doubt_scope import Did, Ran
from equip.rules.machines.leak_and_spores import SporeLoad, scope_of_doubt
from equip.rules.verdict import Verdict

NOON = datetime(2026, 3, 4, 12, tzinfo=UTC)


def at(hours: float) -> datetime:
    return NOON + timedelta(hours=hours)


RAN = [Ran(f"L{n}", at(n)) for n in range(1, 6)]


def test_t1_one_positive_spore_test_with_three_good_repeats_recalls_nothing() -> None:
    loads = [SporeLoad("C1", "negative"), SporeLoad("C2", None), SporeLoad("C3", "positive")]

    found = scope_of_doubt(
        "steam",
        loads,
        defect=False,
        wrong_settings=[],
        repeats=["negative"] * 3,
        negatives_needed=3,
    )

    assert doubt_scope.of_spores("the steriliser", found).is_empty
    assert found.back_in_service is True


def test_t3_a_load_with_wrong_settings_is_in_doubt_whatever_the_repeats_show() -> None:
    loads = [SporeLoad("C1", "negative"), SporeLoad("C2", None), SporeLoad("C3", "positive")]

    found = scope_of_doubt(
        "steam",
        loads,
        defect=False,
        wrong_settings=["C3"],
        repeats=["negative"] * 3,
        negatives_needed=3,
    )

    assert doubt_scope.of_spores("the steriliser", found).loads == ("C3",)


def test_t5_two_good_repeats_do_not_bring_the_machine_back() -> None:
    loads = [SporeLoad("C1", "negative"), SporeLoad("C2", "positive")]

    found = scope_of_doubt(
        "steam",
        loads,
        defect=False,
        wrong_settings=[],
        repeats=["negative"] * 2,
        negatives_needed=3,
    )

    assert found.back_in_service is False
    assert doubt_scope.of_spores("the steriliser", found).is_empty


def test_t6_a_load_that_failed_is_in_doubt_whole() -> None:
    found = doubt_scope.of_load("L1", "L1", "fail", released=False)

    assert found.loads == ("L1",)
    assert "failed" in found.says


def test_t10_a_load_that_cannot_be_judged_is_treated_as_not_passed() -> None:
    found = doubt_scope.of_load("L1", "L1", "undecided", released=True)

    assert found.loads == ("L1",)
    assert "treated as not passed" in found.says
    assert "was let go" in found.says


@pytest.mark.parametrize("effect", ["repeat", "block", "block-and-hold"])
def test_a_test_that_failed_puts_no_load_in_doubt_by_itself(effect: str) -> None:
    found = doubt_scope.of_machine_test("penetration test", "it", effect, RAN, at(2), at(4))

    assert found.is_empty
    assert found.held == (("L3", "L4") if effect == "block-and-hold" else ())
    assert found.asks.startswith("Repeat the test")


def test_a_machine_found_at_fault_puts_in_doubt_what_ran_since_its_test_last_passed() -> None:
    found = doubt_scope.of_machine_test("leak test", "it", "block", RAN, at(2), at(4), defect=True)

    assert found.loads == ("L3", "L4")


def test_a_machine_whose_test_never_passed_has_no_last_known_good() -> None:
    found = doubt_scope.of_machine_test("leak test", "it", "block", RAN, None, at(4), defect=True)

    assert found.loads == ("L1", "L2", "L3", "L4")
    assert found.says == (
        "The leak test of it failed and the machine was found at fault: 4 loads are in doubt, "
        "all so far, as it never passed here."
    )


def test_of_a_sensor_only_loads_that_were_let_go_and_would_not_pass_are_in_doubt() -> None:
    found = doubt_scope.of_sensor(
        "it",
        [
            (Ran("L1", at(1)), "fail"),
            (Ran("L2", at(2)), "undecided"),
            (Ran("L3", at(3), "fail", released=False), "pass"),
            (Ran("L4", at(4), "pass", released=False), "fail"),
        ],
    )

    assert found.loads == ("L1", "L2")


def test_damage_reaches_back_to_the_last_inspection_that_passed_and_no_further() -> None:
    gates = [Did("E1", f"L{n}", at(n)) for n in range(1, 5)]

    found = doubt_scope.of_damage("Hook", gates, at(2), at(4))

    assert found.gates == (("E1", "L3"), ("E1", "L4"))
    assert doubt_scope.of_damage("Hook", gates, None, at(4)).gates[0] == ("E1", "L1")
    assert found.says == (
        "Hook was found damaged: 2 decontaminations may not have cleaned it, "
        "all since it last passed an inspection."
    )


def test_a_bad_water_sample_reaches_back_to_the_last_good_one() -> None:
    assert doubt_scope.of_water("it", RAN, at(3), at(5)).loads == ("L4", "L5")
    assert doubt_scope.of_water("it", RAN, None, at(1)).loads == ("L1",)


def test_a_step_left_out_takes_every_decontamination_that_rested_on_it() -> None:
    gates = [Did("E1", f"L{n}", at(n)) for n in range(1, 5)]

    found = doubt_scope.of_step("clean", "Hook", gates, at(2), at(3))

    assert found.gates == (("E1", "L2"), ("E1", "L3"))
    assert "left out" in found.says


def test_a_source_patient_puts_nothing_in_doubt_and_is_asked_from() -> None:
    found = doubt_scope.of_patient("t123", 2)

    assert (found.loads, found.gates, found.patient) == ((), (), "t123")
    assert not found.is_empty


def test_one_gate_is_named_once_however_often_it_is_told() -> None:
    gates = [Did("E1", "L1", at(1)), Did("E1", "L1", at(1))]

    assert doubt_scope.of_step("dry", "Hook", gates, at(0), at(2)).gates == (("E1", "L1"),)


times = st.integers(0, 40)


@given(st.lists(times, max_size=12), times, times)
def test_a_period_takes_both_its_ends_and_nothing_outside(
    ended: list[int], first: int, last: int
) -> None:
    ran = [Ran(f"L{n}", at(hour)) for n, hour in enumerate(ended)]

    found = doubt_scope.of_period("machine", "it", ran, at(first), at(last))

    assert set(found.loads) == {f"L{n}" for n, hour in enumerate(ended) if first <= hour <= last}


@given(st.lists(times, max_size=12), times, times, times)
def test_a_later_good_test_never_widens_the_doubt(
    ended: list[int], one: int, other: int, failed: int
) -> None:
    ran = [Ran(f"L{n}", at(hour)) for n, hour in enumerate(ended)]
    early, late = sorted((one, other))

    wide = doubt_scope.of_machine_test("t", "it", "block", ran, at(early), at(failed), defect=True)
    narrow = doubt_scope.of_machine_test("t", "it", "block", ran, at(late), at(failed), defect=True)

    assert set(narrow.loads) <= set(wide.loads)


@pytest.mark.parametrize(
    ("count", "last_good", "says"),
    [
        (0, None, "no loads are in doubt, all so far, as no good sample is known."),
        (1, None, "1 load is in doubt, all so far, as no good sample is known."),
        (3, at(1), "2 loads are in doubt, all since the last good sample."),
    ],
)
def test_bad_water_says_how_many_loads_ran_with_it(
    count: int, last_good: datetime | None, says: str
) -> None:
    found = doubt_scope.of_water("the washer", RAN[:count], last_good, at(9))

    assert found.says == f"The water of the washer was found bad: {says}"


@pytest.mark.parametrize(
    ("loads", "gates", "says"),
    [
        ((), (), "no loads"),
        (("L1",), (), "1 load"),
        ((), (("E1", "T/4"),), "1 step by hand"),
        (("L1", "L2"), (("E1", "T/4"), ("E2", "T/5")), "2 loads and 2 steps by hand"),
    ],
)
def test_a_lot_says_in_how_much_it_was_used(
    loads: tuple[str, ...], gates: tuple[tuple[str, str], ...], says: str
) -> None:
    assert doubt_scope.of_lot("Wipe A-7", loads, gates).says == (
        f"Wipe A-7 is in doubt: it was used in {says}."
    )


@pytest.mark.parametrize(
    ("verdict", "released", "says"),
    [
        ("fail", True, "failed and was let go"),
        ("fail", False, "failed"),
        ("pass", True, "passed by its log, and is doubted all the same"),
        (None, False, "has no verdict"),
        (None, True, "has no verdict and was let go"),
    ],
)
def test_a_load_in_doubt_says_what_became_of_it(
    verdict: Verdict | None, released: bool, says: str
) -> None:
    found = doubt_scope.of_load("L1", "L-00.001", verdict, released=released)

    assert found.says == f"Load L-00.001 {says}: all of it is in doubt."


@pytest.mark.parametrize(("count", "were"), [(1, "was"), (2, "were")])
def test_a_sensor_says_how_many_loads_would_not_pass(count: int, were: str) -> None:
    let_go = [Ran(f"L{n}", at(n), "pass", released=True) for n in range(count)]
    ran = [(one, "fail") for one in let_go]

    said = doubt_scope.of_sensor("the steriliser", ran).says

    assert said.endswith(
        f"{count} load{'s' * (count > 1)} that passed and {were} let go would not pass."
    )


def test_a_machine_out_of_service_is_no_reason_for_the_doubt() -> None:
    loads = [SporeLoad("C1", "negative"), SporeLoad("C2", "positive")]

    found = scope_of_doubt(
        "steam", loads, defect=True, wrong_settings=[], repeats=[], negatives_needed=3
    )
    said = doubt_scope.of_spores("the steriliser", found).says

    others = [one.says for one in found.reasons if one.code != "out-of-service"]
    stopped = [one.says for one in found.reasons if one.code == "out-of-service"]
    assert others
    assert stopped
    assert all(one in said for one in others)
    assert not any(one in said for one in stopped)
