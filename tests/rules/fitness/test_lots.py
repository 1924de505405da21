"""A lot serves until its last day, and not once it was taken out of use."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from equip.facts import Stated
from equip.rules.fitness.lots import Lot, why_not_serve

DAYS = st.dates(date(2020, 1, 1), date(2040, 1, 1))


def lot(**more: object) -> Lot:
    return Lot("T000000015", "wipe", "Wipe one", "A-7", **more)  # type: ignore[arg-type]


def codes(one: Lot, today: date) -> list[str]:
    return [reason.code for reason in why_not_serve(one, today)]


def test_a_lot_without_a_day_serves_for_ever() -> None:
    assert codes(lot(), date(2040, 1, 1)) == []
    assert lot().last_day is None


def test_a_lot_serves_on_its_last_day_and_not_the_day_after() -> None:
    one = lot(expires=date(2026, 5, 31))

    assert codes(one, date(2026, 5, 31)) == []
    assert codes(one, date(2026, 6, 1)) == ["lot-expired"]


def test_the_day_of_opening_is_day_one() -> None:
    one = lot(opened=date(2026, 5, 1), stated=Stated(open_days=14))

    assert one.day_of_use(date(2026, 5, 1)) == 1
    assert codes(one, date(2026, 5, 14)) == []
    assert codes(one, date(2026, 5, 15)) == ["lot-open-too-long"]


def test_a_lot_taken_out_of_use_serves_no_more_whatever_its_day() -> None:
    assert codes(lot(finished="recalled"), date(2026, 1, 1)) == ["lot-finished"]


@given(expires=DAYS, opened=DAYS, days=st.integers(1, 400), off=st.integers(-3, 3))
def test_it_serves_exactly_until_the_last_day_it_names(
    expires: date, opened: date, days: int, off: int
) -> None:
    one = lot(expires=expires, opened=opened, stated=Stated(open_days=days))
    last = one.last_day
    assert last is not None
    today = last + timedelta(days=off)

    assert (codes(one, today) == []) == (today <= last)
