"""What people type is read in one place: each value as it was meant, the rest in a sentence."""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip import typed
from equip.scan import next_tag
from equip.typed import Mistyped

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize(
    ("text", "means"),
    [("12", 12), (" 7 ", 7), ("0", 0), ("000012", 12), ("999999", 999_999)],
)
def test_a_whole_number_is_its_digits(text: str, means: int) -> None:
    assert typed.whole(text) == means


@pytest.mark.parametrize("text", ["", "three", "1.5", "1,5", "1_0", "١٢", "1e3", "+1", "- 1"])
def test_what_is_no_whole_number_is_said_to_be_none(text: str) -> None:
    with pytest.raises(Mistyped, match="is no whole number: write it in digits, as 12"):
        typed.whole(text)


def test_a_number_beyond_its_bounds_says_the_bound() -> None:
    with pytest.raises(Mistyped, match="“100” is no whole number from 0 to 99"):
        typed.whole("100", most=99)
    with pytest.raises(Mistyped, match="“−1” is no whole number from 0 to"):
        typed.whole("−1")
    with pytest.raises(Mistyped, match="“120,5” is too large: the most is 120"):
        typed.decimal("120,5", most=120)
    assert typed.whole("−1", least=-5) == -1
    assert typed.decimal("120", most=120) == 120


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("12", "12"),
        ("12.50", "12.50"),
        ("12,5", "12.5"),
        ("−0,45", "-0.45"),
        ("-3", "-3"),
        ("5.", "5"),
        (".5", "0.5"),
        ("-.5", "-0.5"),
        (" 37 ", "37"),
    ],
)
def test_a_decimal_is_kept_exactly_with_a_point(text: str, kept: str) -> None:
    assert typed.decimal_text(text) == kept
    assert typed.decimal(text) == Decimal(kept)


@pytest.mark.parametrize(
    "text",
    ["", ".", "-", "1.2.3", "1,000.5", "1e1", "1_0", "nan", "٣", "12 kPa", "1.1234567"],
)
def test_what_is_no_decimal_is_said_to_be_none(text: str) -> None:
    with pytest.raises(Mistyped, match=r"is no number: write it in digits, as 12 or 12\.5"):
        typed.decimal(text)


@given(st.decimals(min_value=-999_999, max_value=999_999, places=4))
def test_every_decimal_is_read_back_as_it_was_written(number: Decimal) -> None:
    assert typed.decimal(f"{number:f}") == number
    assert typed.decimal(f"{number:f}".replace(".", ",")) == number


def test_rule_books_and_json_may_write_exponents() -> None:
    assert typed.exact("1e3") == 1000
    assert typed.exact("-0.13") == Decimal("-0.13")
    assert [typed.exact(text) for text in ("nan", "inf", "1_0", "١٢", "", "0,5")] == [None] * 6


@pytest.mark.parametrize(
    ("text", "means"), [("4117", "4117"), ("004117", "4117"), (" 12 ", "12"), ("0", ""), ("", "")]
)
def test_a_cycle_number_has_no_noughts_in_front(text: str, means: str) -> None:
    assert typed.cycle_number(text) == means


@pytest.mark.parametrize("text", ["12a", "123456789", "-1", "1.0", "١٢"])
def test_what_is_no_cycle_number_is_refused(text: str) -> None:
    with pytest.raises(Mistyped, match="is no cycle number: it has up to eight digits"):
        typed.cycle_number(text)


def test_a_day_is_a_day_of_the_calendar() -> None:
    assert typed.day(" 2026-03-31 ") == date(2026, 3, 31)
    assert typed.calendar_day("2026-02-29") is None
    for text in ("2026-02-30", "31.3.2026", "20260331", "2026-W14-2", ""):
        with pytest.raises(Mistyped, match="is no date; write it as 2026-03-31"):
            typed.day(text)


