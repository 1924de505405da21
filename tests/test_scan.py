"""Whatever a scanner or a gloved hand may send: read as what it is, or refused in a sentence."""

import re
import unicodedata
from pathlib import Path

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from equip.references import normal_reference
from equip.scan import (
    CARDS,
    FIRST_TYPE_CARD,
    NAMES,
    UnreadableScan,
    UnreadableTag,
    check_character,
    make_tag,
    next_tag,
    read,
    read_tag,
    show_tag,
)
from equip.settings.settings import Settings

MARKS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
TAGS = (
    st.tuples(st.sampled_from(sorted(NAMES)), st.integers(1, 99_999_999))
    .map(lambda drawn: make_tag(*drawn))
    .filter(lambda tag: tag is not None)
    .map(str)
)
THINGS = TAGS.filter(lambda tag: tag[0] != "C")

# The clinic's own pattern, and one as wide as a careless clinic may write it.
USUAL = re.compile(Settings(data=Path()).patient_pattern)
WIDE = re.compile(r"[0-9A-Z -]{3,30}")

# US keys as other layouts type them, Shift as the scanner presses it (letters only).
FRENCH = str.maketrans("0123456789AQWZM", "à&é\"'(-è_çQAZW?")
BELGIAN = str.maketrans("0123456789AQWZM", "à&é\"'(§è!çQAZW?")
LAYOUTS = st.sampled_from([FRENCH, BELGIAN])

# Given for ever: the card on somebody's wall goes on meaning what it says.
CARD_OF = {
    "lay up": "C00000003U",
    "start a use": "C00000004S",
    "finish": "C00000008K",
    "opened, not used": "C00000011U",
    "left ear": "C00000012S",
    "right ear": "C00000016K",
    "both ears": "C00000018G",
    "soil": "C00000019E",
    "tube touched scope": "C00000020S",
    "dropped": "C00000024K",
    "blocked": "C00000026G",
    "bent": "C00000027E",
    "image fault": "C00000028C",
    "I was hurt": "C00000032K",
    "wipe": "C00000034G",
    "clean": "C00000035E",
    "rinse": "C00000036C",
    "dry": "C000000388",
    "disinfect": "C000000396",
    "inspect pass": "C00000040K",
    "inspect fail": "C00000042G",
    "pack": "C00000043E",
    "store": "C00000044C",
    "undo": "C000000468",
    "move to another patient": "C000000476",
    "start over": "C000000484",
    "start the load": "C000000492",
    "end the load": "C00000050G",
    "run again": "C00000051E",
    "take out": "C00000052C",
    "release": "C000000548",
    "wet pack": "C000000556",
    "torn pack": "C000000564",
    "oily": "C000000572",
    "dry flakes": "C000000580",
    "blood": "C00000060C",
    "discharge": "C000000628",
    "used anyway": "C000000636",
    "count": "C000000644",
    "unpack": "C000000652",
    "fill the bath": "C000000660",
    "indicator not turned": "C00000068X",
    "check": "C00000069V",
    "all there": "C00000084X",
    "one more": "C00000087R",
    "go on here": "C00000088P",
    "take it back": "C00000089N",
    "other patients too": "C000000900",
    "earlier": "C00000092X",
    "now": "C00000093V",
    "missing": "C00000085V",
    "found": "C00000086T",
    "good": "C000000708",
    "session over": "C000000716",
}


# --- what is printed --------------------------------------------------------------------------


@given(TAGS)
def test_every_printable_tag_reads_back_as_itself(tag: str) -> None:
    assert read_tag(tag).text == tag


@given(TAGS)
def test_a_tag_reads_back_as_people_show_and_type_it(tag: str) -> None:
    for typed in (
        show_tag(tag),
        tag.lower(),
        f"  {tag}\r\n",
        "-".join([tag[0], tag[1:5], tag[5:9], tag[9]]),
        "\t".join(tag),
        "\u00a0".join([tag[:5], tag[5:]]),
        f"\x02{tag}\x03",
        f"\ufeff{tag}",
        f"\u200f{tag}\u200e",
    ):
        read_back = read_tag(typed)

        assert (read_back.text, read_back.remapped) == (tag, False)


