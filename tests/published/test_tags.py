"""Check characters of tags against ISO/IEC 7064 MOD 37-2 as others publish and compute it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_2

from equip.scan import check_character, make_tag, read_tag

BODIES = st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", min_size=1, max_size=20)


# Source: transfusionguidelines.org, Red Book annex 2: donation number G1234 98 654321, check H.
def test_the_worked_example_of_the_blood_services_comes_out() -> None:
    assert check_character("G123498654321") == "H"


# Source: python-stdnum, documentation of stdnum.iso7064.mod_37_2.
def test_the_example_of_python_stdnum_comes_out() -> None:
    assert check_character("G123489654321") == "Y"


@pytest.mark.parametrize(
    ("body", "check"),
    [
        # Computed with python-stdnum 2.2 before this code was written.
        ("E00000001", "9"),
        ("E00000002", "7"),
        ("E00000003", "5"),
        ("E00000004", "3"),
        ("E00000005", "1"),
        ("E00000006", "*"),
        ("E00000007", "Y"),
        ("E00000008", "W"),
        ("E00012345", "8"),
        ("E99999999", "9"),
    ],
)
def test_the_check_characters_of_our_own_tags_are_those_of_the_standard(
    body: str, check: str
) -> None:
    assert check_character(body) == check


# Source: python-stdnum, stdnum.iso7064.mod_37_2.
@given(BODIES)
def test_every_check_character_is_the_one_that_python_stdnum_computes(body: str) -> None:
    assert check_character(body) == mod_37_2.calc_check_digit(body)


# Source: the same program, asked whether each is valid.
@given(st.sampled_from("EDPSLBRCT"), st.integers(1, 99_999_999))
def test_python_stdnum_accepts_every_tag_that_is_printed(letter: str, number: int) -> None:
    tag = make_tag(letter, number)

    assert tag is None or mod_37_2.is_valid(tag)


def test_a_tag_typed_by_a_us_scanner_on_a_french_layout_is_read_back() -> None:
    # Computed from the keyboard tables of XKB: US keys 0 1 9 type à & ç on the French layout.
    tag = read_tag("Eààààààà&ç")

    assert (tag.text, tag.remapped) == ("E000000019", True)