def test_a_moment_needs_its_offset() -> None:
    moment = typed.moment("2026-02-03T08:15:00+01:00")

    assert moment == datetime(2026, 2, 3, 7, 15, tzinfo=UTC)
    assert moment.utcoffset() == timedelta(hours=1)
    with pytest.raises(Mistyped, match="“2026-02-03T08:15” has no offset from UTC: write it as"):
        typed.moment("2026-02-03T08:15")
    with pytest.raises(Mistyped, match="“yesterday” is no time: write it as"):
        typed.moment("yesterday")


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("08:30", 510), ("8.30", 510), ("0830", 510), ("08", 480)],
)
def test_a_time_of_day_is_minutes_since_midnight(text: str, minutes: int) -> None:
    assert typed.minute_of_day(text) == minutes


@pytest.mark.parametrize("text", ["24:00", "25:00", "8:60", "8:5", "noon", ""])
def test_what_is_no_time_of_day_is_refused(text: str) -> None:
    with pytest.raises(Mistyped, match="is no time of day; write it as 08:30"):
        typed.minute_of_day(text)


def test_work_may_end_at_midnight() -> None:
    assert typed.minute_of_day("24:00", last=1440) == 1440


def test_a_tag_is_read_however_it_was_typed() -> None:
    tag = next_tag("E", 18)

    assert typed.tag(f"{tag[0].lower()} {tag[1:5]} {tag[5:]}") == tag
    assert typed.maybe_tag(tag) == tag
    assert typed.maybe_tag("Nell Ash") is None
    with pytest.raises(Mistyped, match="“Nell Ash” is no tag"):
        typed.tag("Nell Ash")


def test_digits_are_those_of_a_keyboard_and_so_many() -> None:
    assert typed.is_digits("0042", 8, least=4)
    assert not typed.is_digits("042", 8, least=4)
    assert not typed.is_digits("123456789", 8)
    assert not typed.is_digits("١٢٣٤", 8)
    assert not typed.is_digits("", 8)


READERS: list[Callable[[str], object]] = [
    typed.whole,
    typed.decimal,
    typed.cycle_number,
    typed.day,
    typed.moment,
    typed.minute_of_day,
    typed.tag,
]


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_in_one_sentence_that_ends(text: str) -> None:
    for reader in READERS:
        try:
            reader(text)
        except Mistyped as problem:
            for says in (str(problem), problem.says):
                assert says.isprintable()
                assert says.endswith(".")
                assert len(says) < 200


@pytest.mark.parametrize("reader", READERS)
def test_what_was_read_can_be_left_out_of_the_sentence(reader: Callable[[str], object]) -> None:
    with pytest.raises(Mistyped) as refused:
        reader("DEMO-77001 x")

    assert "DEMO-77001" in str(refused.value)
    assert "77001" not in refused.value.says


BY_HAND = re.compile(r"\.isdigit\(|\.isdecimal\(|\.isnumeric\(|fromisoformat\(|\.lstrip\(\"0\"\)")
READS_ITS_OWN = {
    "equip/typed.py": "it is the reader",
    "equip/deliver/proof/verify.py": "it runs alone, beside a proof file",
    "equip/rules/cycles/figures.py": "a figure that the book wrote is shortened",
    "equip/desk/post/tick.py": "an hour of the settings or of a rule, read when it was set",
    "equip/desk/upkeep/due_list.py": "the mark of a page, which the book made",
}
"""Modules that may look at digits or dates by themselves, with the reason."""


def test_nobody_reads_digits_or_dates_by_hand() -> None:
    found = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "equip").rglob("*.py")
        if BY_HAND.search(path.read_text("utf-8"))
    }
    # The store reads columns that it wrote; logs have a grammar of their own, said in `cells`.
    elsewhere = {p for p in found if not p.startswith(("equip/store/", "equip/logs/"))}

    assert sorted(elsewhere - set(READS_ITS_OWN)) == [], "Read it by equip/typed.py instead."
    assert set(READS_ITS_OWN) <= found