@given(TAGS, LAYOUTS)
def test_a_tag_typed_through_a_french_or_belgian_layout_reads_back_and_says_so(
    tag: str, layout: dict[int, str]
) -> None:
    typed = tag.translate(layout)

    for seen in (typed, typed.upper(), typed.lower(), unicodedata.normalize("NFD", typed)):
        read_back = read_tag(seen)

        assert (read_back.text, read_back.remapped) == (tag, True)


@given(TAGS)
def test_caps_lock_or_shift_on_a_french_layout_types_the_digits_themselves(tag: str) -> None:
    read_back = read_tag(tag.swapcase())

    assert (read_back.text, read_back.remapped) == (tag, False)


@given(TAGS, st.sampled_from(["]Q1", "]q1", "]d1", "]D1", "]C0", "]A0", "]Q0"]))
def test_the_mark_by_which_a_scanner_announces_the_symbol_is_no_part_of_the_tag(
    tag: str, announced: str
) -> None:
    assert read_tag(announced + tag).text == tag


@given(TAGS, st.sampled_from(["$A&", "$a&", "$d&", "$D&"]))
def test_the_announcing_mark_may_have_gone_through_a_french_layout_too(
    tag: str, announced: str
) -> None:
    assert read_tag(announced + tag.translate(FRENCH)).text == tag


@given(st.sampled_from(sorted(NAMES)), st.integers(0, 99_999_000))
def test_the_next_tag_is_the_first_printable_one_above(letter: str, after: int) -> None:
    tag = next_tag(letter, after)

    number = int(tag[1:9])
    assert number > after
    assert all(make_tag(letter, skipped) is None for skipped in range(after + 1, number))


@given(TAGS)
def test_no_printed_check_character_is_taken_for_another_by_eye_or_keyboard(tag: str) -> None:
    assert tag[9] not in "*IOYZAQWM"


def test_the_numbers_that_need_such_a_check_character_are_skipped() -> None:
    assert [make_tag("E", number) for number in (6, 7, 8)] == [None, None, None]
    assert int(next_tag("E", 5)[1:9]) > 8


def test_a_number_that_is_never_printed_is_refused_though_its_check_character_agrees() -> None:
    for text in (
        "E00000006*",
        "E00000007Y",
        "E00000008W",
        "E00000000" + check_character("E00000000"),
    ):
        with pytest.raises(UnreadableTag, match="never printed"):
            read_tag(text)


@pytest.mark.parametrize(("letter", "number"), [("X", 1), ("", 1), ("e", 1), ("E", 0), ("E", -1)])
def test_no_tag_is_made_of_a_letter_or_number_that_there_is_not(letter: str, number: int) -> None:
    with pytest.raises(ValueError, match="tag"):
        make_tag(letter, number)


def test_there_is_no_tag_after_the_last() -> None:
    assert make_tag("E", 99_999_999) == "E999999999"

    with pytest.raises(ValueError, match="eight digits"):
        next_tag("E", 99_999_999)


@given(TAGS)
def test_a_tag_says_what_it_names_and_its_number(tag: str) -> None:
    read_back = read_tag(tag)

    assert read_back.names == NAMES[tag[0]]
    assert read_back.letter == tag[0]
    assert read_back.number == int(tag[1:9])


# --- what is misread --------------------------------------------------------------------------


@given(TAGS, st.integers(0, 9), st.sampled_from(MARKS))
def test_one_wrong_character_is_always_caught(tag: str, at: int, mark: str) -> None:
    assume(tag[at] != mark)

    with pytest.raises(UnreadableTag):
        read_tag(tag[:at] + mark + tag[at + 1 :])


@given(TAGS, st.integers(0, 8))
def test_two_neighbours_that_changed_places_are_always_caught(tag: str, at: int) -> None:
    assume(tag[at] != tag[at + 1])

    with pytest.raises(UnreadableTag):
        read_tag(_swapped(tag, at))


