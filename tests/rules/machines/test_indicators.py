"""Chemical indicators: what suits a programme, and that not suited is not failed."""

from decimal import Decimal
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.machines.indicators import TYPES, Indicator, Promised, of_the_result, suits
from equip.rules.verdict import worst

STEAM_134 = Promised("steam-134", Decimal("134.0"), Decimal(180))
CELSIUS = st.integers(1000, 1400).map(lambda tenths: Decimal(tenths) / 10)
SECONDS = st.integers(1, 4000).map(Decimal)
INDICATORS = st.builds(Indicator, st.sampled_from(TYPES), st.none() | CELSIUS, st.none() | SECONDS)
PROGRAMMES = st.builds(Promised, st.just("ours"), CELSIUS, SECONDS)


def codes(
    type_: int, celsius: str | None = "134", seconds: int | None = 180
) -> tuple[bool | None, list[str]]:
    stated = Indicator(
        type_,
        None if celsius is None else Decimal(celsius),
        None if seconds is None else Decimal(seconds),
    )
    suited, reasons = suits(stated, STEAM_134)
    return suited, [reason.code for reason in reasons]


@given(INDICATORS, PROGRAMMES)
def test_no_unsuited_indicator_fails_a_load_whatever_it_shows(
    indicator: Indicator, programme: Promised
) -> None:
    suited, reasons = suits(indicator, programme)

    assert worst(reasons) == ("pass" if suited else "undecided")
    if not suited:
        assert worst([*reasons, *of_the_result(suited, "fail")]) == "undecided"
        assert worst([*reasons, *of_the_result(suited, "pass")]) == "undecided"


@given(INDICATORS, PROGRAMMES, st.integers(1, 1000))
def test_a_longer_hold_never_makes_an_indicator_unsuited(
    indicator: Indicator, programme: Promised, more: int
) -> None:
    longer = Promised(programme.name, programme.celsius, programme.hold_s + more)

    if suits(indicator, programme)[0]:
        assert suits(indicator, longer)[0]


@pytest.mark.parametrize("type_", [3, 4, 5, 6])
def test_a_stated_value_of_just_the_programme_suits_and_a_second_more_does_not(type_: int) -> None:
    assert codes(type_, "134", 180)[0] is True
    assert codes(type_, "134", 181) == (False, ["needs-longer"])


@pytest.mark.parametrize("type_", [1, 2])
def test_types_one_and_two_judge_no_exposure_of_a_load(type_: int) -> None:
    assert codes(type_) == (False, ["no-judge-of-exposure"])
    assert codes(type_, None, None) == (False, ["no-judge-of-exposure"])


@pytest.mark.parametrize("celsius", ["121", "133.9", "134.1", "135"])
def test_a_type_six_stated_for_another_temperature_is_not_suited(celsius: str) -> None:
    assert codes(6, celsius) == (False, ["another-temperature"])


@pytest.mark.parametrize("type_", [3, 4, 5])
def test_the_other_types_may_be_stated_cooler_but_not_hotter(type_: int) -> None:
    suited, why = codes(type_, "132", 120)

    assert suited is True
    assert why[-1] == "turns-with-less"
    assert codes(type_, "135", 72) == (False, ["needs-more-heat"])


def test_a_type_three_may_state_one_variable_and_the_others_need_both() -> None:
    assert codes(3, None, 180) == (True, ["one-variable-only"])
    assert codes(3, "134", None) == (True, ["one-variable-only"])
    assert codes(3, None, None) == (None, ["stated-value-not-told"])
    assert codes(4, None, 180) == (None, ["stated-value-not-told"])
    assert codes(5, "134", None) == (None, ["stated-value-not-told"])


def test_what_is_told_can_already_rule_it_out() -> None:
    assert codes(4, None, 181) == (False, ["needs-longer"])
    assert codes(6, "121", None) == (False, ["another-temperature"])


@pytest.mark.parametrize(
    ("suited", "result", "verdict"),
    [
        (True, "pass", "pass"),
        (True, "fail", "fail"),
        (True, None, "pass"),
        (False, "fail", "undecided"),
        (None, "pass", "undecided"),
    ],
)
def test_only_an_indicator_that_suits_can_fail_a_load(
    suited: bool | None, result: Literal["pass", "fail"] | None, verdict: str
) -> None:
    assert worst(of_the_result(suited, result)) == verdict


def test_the_sentence_names_both_times() -> None:
    _, [reason] = suits(Indicator(6, Decimal(134), Decimal("210.5")), STEAM_134)

    assert reason.says.startswith("It needs 210.5 s; steam-134 holds for 3 min.")


@pytest.mark.parametrize(
    ("suited", "result", "codes"),
    [
        (True, "pass", []),
        (True, "fail", ["indicator-failed"]),
        (True, "unclear", ["indicator-unclear"]),
        (False, "unclear", ["result-not-counted"]),
        (None, "fail", ["result-not-counted"]),
        (True, None, []),
    ],
)
def test_what_a_result_adds(
    suited: bool | None, result: Literal["pass", "fail", "unclear"] | None, codes: list[str]
) -> None:
    assert [reason.code for reason in of_the_result(suited, result)] == codes
