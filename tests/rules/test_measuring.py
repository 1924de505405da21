"""Laws of conformity, intervals, drift and units, and what their checks refuse."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.checks import Unreadable, check
from equip.rules import conformance, units
from equip.rules.conformity import OUTCOMES, Tolerance, outcome
from equip.rules.drift import AsFound, day_of_crossing

NUMBERS = st.decimals(-1000, 1000, places=2)
PLUS = st.decimals(0, 100, places=2)
BELOW_TEN = Tolerance(None, Decimal(10))


@given(NUMBERS, PLUS, PLUS)
def test_a_reading_further_off_is_never_a_better_outcome(
    reading: Decimal, more: Decimal, guard: Decimal
) -> None:
    near, far = (outcome(one, BELOW_TEN, guard) for one in (reading, reading + more))

    assert OUTCOMES.index(near) <= OUTCOMES.index(far)


@given(NUMBERS, PLUS, st.decimals("0.01", 50, places=2))
def test_a_reading_further_off_never_conforms_more_probably(
    reading: Decimal, more: Decimal, u: Decimal
) -> None:
    near, far = (conformance.probability(r, BELOW_TEN, u) for r in (reading, reading + more))

    assert 0 <= far <= near <= 1


@given(NUMBERS.filter(lambda n: n > -200), st.data())
def test_units_come_back_exactly(value: Decimal, data: st.DataObject) -> None:
    one = data.draw(st.sampled_from(list(units.UNITS)))
    other = data.draw(st.sampled_from(units.units_of(units.UNITS[one].measures)))

    assert units.convert(units.convert(value, one, other), other, one) == Fraction(value)


@pytest.mark.parametrize(
    ("inches", "text"), [("0", "0"), ("13/16", "13/16"), ("1/2", "8/16"), ("29/16", "1 13/16")]
)
def test_inches_are_read_in_sixteenths(inches: str, text: str) -> None:
    assert units.sixteenths(Fraction(inches)) == text


def test_a_steady_drift_reaches_the_limit_on_its_day() -> None:
    start = date(2024, 1, 1)
    days = [start + timedelta(days=100 * n) for n in range(3)]
    history = [AsFound(day, Decimal(n) / 10) for n, day in enumerate(days)]

    assert day_of_crossing(history) == start + timedelta(days=1000)


@pytest.mark.parametrize(
    ("kind", "asked", "part"),
    [
        ("convert", {"value": 1, "from": "mm", "to": "kPa"}, "a unit of length"),
        ("convert", {"value": -274, "from": "°C", "to": "°F"}, "below absolute zero"),
        ("electrical", {"cord": "fixed", "cord_ohm": 0.1}, "“cord_ohm” is of a cord alone"),
        ("electrical", {"earth_ohm": 1, "earth_ohm_dc": [1, 1]}, "one of the two"),
        ("electrical", {"earth_ohm_dc": [1]}, "two readings"),
    ],
)
def test_what_does_not_go_together_is_refused(
    kind: str, asked: dict[str, object], part: str
) -> None:
    with pytest.raises(Unreadable, match=part):
        check(kind, asked)
