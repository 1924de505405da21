"""What people read off a machine: read strictly, judged for what it can show and no more."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.evidence import BadValue, Typed, TypedRules, judge_typed, read_typed
from equip.rules.verdict import Reason

STEAM = TypedRules(
    low_c=134.0, high_c=137.0, hold_s=180.0, supports_release=True, two_readers=False
)
WASH = TypedRules(low_c=None, high_c=None, hold_s=None, supports_release=True, two_readers=False)
GOOD = Typed(lowest_c=134.2, highest_c=135.8, hold_s=210.0, completed=True)
REMARK = "typed-shows-less"


def judged(
    typed: Typed, rules: TypedRules = STEAM, *, second_reader: bool = False
) -> tuple[str, list[str]]:
    """The verdict, and the codes of all that spoils it."""
    verdict, reasons = judge_typed(typed, rules, second_reader=second_reader)
    return verdict, [reason.code for reason in reasons if reason.spoils != "pass"]


def remarks(reasons: list[Reason]) -> list[str]:
    return [reason.code for reason in reasons if reason.spoils == "pass"]


# --- reading ----------------------------------------------------------------------------------


def test_a_form_is_read_minutes_as_seconds_and_empty_as_not_measured() -> None:
    typed = read_typed(
        {
            "lowest_c": " 134.2 ",
            "highest_c": "",
            "hold_min": "3.5",
            "indicator": "pass",
            "completed": "yes",
        }
    )

    assert typed == Typed(
        lowest_c=134.2, highest_c=None, hold_s=210.0, indicator="pass", completed=True
    )


def test_an_empty_form_says_nothing() -> None:
    assert read_typed({}) == Typed()


@pytest.mark.parametrize(
    "text",
    [
        "134,2",
        "hot",
        "-1",
        "1e3",
        "nan",
        "inf",
        "１３４",
        "1_34",
        "10000",
        "134.2.1",
        "0x86",
        "+134",
        "134 °C",
        "٣",
    ],
)
@pytest.mark.parametrize("field", ["lowest_c", "highest_c", "hold_min"])
def test_what_is_no_plain_number_is_refused_in_a_sentence_that_says_it(
    field: str, text: str
) -> None:
    with pytest.raises(BadValue, match="no number that makes sense") as refused:
        read_typed({field: text})

    assert f"“{text}”" in str(refused.value)
    assert str(refused.value).endswith(".")


def test_endless_text_is_refused_without_repeating_it() -> None:
    with pytest.raises(BadValue) as refused:
        read_typed({"lowest_c": "9" * 10_000})

    assert len(str(refused.value)) < 150


@pytest.mark.parametrize(
    ("field", "says"), [("indicator", "neither pass nor fail"), ("completed", "neither yes nor no")]
)
def test_an_answer_that_is_none_of_those_asked_for_is_refused(field: str, says: str) -> None:
    with pytest.raises(BadValue, match=f"“perhaps” is {says}"):
        read_typed({field: "perhaps"})


@given(st.decimals(0, 9999, places=2))
def test_any_plain_number_is_read_as_it_stands(number: object) -> None:
    assert read_typed({"lowest_c": str(number)}).lowest_c == float(str(number))


# --- judging ----------------------------------------------------------------------------------


def test_good_values_pass_and_say_what_they_cannot_show() -> None:
    verdict, reasons = judge_typed(GOOD, STEAM, second_reader=False)

    assert verdict == "pass"
    assert remarks(reasons) == [REMARK]


@pytest.mark.parametrize(
    ("typed", "verdict"),
    [
        (replace(GOOD, lowest_c=134.0), "pass"),
        (replace(GOOD, lowest_c=133.9), "fail"),
        (replace(GOOD, highest_c=137.0), "pass"),
        (replace(GOOD, highest_c=137.1), "fail"),
        (replace(GOOD, hold_s=180.0), "pass"),
        (replace(GOOD, hold_s=179.0), "fail"),
        (
            read_typed(
                {"lowest_c": "134", "highest_c": "137", "hold_min": "3", "completed": "yes"}
            ),
            "pass",
        ),
    ],
)
def test_the_limit_itself_passes_and_what_is_beyond_it_fails(typed: Typed, verdict: str) -> None:
    assert judged(typed)[0] == verdict


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        (replace(GOOD, lowest_c=None), "temperature-missing"),
        (replace(GOOD, highest_c=None), "temperature-missing"),
        (replace(GOOD, hold_s=None), "time-missing"),
        (replace(GOOD, completed=None), "completion-unknown"),
        (replace(GOOD, lowest_c=136.0, highest_c=135.0), "temperatures-swapped"),
    ],
)
def test_what_is_missing_or_makes_no_sense_cannot_be_judged(typed: Typed, code: str) -> None:
    assert judged(typed) == ("undecided", [code])


def test_nothing_typed_is_no_pass() -> None:
    assert judged(Typed()) == (
        "undecided",
        ["completion-unknown", "temperature-missing", "time-missing"],
    )


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        (replace(GOOD, completed=False), "not-completed"),
        (replace(GOOD, indicator="fail"), "indicator-failed"),
    ],
)
@pytest.mark.parametrize("rules", [STEAM, WASH])
def test_what_the_machine_or_the_indicator_says_against_it_fails(
    typed: Typed, code: str, rules: TypedRules
) -> None:
    assert judged(typed, rules) == ("fail", [code])


def test_a_passed_indicator_alone_makes_no_pass() -> None:
    assert judged(Typed(indicator="pass", completed=True))[0] == "undecided"


def test_where_no_heat_is_judged_a_finished_cycle_passes_without_a_remark_on_it() -> None:
    verdict, reasons = judge_typed(Typed(completed=True), WASH, second_reader=False)

    assert (verdict, reasons) == ("pass", [])


def test_a_book_that_lets_typed_values_support_nothing_is_obeyed() -> None:
    strict = replace(STEAM, supports_release=False)

    assert judged(GOOD, strict, second_reader=True) == ("undecided", ["typed-not-accepted"])


def test_where_two_readers_are_asked_for_one_is_not_enough() -> None:
    two = replace(STEAM, two_readers=True)

    assert judged(GOOD, two) == ("undecided", ["one-reader"])
    assert judged(GOOD, two, second_reader=True) == ("pass", [])


def test_a_fail_outweighs_what_is_missing_and_all_is_listed() -> None:
    two = replace(STEAM, two_readers=True)
    typed = Typed(lowest_c=120.0, highest_c=140.0, indicator="fail", completed=False)

    assert judged(typed, two) == (
        "fail",
        [
            "not-completed",
            "indicator-failed",
            "below-band",
            "above-band",
            "time-missing",
            "one-reader",
        ],
    )


@given(st.floats(0, 200), st.floats(0, 200), st.floats(0, 2000))
def test_typed_values_pass_only_inside_every_limit(low: float, high: float, hold: float) -> None:
    verdict, _ = judged(Typed(lowest_c=low, highest_c=high, hold_s=hold, completed=True))

    inside = 134 <= low <= high <= 137 and hold >= 180
    assert (verdict == "pass") == inside


def test_the_figures_that_were_read_and_needed_are_both_said() -> None:
    _, reasons = judge_typed(
        replace(GOOD, lowest_c=130.5, hold_s=150.0), STEAM, second_reader=False
    )

    says = {reason.code: reason.says for reason in reasons}
    assert says["below-band"] == "It fell to 130.5 °C; it must not fall below 134 °C."
    assert says["hold-too-short"] == "It held for 2 min 30 s; it needs 3 min."
