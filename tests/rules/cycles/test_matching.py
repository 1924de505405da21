"""Whether a log is its load's: the numbers that machines write, and their clocks."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.cycles.matching import clock_says, cycle_number, is_named

NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("written", "number"),
    [
        ("41", "41"),
        ("004117", "4117"),
        ("No. 0042", "42"),
        ("C00042", "42"),
        ("", ""),
        ("0000", ""),
        ("none", ""),
        ("2026-0042", ""),
        ("123456789", ""),
        ("000000000042", "42"),
    ],
)
def test_a_cycle_number_is_the_one_run_of_digits_without_noughts(written: str, number: str) -> None:
    assert cycle_number(written) == number


@given(st.integers(1, 99_999_999), st.integers(0, 6))
def test_a_number_is_read_the_same_however_many_noughts_stand_before_it(
    number: int, noughts: int
) -> None:
    assert cycle_number("0" * noughts + str(number)) == str(number)


def test_a_machine_is_named_however_its_serial_is_parted() -> None:
    assert is_named("sn-0077/A", ["D000000012", "SN 0077 a"])
    assert is_named("D0000 0001 2", ["D000000012", ""])
    assert not is_named("SN 78", ["SN 77"])
    assert not is_named("--", ["", "·"])


@pytest.mark.parametrize(
    ("off_s", "says"),
    [
        (0, ""),
        (60, ""),
        (-60, ""),
        (61, "The machine’s clock is 1 min fast."),
        (245, "The machine’s clock is 4 min fast."),
        (-245, "The machine’s clock is 4 min slow."),
        (3600 + 290, "The machine’s clock is 1 h 05 min fast."),
        (-86_400 * 2, "The machine’s clock is 2 days slow."),
    ],
)
def test_a_clock_that_is_off_by_more_than_a_minute_is_told(off_s: int, says: str) -> None:
    assert clock_says(NOON, NOON + timedelta(seconds=off_s)) == says


def test_nothing_is_said_of_a_clock_that_the_log_does_not_show() -> None:
    assert clock_says(NOON, None) == clock_says(None, NOON) == ""