def _swapped(tag: str, at: int) -> str:
    return tag[:at] + tag[at + 1] + tag[at] + tag[at + 2 :]


def _slips(tag: str) -> st.SearchStrategy[str]:
    """Texts that are *tag* but for one slip which leaves its first letter to be seen."""
    body = st.integers(1, 8)
    return st.one_of(
        st.tuples(body, st.sampled_from("0123456789")).map(
            lambda d: tag[: d[0]] + d[1] + tag[d[0] + 1 :]
        ),
        st.sampled_from("0123456789BCDEFGHJKLNPRSTUVX").map(lambda mark: tag[:9] + mark),
        st.integers(0, 8).map(lambda at: _swapped(tag, at)),
        st.integers(1, 9).map(lambda at: tag[:at] + tag[at + 1 :]),
        st.integers(0, 9).map(lambda at: tag[:at] + tag[at] + tag[at:]),
        st.just(tag[0] + tag[1:9].replace("0", "O") + tag[9]),
        st.just(tag[0] + tag[1:9].replace("0", "O", 1) + tag[9]),
        st.just(tag[0] + tag[1:9].replace("1", "I") + tag[9]),
        st.just(tag[0] + tag[1:9].replace("1", "l") + tag[9]),
    ).filter(lambda slipped: slipped != tag)


DAMAGED = TAGS.flatmap(lambda tag: _slips(tag))


@example("EO00000019")
@example("BOO349698L")
@example("E-0000-0001-8")
@example("E 0000 0001 8")
@example("Eààààààà&é")
@example("]Q1E000000018")
@given(DAMAGED)
def test_a_damaged_tag_never_becomes_a_patient(damaged: str) -> None:
    for patients in (USUAL, WIDE):
        with pytest.raises(UnreadableTag):
            read(damaged, patients)


@given(DAMAGED.filter(lambda damaged: len(damaged) == 10), LAYOUTS)
def test_a_tag_damaged_and_typed_through_another_layout_never_becomes_a_patient(
    damaged: str, layout: dict[int, str]
) -> None:
    assume(not {"O", "I", "L"} & set(damaged[1:9]))

    with pytest.raises(UnreadableTag):
        read(damaged.translate(layout), re.compile(r".{3,30}"))


@pytest.mark.parametrize(
    "text", ["\u0415000000019", "Ｅ０００００００１９", "E٠٠٠٠٠٠٠١٩", "E0000000 1９"]
)
def test_letters_and_digits_of_other_scripts_are_no_tag(text: str) -> None:
    with pytest.raises(UnreadableTag, match=re.escape(text)):
        read_tag(text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "Nothing was read"),
        (" \r\n\t ", "Nothing was read"),
        ("\u200b\x00", "Nothing was read"),
        ("]Q1", "Nothing was read"),
        ("E000000018", "“E000000018” was misread"),
        ("X000000019", "begins with X"),
        ("E00000001", "“E00000001” is no tag"),
        ("speculum", "“speculum” is no tag"),
        ("E0000\x0000019", "“E0000·00019” is no tag"),
        ("e\u0301000000019", "“é000000019” is no tag"),
        ("\U0001f9fb" * 10, "is no tag"),
        ("שלום", "“שלום” is no tag"),
    ],
)
def test_what_is_no_tag_is_refused_in_a_sentence_that_says_what_was_read(
    text: str, says: str
) -> None:
    with pytest.raises(UnreadableTag, match=re.escape(says)) as refused:
        read_tag(text)

    assert str(refused.value).endswith(".")


@given(st.text(max_size=60))
def test_any_text_at_all_is_read_or_refused_in_one_printable_sentence(text: str) -> None:
    for reader in (read_tag, lambda seen: read(seen, USUAL)):
        try:
            reader(text)
        except UnreadableScan as refused:
            says = str(refused)
            assert says.isprintable()
            assert says[0].isupper() or says[0] in "“0123456789"
            assert says.endswith(".")


