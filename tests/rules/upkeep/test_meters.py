"""A thing's own meter: replaced, gone round, read wrongly, read late; what can and cannot be."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.facts import MeterRead
from equip.rules.upkeep.meters import BadReading, check, gains

BEGIN = datetime(2026, 3, 4, 12, tzinfo=UTC)
TENTHS = st.integers(0, 99_999)


def read(reading: str, how: Any = "read", day: int = 0, **more: str) -> MeterRead:
    return MeterRead(
        at=BEGIN + timedelta(days=day),
        by="",
        act="a",
        item="D00000001X",
        meter="hours",
        reading=Decimal(reading),
        how=how,
        **{name: Decimal(value) for name, value in more.items()},
    )


def tenths(*told: MeterRead) -> list[int]:
    return [one.tenths for one in gains(told)]


def test_a_new_meter_adds_what_the_old_one_ran_and_what_the_new_one_did() -> None:
    told = (read("100"), read("3", "replaced", ended="112.5", began="1"))

    assert tenths(*told) == [0, 125 + 20]


def test_of_an_old_meter_that_nobody_read_at_its_end_nothing_is_made_up() -> None:
    assert tenths(read("100"), read("3", "replaced")) == [0, 30]


def test_a_meter_that_went_round_adds_both_sides_of_nought() -> None:
    assert tenths(read("9990.5"), read("3.5", "rolled-over", ended="10000")) == [0, 95 + 35]


@pytest.mark.parametrize(
    "first", [read("3", "replaced", ended="112.5"), read("3", "rolled-over", ended="1000")]
)
def test_the_first_reading_of_a_new_round_can_be_corrected_and_stays_that(
    first: MeterRead,
) -> None:
    slip = read("5", "corrects")

    check(slip, [read("100"), first], [])

    assert tenths(read("100"), first, slip)[1] - tenths(read("100"), first)[1] == 20


def test_a_correction_is_held_beside_the_reading_ahead_of_what_it_corrects() -> None:
    before = [read("100"), read("1500")]

    check(read("150", "corrects"), before, [])
    with pytest.raises(BadReading, match="99 was read; the hour meter showed 100 before"):
        check(read("99", "corrects"), before, [])


@pytest.mark.parametrize("how", ["replaced", "rolled-over", "corrects"])
def test_nothing_is_replaced_gone_round_or_corrected_that_was_never_read(how: str) -> None:
    with pytest.raises(BadReading, match="No reading of this hour meter is in the book yet"):
        check(read("3", how, ended="10"), [], [])


@pytest.mark.parametrize("name", ["ended", "began"])
def test_an_end_or_a_beginning_below_nought_is_refused(name: str) -> None:
    with pytest.raises(BadReading, match="nothing below nought"):
        check(read("3", "replaced", **{name: "-1"}), [read("1")], [])


@pytest.mark.parametrize(
    ("later", "says"),
    [
        (read("119"), "for an earlier day than 119, which is lower"),
        (read("3", "replaced", ended="119.9"), "had come to 119.9 at most"),
        (read("3", "rolled-over", ended="119.9"), "had come to 119.9 at most"),
        (read("90", "corrects"), "write it down as of today"),
    ],
)
def test_a_reading_told_late_that_a_later_one_contradicts_is_refused(
    later: MeterRead, says: str
) -> None:
    with pytest.raises(BadReading, match=says):
        check(read("120"), [read("100")], [later])


@pytest.mark.parametrize(
    "later",
    [
        read("120"),
        read("3", "replaced", ended="120"),
        read("3", "replaced"),
        read("3", "rolled-over", ended="1000"),
    ],
)
def test_a_reading_told_late_that_fits_is_taken(later: MeterRead) -> None:
    check(read("120"), [read("100")], [later])


@given(st.lists(st.tuples(st.sampled_from(["read", "replaced", "rolled-over"]), TENTHS, TENTHS)))
def test_whatever_is_let_through_adds_up_to_what_the_meters_ran(
    typed: list[tuple[str, int, int]],
) -> None:
    """A slow model beside it: how far the thing has run since its first reading."""
    told: list[MeterRead] = []
    ran = last = 0
    for how, reading, ended in typed:
        one = read(str(Decimal(reading) / 10), how, len(told))
        if how != "read":
            one = read(str(Decimal(reading) / 10), how, len(told), ended=str(Decimal(ended) / 10))
        try:
            check(one, told, [])
        except BadReading:
            continue
        if told:
            ran += reading - last if how == "read" else ended - last + reading
        last = reading
        told.append(one)

    assert sum(one.tenths for one in gains(told)) == ran
    assert all(one.tenths >= 0 for one in gains(told))
