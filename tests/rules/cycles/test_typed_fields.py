"""What is read off a machine: read strictly, and two readings compared as displays round."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.facts import Process
from equip.rules.cycles.typed.fields import (
    FIELDS,
    BadValue,
    accepted,
    differing,
    machine_of,
    shown_name,
    value,
)

STEAM = FIELDS["steriliser"]


def differ(first: str, second: str, name: str = "lowest_c") -> bool:
    """Whether two texts of one field are told apart."""
    return [one.name for one in differing(STEAM, {name: first}, {name: second})] == [name]


@pytest.mark.parametrize(
    ("steps", "heat", "machine"),
    [
        (("sterilise",), "steam", "steriliser"),
        (("clean", "disinfect"), "hot-water", "washer"),
        (("clean",), "none", "bath"),
        (("disinfect",), "none", "other"),
        (("clean", "disinfect"), "none", "other"),
        (("dry",), "none", "other"),
    ],
)
def test_a_machine_is_told_by_what_a_cycle_of_it_does(
    steps: tuple[str, ...], heat: str, machine: str
) -> None:
    assert machine_of(Process(steps=steps, heat=heat)) == machine  # type: ignore[arg-type]


def test_a_form_is_kept_as_it_was_typed_and_what_is_empty_is_not_in_it() -> None:
    given = {"completed": "yes", "lowest_c": " 134.20 ", "highest_c": "  ", "hold_min": "3:30"}

    kept = accepted(given, STEAM)

    assert kept == {"completed": "yes", "lowest_c": "134.20", "hold_min": "3:30"}
    assert value(kept, "hold_min") == 210
    assert value(kept, "highest_c") is None


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
        "3:60",
        "3:5",
        ":30",
        "3:30:00",
    ],
)
@pytest.mark.parametrize("field", ["lowest_c", "highest_c", "hold_min"])
def test_what_is_no_plain_number_is_refused_in_a_sentence_that_says_it(
    field: str, text: str
) -> None:
    with pytest.raises(BadValue, match="no number that makes sense") as refused:
        accepted({"completed": "yes", field: text}, STEAM)

    assert f"“{text}”" in str(refused.value)
    assert str(refused.value).endswith(".")


def test_endless_text_is_refused_without_repeating_it() -> None:
    with pytest.raises(BadValue) as refused:
        accepted({"completed": "yes", "lowest_c": "9" * 10_000}, STEAM)

    assert len(str(refused.value)) < 150


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"completed": "maybe"}, "none of yes, no"),
        ({"completed": "yes", "indicator": "grey"}, "none of pass, fail"),
        ({"lowest_c": "134"}, "finish without a fault. Choose an answer"),
        ({"completed": "yes", "bath_c": "40"}, "“bath_c” is not read off this machine"),
        ({"completed": "yes", "f0_min": "15"}, "“f0_min” is not read off this machine"),
    ],
)
def test_what_is_no_answer_of_this_machine_is_refused(given: dict[str, str], says: str) -> None:
    with pytest.raises(BadValue, match=says.replace("?", r"\?")):
        accepted(given, STEAM)


def test_a_lot_is_one_short_line() -> None:
    good = {"completed": "yes", "detergent": "yes", "lot": "Enzy L7/22"}

    assert accepted(good, FIELDS["washer"])["lot"] == "Enzy L7/22"
    for bad in ("x" * 81, "a\nb"):
        with pytest.raises(BadValue, match="on one line"):
            accepted({**good, "lot": bad}, FIELDS["washer"])


@given(st.decimals(0, 9999, places=2))
def test_a_number_is_read_exactly_as_it_stands(number: object) -> None:
    assert value({"lowest_c": str(number)}, "lowest_c") == Fraction(str(number))


# --- two readings ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "second", "name"),
    [
        ("134", "134", "lowest_c"),
        ("134.0", "134", "lowest_c"),
        ("134", "134.4", "lowest_c"),
        ("133.5", "134", "lowest_c"),
        ("3.5", "3:30", "hold_min"),
        ("3:33", "3.5", "hold_min"),
        ("3", "3:00", "hold_min"),
        ("", "", "lowest_c"),
        ("yes", "yes", "completed"),
    ],
)
def test_readings_agree_where_one_is_the_other_rounded(first: str, second: str, name: str) -> None:
    assert not differ(first, second, name)
    assert not differ(second, first, name)


@pytest.mark.parametrize(
    ("first", "second", "name"),
    [
        ("134.4", "134.5", "lowest_c"),
        ("134", "134.6", "lowest_c"),
        ("134", "135", "lowest_c"),
        ("3:30", "3:31", "hold_min"),
        ("3:34", "3.5", "hold_min"),
        ("4", "3.5", "hold_min"),
        ("4", "3:30", "hold_min"),
        ("134", "", "lowest_c"),
        ("yes", "no", "completed"),
    ],
)
def test_readings_differ_by_one_step_of_the_display(first: str, second: str, name: str) -> None:
    assert differ(first, second, name)
    assert differ(second, first, name)


@given(st.decimals(0, 999, places=1), st.decimals(0, 999, places=1))
def test_two_readings_of_one_display_agree_only_if_they_are_the_same(
    first: object, second: object
) -> None:
    assert differ(str(first), str(second)) == (first != second)


def test_what_only_the_first_could_see_is_not_compared() -> None:
    washer = FIELDS["washer"]

    found = differing(washer, {"lot": "L7", "detergent": "yes", "indicator": "pass"}, {})

    assert found == []


def test_every_field_has_a_name_in_a_sentence_and_an_unknown_one_stays_itself() -> None:
    assert shown_name("hold_min") == "“Holding time”"
    assert shown_name("disinfect_min") == "“Time of the disinfection”"
    assert shown_name("colour") == "colour"
