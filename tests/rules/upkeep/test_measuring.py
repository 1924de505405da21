"""Laws of conformity, intervals, drift and units, and what their checks refuse."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.cli.check.kinds import check
from equip.cli.check.reading import Unreadable
from equip.rules.upkeep import units
from equip.rules.upkeep.measuring import probability
from equip.rules.upkeep.measuring.decision_rule import OUTCOMES, Tolerance, outcome
from equip.rules.upkeep.measuring.drift import AsFound, day_of_crossing

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
    near, far = (probability.probability(r, BELOW_TEN, u) for r in (reading, reading + more))

    assert 0 <= far <= near <= 1


@pytest.mark.parametrize(
    ("reading", "share"),
    [
        ("100", "0"),
        ("101", "0.5"),  # 1 of the 2 that it may read more
        ("102", "1"),  # at the limit
        ("103", "1.5"),
        ("99", "-0.25"),  # 1 of the 4 that it may read less
        ("96", "-1"),
        ("94", "-1.5"),
    ],
)
def test_the_share_is_of_the_limit_on_the_side_of_the_error_with_its_sign(
    reading: str, share: str
) -> None:
    wider_below = Tolerance(Decimal(96), Decimal(102))

    assert wider_below.share(Decimal(reading), Decimal(100)) == Decimal(share)


@pytest.mark.parametrize(
    ("tolerance", "reading"),
    [
        (Tolerance(Decimal(96), None), "101"),  # no limit on that side
        (Tolerance(None, Decimal(102)), "99"),
        (Tolerance(Decimal(100), Decimal(102)), "99"),  # nothing may be read less at all
        (Tolerance(Decimal(96), Decimal(100)), "100"),
        (Tolerance(None, None), "100"),
    ],
)
def test_there_is_no_share_of_a_limit_that_is_not_there_or_leaves_nothing(
    tolerance: Tolerance, reading: str
) -> None:
    assert tolerance.share(Decimal(reading), Decimal(100)) is None


@given(NUMBERS, NUMBERS, st.decimals("0.01", 50, places=2))
def test_a_share_beyond_one_and_a_reading_out_of_tolerance_are_the_same(
    reading: Decimal, nominal: Decimal, limit: Decimal
) -> None:
    tolerance = Tolerance(nominal - limit, nominal + limit)

    share = tolerance.share(reading, nominal)

    assert share is not None and (abs(share) <= 1) == tolerance.holds(reading)


def test_each_point_is_judged_by_its_own_limits_with_the_guard_of_its_own_uncertainty() -> None:
    def point(nominal: str, reading: str, limit: str, u: str) -> probability.Point:
        at, off = Decimal(nominal), Decimal(limit)
        tolerance = Tolerance(at - off, at + off)
        return probability.Point(at, Decimal(reading), tolerance, Decimal(u), Decimal(2))

    asked = [
        point("0", "0.8", "1", "0.2"),  # 0.8 is the guarded limit itself
        point("0", "0.9", "1", "0.2"),
        point("10", "11.1", "1", "0.2"),
        point("10", "11.3", "1", "0.2"),
        point("10", "11.3", "2", "0.2"),
    ]

    judged = probability.judge_points(asked, Decimal(1))

    assert [one.point for one in judged] == asked
    assert [one.outcome for one in judged] == [
        "pass",
        "conditional-pass",
        "conditional-fail",
        "fail",
        "pass",
    ]
    assert [one.share for one in judged] == [
        Decimal(share) for share in ("0.8", "0.9", "1.1", "1.3", "0.65")
    ]
    # u = 0.1: the limit is 2, 1, −1, −3 and 7 of it away. The tails of a normal distribution.
    tails = [1 - 0.0227501, 1 - 0.1586553, 0.1586553, 0.0013499, 1]
    assert [one.probability for one in judged] == pytest.approx(tails, abs=1e-6)
    assert probability.judge_points([], Decimal(1)) == []


def test_without_a_guard_a_point_only_passes_or_fails() -> None:
    tolerance = Tolerance(Decimal(-1), Decimal(1))
    readings = [Decimal(one) for one in ("1", "1.01")]
    asked = [
        probability.Point(Decimal(0), one, tolerance, Decimal("0.4"), Decimal(2))
        for one in readings
    ]

    assert [one.outcome for one in probability.judge_points(asked, Decimal(0))] == ["pass", "fail"]


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
