"""Calibrations one after the other: judged by point, drift by point, what the newest advises."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.facts import Calibrated, PointMeasured
from equip.rules.upkeep.measuring import calibration_series
from equip.rules.upkeep.measuring.decision_rule import DecisionRule
from equip.rules.upkeep.measuring.intervals import Interval, IntervalRules

STEPS = IntervalRules(Decimal("0.8"), Decimal("0.5"), Decimal("0.5"), 3)
YEARLY = Interval(12, 3, 24)


def point(
    nominal: str, found: str | None = None, left: str | None = None, u: str | None = None
) -> PointMeasured:
    return PointMeasured(
        nominal=Decimal(nominal),
        limit=Decimal("0.5"),
        found=None if found is None else Decimal(found),
        left=None if left is None else Decimal(left),
        expanded_u=None if u is None else Decimal(u),
    )


def told(
    done: date,
    *points: PointMeasured,
    decides: DecisionRule = "simple",
    guard: str = "0",
    unit: str = "°C",
    minute: int = 0,
) -> Calibrated:
    judged = calibration_series.judge(points, unit, decides, Decimal(guard))
    return Calibrated(
        at=datetime(2026, 3, 4, 9, tzinfo=UTC) + timedelta(minutes=minute),
        by="B000000015",
        act=f"act-{done}-{minute}",
        item="D00000001B",
        quantity="temperature",
        unit=unit,
        points=judged.points,
        decides=decides,
        done=done,
        found_is=judged.found or "",
        left_is=judged.left or "",
    )


def test_each_point_is_judged_as_found_and_as_left_and_the_gravest_stands_for_all() -> None:
    one = told(
        date(2026, 3, 1),
        point("121", "121.1", u="0.2"),
        point("134", "134.6", "134.4", "0.2"),
        decides="guard-u",
        guard="1",
    )

    assert [(p.found_is, p.left_is) for p in one.points] == [
        ("pass", ""),
        ("conditional-fail", "conditional-pass"),
    ]
    assert (one.found_is, one.left_is) == ("conditional-fail", "conditional-pass")
    assert calibration_series.found_out(one) and calibration_series.goes_back_good(one.points)


def test_the_working_names_the_point_its_limits_and_the_chance_that_it_conforms() -> None:
    judged = calibration_series.judge([point("37", "37.5", u="0.2")], "°C", "simple", Decimal(0))

    (reason,) = judged.reasons
    assert reason.says.startswith("As found, at 37 °C: it conforms: 37.5 against 36.5 to 37.5")
    assert "Chance that it truly conforms: 50.0 %." in reason.says


def test_a_chance_is_never_rounded_up_to_certainty() -> None:
    judged = calibration_series.judge([point("37", "37", u="0.1")], "°C", "simple", Decimal(0))

    assert "above 99.9 %" in judged.reasons[0].says


def test_what_was_found_out_and_not_adjusted_goes_back_out_of_tolerance() -> None:
    one = told(date(2026, 3, 1), point("37", "38"), point("40", "40", "40.1"))

    assert one.left_is == "pass"
    assert not calibration_series.goes_back_good(one.points)


def test_the_share_is_that_of_the_point_furthest_out_with_its_sign() -> None:
    one = told(date(2026, 3, 1), point("37", "37.2"), point("40", "39.6"))

    assert calibration_series.as_found_share(one) == Decimal("-0.8")
    assert calibration_series.as_found_share(told(date(2026, 3, 1), point("37", left="37"))) is None


def test_told_again_for_the_same_day_the_later_record_holds() -> None:
    slip = told(date(2025, 3, 1), point("37", "73"))
    mended = told(date(2025, 3, 1), point("37", "37"), minute=5)
    newer = told(date(2026, 3, 1), point("37", "37.1"), minute=1)

    assert calibration_series.in_order([mended, newer, slip]) == [mended, newer]


def test_the_last_day_in_tolerance_is_one_on_which_it_was_found_or_left_so() -> None:
    history = [
        told(date(2023, 3, 1), point("37", "37.1")),
        told(date(2024, 3, 1), point("37", "38", "37")),
        told(date(2025, 3, 1), point("37", "38")),
        told(date(2026, 3, 1), point("37", "38.2")),
    ]

    assert calibration_series.last_in_tolerance(history, history[3]) == date(2024, 3, 1)
    assert calibration_series.last_in_tolerance(history, history[1]) == date(2023, 3, 1)
    assert calibration_series.last_in_tolerance(history, history[0]) is None


def test_the_drift_is_that_of_the_point_that_reaches_its_limit_first() -> None:
    history = [
        told(date(2026, 1, 1 + 10 * n), point("37", f"37.{n}"), point("40", "39.9"))
        for n in range(3)
    ]

    drift = calibration_series.drift(history, 3)

    assert drift is not None
    assert drift.nominal == 37
    # 0.2 of the limit in 10 days: from 0.4 on 21 January the limit is 30 days away.
    assert drift.day == date(2026, 2, 20)
    assert calibration_series.drift(history[:2], 3) is None


def test_points_are_the_same_however_many_noughts_they_were_typed_with() -> None:
    history = [
        told(date(2026, 1, day), point(nominal, found))
        for day, nominal, found in ((1, "37", "37"), (11, "37.0", "37.1"), (21, "37.00", "37.2"))
    ]

    assert calibration_series.drift(history, 3) is not None


def test_a_line_that_reaches_the_limit_sooner_shortens_what_the_newest_result_advises() -> None:
    history = [
        told(date(2026, 1, 1 + 10 * n), point("37", f"37.{n}"), point("40", "39.9"))
        for n in range(3)
    ]

    found = calibration_series.advise(history, YEARLY, STEPS)

    assert found is not None
    advised, months = found
    assert (advised.advice, advised.next_months, months) == ("extend", 18, YEARLY.floor)
    assert "about 2026-02-20, before 18 months are over" in advised.reasons[-1].says


@pytest.mark.parametrize(
    ("found", "advice", "months"),
    [("37.4", "extend", 18), ("37.41", "keep", 12), ("37.5", "keep", 12), ("37.51", "shorten", 6)],
)
def test_the_newest_as_found_result_decides(found: str, advice: str, months: int) -> None:
    got = calibration_series.advise([told(date(2026, 3, 1), point("37", found))], YEARLY, STEPS)

    assert got is not None
    assert (got[0].advice, got[1]) == (advice, months)


def test_without_an_as_found_reading_nothing_is_advised() -> None:
    one = told(date(2026, 3, 1), point("37", left="37"))

    assert calibration_series.advise([one], YEARLY, STEPS) is None
    assert calibration_series.advise([], YEARLY, STEPS) is None


@pytest.mark.parametrize(
    ("unit", "found", "offset"),
    [("°C", "134.6", "-0.6"), ("°F", "133.1", "0.5"), ("K", "134", "0"), ("kPa", "134.6", None)],
)
def test_the_correction_is_the_error_the_other_way_round_in_kelvin(
    unit: str, found: str, offset: str | None
) -> None:
    one = told(date(2026, 3, 1), point("134", found), unit=unit)

    got = calibration_series.offset_k(one)

    assert got == (None if offset is None else Decimal(offset))


ERRORS = st.decimals("-2", "2", places=2, allow_nan=False)


@given(st.lists(ERRORS, min_size=1, max_size=6))
def test_found_out_of_tolerance_and_a_share_above_one_are_the_same(errors: list[Decimal]) -> None:
    points = [point(str(n), str(n + error)) for n, error in enumerate(errors)]

    one = told(date(2026, 3, 1), *points)

    share = calibration_series.as_found_share(one)
    assert share is not None
    assert calibration_series.found_out(one) == (abs(share) > 1)


@given(st.lists(ERRORS, min_size=1, max_size=6), st.integers(1, 30))
def test_what_is_advised_stays_between_floor_and_ceiling(errors: list[Decimal], gap: int) -> None:
    history = [
        told(date(2020, 1, 1) + timedelta(days=n * gap), point("37", str(37 + error)))
        for n, error in enumerate(errors)
    ]

    found = calibration_series.advise(history, YEARLY, STEPS)

    assert found is not None
    assert YEARLY.floor <= found[1] <= YEARLY.ceiling