def test_ten_thousand_characters_are_refused_without_repeating_them() -> None:
    with pytest.raises(UnreadableScan, match="10000 characters were read, too many"):
        read("7" * 10_000, WIDE)
    with pytest.raises(UnreadableTag) as refused:
        read_tag("7" * 10_000)

    assert len(str(refused.value)) < 200


# --- what a scan names ------------------------------------------------------------------------


@given(THINGS)
def test_a_tag_is_a_tag_whatever_the_pattern_for_patients_says(tag: str) -> None:
    reading = read(tag, re.compile(".*"))

    assert (reading.kind, reading.value) == ("tag", tag)


@pytest.mark.parametrize("word", sorted(CARD_OF))
def test_every_act_is_read_from_its_card_and_from_its_word(word: str) -> None:
    for text in (CARD_OF[word], word, word.upper(), f" {word}\n", CARD_OF[word].translate(FRENCH)):
        reading = read(text, WIDE)

        assert (reading.kind, reading.value) == ("word", word)


def test_the_number_of_every_card_is_fixed_for_ever() -> None:
    assert {word: CARDS[word] for word in CARD_OF} == CARD_OF


def test_every_card_there_is_stands_in_the_table_that_is_kept() -> None:
    assert set(CARDS) == set(CARD_OF)
    assert all(int(tag[1:9]) < FIRST_TYPE_CARD for tag in CARDS.values())


def test_what_people_say_instead_of_an_act_is_that_act() -> None:
    spoken = {"left": "left ear", "hurt": "I was hurt", "start": "start a use", "wet": "wet pack"}

    assert {text: read(text, USUAL).value for text in spoken} == spoken


def test_a_card_that_stands_for_nothing_is_refused_by_its_tag() -> None:
    unknown = next_tag("C", 900)

    with pytest.raises(UnreadableScan, match=re.escape(show_tag(unknown))):
        read(unknown, WIDE)


def test_a_card_of_a_type_is_a_tag() -> None:
    tag = next_tag("C", FIRST_TYPE_CARD - 1)

    assert read(tag, WIDE).value == tag
    assert read(tag, WIDE).kind == "tag"


@pytest.mark.parametrize("text", ["12345", "ab-1234", " PAT00012 ", "]C0PAT00012"])
def test_a_reference_of_the_clinics_pattern_is_a_patient(text: str) -> None:
    reading = read(text, USUAL)

    assert reading.kind == "patient"
    assert reading.value == text.removeprefix("]C0").strip().upper()


@pytest.mark.parametrize(
    "reference", ["PO12345678", "EE12345678", "RS1234567", "PB-12345678", "LI00012345"]
)
def test_a_patient_whose_reference_only_resembles_a_tag_stays_a_patient(reference: str) -> None:
    assert read(reference, USUAL).kind == "patient"


@pytest.mark.parametrize("text", ["１２３４５６", "שלום", "Ünal", "naïve", "12 345"])
def test_a_text_that_is_nothing_of_ours_is_handed_on_as_it_was_read(text: str) -> None:
    reading = read(text, USUAL)

    assert (reading.kind, reading.value) == ("text", text)


@pytest.mark.parametrize("text", ["12\x0045", "a\u202eb", "12\ud80045", "x\x1by"])
def test_signs_that_nobody_sees_inside_a_text_are_refused(text: str) -> None:
    with pytest.raises(UnreadableScan, match="·"):
        read(text, WIDE)


def test_one_person_has_one_spelling_however_it_is_typed() -> None:
    typed = ["zoë 12", " ZOË  12 ", "zoe\u0308\t12", "ZOË 12"]

    assert {normal_reference(reference) for reference in typed} == {"ZOË 12"}


@given(st.text(max_size=30))
def test_the_one_spelling_of_a_reference_is_its_own_spelling(reference: str) -> None:
    once = normal_reference(reference)

    assert normal_reference(once) == once
