"""A patient reference is one reference however it is written, and two people never become one."""

import re
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from equip.references import bare, canonical, end_of, is_reference, joined, normal_reference
from equip.scan import NAMES, UnreadableScan, make_tag, read
from equip.settings.settings import Settings

USUAL = re.compile(Settings(data=Path()).patient_pattern)
GROUPED = re.compile(r"[0-9]{3}[ -]?[0-9]{3}[ -]?[0-9]{4}")
YEARLY = re.compile(r"[0-9]{4}-?[0-9]{1,4}")
NEEDED = re.compile(r"[A-Z]{4}-[0-9]{5}")
WIDE = re.compile(r"[0-9A-Z ./-]{3,30}")
PATTERNS = (USUAL, GROUPED, YEARLY, NEEDED, WIDE)

LETTERS = st.text("ABCDEFMOQRSTXZ", min_size=2, max_size=6)
DIGITS = st.integers(0, 999_999_999)
REFERENCES = st.builds(lambda letters, number: f"{letters}{number:04}", LETTERS, DIGITS)
SIGNS = st.text("-/. –", min_size=1, max_size=3)
ANY = st.text("ABZ019 -./–é", max_size=14)


def decorated(reference: str, sign: str) -> str:
    return re.sub(r"(?<=[A-Z])(?=[0-9])", lambda _: sign, reference)


@given(REFERENCES, SIGNS, st.sampled_from([str.upper, str.lower]), st.sampled_from(PATTERNS))
def test_what_stands_between_letters_and_digits_makes_no_other_patient(
    reference: str, sign: str, cased: type[str], patients: re.Pattern[str]
) -> None:
    written = cased(f" {decorated(reference, sign)}\t")

    assert canonical(written, patients) == canonical(reference, patients) == reference
    assert bare(written) == reference


@given(REFERENCES, st.text("-/.", min_size=1, max_size=2))
def test_the_bench_takes_a_reference_with_its_decoration_and_without(
    reference: str, sign: str
) -> None:
    assume(reference[0] not in NAMES or len(reference) not in (9, 10, 11))  # one of ours, slipped

    assert {read(one, USUAL).kind for one in (reference, decorated(reference, sign))} == {"patient"}


@pytest.mark.parametrize("text", ["DEMO77001", "demo-77001", "DEMO/77001", "DEMO.77001"])
@pytest.mark.parametrize("pattern", ["[A-Z]{4}-[0-9]{5}", "[A-Z]{4}[0-9]{5}", "[A-Z]{4}-?[0-9]{5}"])
def test_it_takes_both_whichever_of_them_the_pattern_names(pattern: str, text: str) -> None:
    reading = read(text, re.compile(pattern))

    assert (reading.kind, canonical(reading.value, re.compile(pattern))) == ("patient", "DEMO77001")


@pytest.mark.parametrize("text", ["BOX 2024", "DEMO 77001", "2026-12-01", "136.55", "01/02/2026"])
def test_an_answer_does_not_become_a_patient_by_dropping_signs(text: str) -> None:
    assert read(text, USUAL).kind == "text"


@given(st.sampled_from("EDPSLBRT"), st.integers(1, 99_999_999), st.sampled_from("-/."))
def test_a_tag_with_signs_in_it_is_never_taken_for_a_patient(
    letter: str, number: int, sign: str
) -> None:
    tag = make_tag(letter, number)
    assume(tag is not None)
    assert tag is not None
    for text in (f"{tag[0]}{sign}{tag[1:]}", f"{tag[0]}{sign}{tag[1:5]}{sign}{tag[5:]}"):
        for patients in (USUAL, re.compile("[A-Z][0-9]{8}[0-9A-Z]")):
            try:
                kind = read(text, patients).kind
            except UnreadableScan:
                continue
            assert kind != "patient"


@given(ANY, st.sampled_from(PATTERNS))
def test_the_canonical_form_is_its_own_canonical_form(
    reference: str, patients: re.Pattern[str]
) -> None:
    once = canonical(reference, patients)

    assert canonical(once, patients) == once
    assert canonical(normal_reference(reference), patients) == once
    assert canonical(joined(reference), patients) == once
    assert bare(once) == bare(reference)


@given(ANY, st.sampled_from(PATTERNS))
def test_what_the_bench_took_before_it_takes_still(
    reference: str, patients: re.Pattern[str]
) -> None:
    normal = normal_reference(reference)

    assert is_reference(reference, patients) or patients.fullmatch(normal) is None


@given(st.text("0123456789", min_size=10, max_size=10), st.sampled_from(" -"))
def test_a_sign_that_the_pattern_takes_or_leaves_in_one_place_decorates(
    number: str, sign: str
) -> None:
    groups = (number[:3], number[3:6], number[6:])

    for written in (sign.join(groups), f"{number[:3]}{sign}{number[3:]}", number):
        assert canonical(written, GROUPED) == number


@given(st.text("0123456789", min_size=5, max_size=9), st.data())
def test_a_sign_that_the_pattern_takes_anywhere_tells_people_apart(
    number: str, data: st.DataObject
) -> None:
    one, other = data.draw(
        st.lists(st.integers(1, len(number) - 1), min_size=2, max_size=2, unique=True)
    )
    written = [f"{number[:at]}-{number[at:]}" for at in (one, other)]

    for patients in (USUAL, WIDE, None):
        assert len({canonical(each, patients) for each in (*written, number)}) == 3


def test_a_sign_that_the_pattern_needs_belongs_to_the_reference() -> None:
    needed = re.compile(r"[0-9]{4}-[0-9]{1,4}")

    assert canonical("2024-15", needed) == "2024-15"
    assert canonical("2024-15", YEARLY) == canonical("202415", YEARLY) == "202415"


@given(st.text("ABC123", min_size=2, max_size=20), st.integers(4, 12))
def test_the_end_that_shows_is_as_long_as_the_rule_says_and_never_the_whole(
    reference: str, shown: int
) -> None:
    end = end_of(reference, shown)

    assert reference.endswith(end)
    assert len(end) == min(shown, len(reference) - 1)
    assert len(end) >= 4 or len(reference) <= 4
    assert end_of(reference, shown, whole=True) == reference[-shown:]
