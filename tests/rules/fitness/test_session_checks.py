"""Checks ahead of a session: readings as they are typed, limits, and how long a check holds."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import get_args
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.facts import AskedCheck, SessionCheck
from equip.rules.fitness.session import (
    KINDS,
    Band,
    CheckMade,
    Mistyped,
    band_of,
    day_began,
    holds_until,
    lines,
    outside,
    read,
    why_not,
)
from equip.rules.fitness.why_not import AUTHORITY
from equip.rules.upkeep.units import convert, units_of

LONDON = ZoneInfo("Europe/London")
NINE = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)
HOURS = dict.fromkeys(KINDS, 5) | {"waterline": 24}
WARM = Band(Decimal(36), Decimal(38), "°C", "the rule book's limits")


def d(text: str) -> Decimal:
    return Decimal(text)


def asked(*checks: SessionCheck) -> tuple[AskedCheck, ...]:
    return tuple(AskedCheck(check=check) for check in checks)


def test_every_check_is_known_and_asks_a_question() -> None:
    assert list(KINDS) == list(get_args(SessionCheck))
    assert all(kind.asks.endswith(("?", ".")) and kind.name for kind in KINDS.values())


# --- reading ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("check", "typed", "value", "unit"),
    [
        ("water-temperature", "37", "37", "°C"),
        ("water-temperature", " 37,2 °c ", "37.2", "°C"),
        ("water-temperature", "98.6F", "98.6", "°F"),
        ("water-temperature", "37 Celsius", "37", "°C"),
        ("vacuum", "60", "60", "kPa"),
        ("vacuum", "-450 mmHg", "450", "mmHg"),
        ("vacuum", "−450mmhg", "450", "mmHg"),
        ("vacuum", "600 cmh2o", "600", "cmH2O"),
        ("pressure", "2", "2", "step"),
        ("pressure", "0,7 bar", "0.7", "bar"),
    ],
)
def test_a_reading_is_taken_as_it_is_typed(
    check: SessionCheck, typed: str, value: str, unit: str
) -> None:
    assert read(check, typed) == (d(value), unit)


def test_the_unit_of_the_maker_s_limits_is_the_usual_one_where_there_is_one() -> None:
    assert read("vacuum", "450", "mmHg") == (d("450"), "mmHg")
    assert read("vacuum", "60 kPa", "mmHg") == (d("60"), "kPa")


@pytest.mark.parametrize(
    ("check", "typed", "says"),
    [
        ("water-temperature", "warm", "“warm” is no reading of the water temperature"),
        ("water-temperature", "", "no reading of the water temperature"),
        ("water-temperature", "37 kPa", "“kPa” is no unit of the water temperature: one of °C, °F"),
        ("water-temperature", "371", "371 °C was read: water is between 0 and 100 °C"),
        ("water-temperature", "-1", "-1 °C was read"),
        ("water-temperature", "213 F", "213 °F was read: water is between 0 and 100 °C"),
        ("vacuum", "450", "450 kPa was read: no pump pulls harder than the air presses"),
        ("vacuum", "60 psi", "“psi” is no unit of the suction vacuum"),
        ("pressure", "-1", "step -1 was read: a pressure setting is not below nought"),
        ("pressure", "21", "step 21 was read: a dial goes to 20 at most"),
        ("pressure", "11 bar", "11 bar was read: that is more than 1000 kPa"),
        ("pressure", "1e3", "“e3” is no unit of the pressure setting"),
    ],
)
def test_a_slip_of_key_or_unit_is_a_sentence(check: SessionCheck, typed: str, says: str) -> None:
    with pytest.raises(Mistyped, match=r"[.]$") as problem:
        read(check, typed)

    assert says in str(problem.value)


def test_the_edges_of_what_can_be_read_can_be_read() -> None:
    assert read("water-temperature", "0")[0] == 0
    assert read("water-temperature", "100")[0] == 100
    assert read("vacuum", "109")[0] == 109
    assert read("pressure", "0")[0] == 0
    assert read("pressure", "20")[0] == 20
    assert read("pressure", "10 bar")[0] == 10


# --- limits -----------------------------------------------------------------------------------


@pytest.mark.parametrize("celsius", ["36", "36.0", "37", "38"])
def test_both_ends_of_the_limits_are_allowed(celsius: str) -> None:
    assert outside("water-temperature", d(celsius), "°C", WARM) == ()


def test_colder_and_warmer_say_what_was_read_and_what_is_allowed() -> None:
    (cold,) = outside("water-temperature", d("35.9"), "°C", WARM)
    (hot,) = outside("water-temperature", d("101"), "°F", WARM)

    assert cold.code == "check-low"
    assert cold.says == ("The water temperature is 35.9 °C; the rule book's limits: 36 to 38 °C.")
    assert hot.code == "check-high"
    assert "is 101 °F (38.3 °C); the rule book's limits: 36 to 38 °C." in hot.says


def test_one_end_alone_is_a_limit_too() -> None:
    least = Band(d("20"), None, "kPa", "its maker's limits")
    most = Band(None, d("20"), "kPa", "its maker's limits")

    assert outside("vacuum", d("19"), "kPa", least)[0].says.endswith("20 kPa at least.")
    assert outside("vacuum", d("21"), "kPa", least) == ()
    assert outside("vacuum", d("21"), "kPa", most)[0].says.endswith("20 kPa at most.")
    assert outside("vacuum", d("19"), "kPa", most) == ()


@given(
    st.decimals(0, 100, places=3),
    st.sampled_from(sorted(set(KINDS["vacuum"].units))),
    st.sampled_from(sorted(set(KINDS["vacuum"].units))),
)
def test_a_limit_holds_alike_in_whatever_unit_the_gauge_reads(
    value: Decimal, gauge: str, limit: str
) -> None:
    """Compared as fractions: the reading itself, converted, is always within the limit it gives."""
    same = convert(value, gauge, limit)
    above = Decimal(same.numerator) / Decimal(same.denominator) * Decimal("1.0001") + Decimal(
        "0.001"
    )

    assert outside("vacuum", value, gauge, Band(None, above, limit, "x")) == ()
    assert outside("vacuum", value, gauge, Band(above, None, limit, "x"))[0].code == "check-low"


def test_steps_of_a_dial_are_never_held_against_a_pressure() -> None:
    with pytest.raises(Mistyped, match=r"was read in steps of the dial.*are in kPa: read it as"):
        outside("pressure", d("2"), "step", Band(None, d("60"), "kPa", "its maker's limits"))
    with pytest.raises(Mistyped, match=r"was read in kPa.*are in steps of the dial"):
        outside("pressure", d("2"), "kPa", Band(None, d("6"), "step", "its maker's limits"))
    (high,) = outside("pressure", d("7"), "step", Band(None, d("6"), "step", "its maker's limits"))
    assert high.says == "The pressure setting is step 7; its maker's limits: step 6 at most."
    assert Band(d("1"), d("3"), "step", "x").says == "step 1 to 3"


def test_the_maker_s_limits_come_before_those_of_the_book() -> None:
    own = AskedCheck(check="water-temperature", low=d("35"), high=d("40"), unit="°C")

    assert band_of(own, WARM) == Band(d("35"), d("40"), "°C", "its maker's limits")
    assert band_of(AskedCheck(check="water-temperature"), WARM) == WARM
    assert band_of(AskedCheck(check="vacuum"), None) is None
    high = AskedCheck(check="vacuum", high=d("40"), unit="kPa")
    assert band_of(high, WARM) == Band(None, d("40"), "kPa", "its maker's limits")


def test_every_unit_of_a_measured_check_can_be_converted() -> None:
    pressures = set(units_of("pressure"))

    assert set(KINDS["vacuum"].units) <= pressures
    assert set(KINDS["pressure"].units) - {"step"} <= pressures
    assert set(KINDS["water-temperature"].units) <= set(units_of("temperature"))


# --- how long it holds ------------------------------------------------------------------------


def test_it_holds_so_many_hours_and_never_into_the_next_day() -> None:
    assert holds_until(NINE, 5, LONDON) == NINE + timedelta(hours=5)
    late = datetime(2026, 3, 4, 21, 0, tzinfo=UTC)
    assert holds_until(late, 5, LONDON) == datetime(2026, 3, 5, 0, 0, tzinfo=UTC)
    summer = datetime(2026, 7, 1, 22, 0, tzinfo=UTC)  # 23:00 at the site
    assert holds_until(summer, 24, LONDON) == datetime(2026, 7, 1, 23, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "hours"), [((2026, 3, 29), 23), ((2026, 10, 25), 25)], ids=["23 hours", "25 hours"]
)
def test_a_day_whose_clocks_change_ends_at_its_own_midnight(
    day: tuple[int, int, int], hours: int
) -> None:
    began = datetime(*day, tzinfo=LONDON)

    ends = holds_until(began.astimezone(UTC), 30, LONDON)

    assert ends.astimezone(UTC) - began.astimezone(UTC) == timedelta(hours=hours)


def test_at_the_moment_it_runs_out_it_is_over() -> None:
    made = [CheckMade("vacuum", NINE, True)]
    until = NINE + timedelta(hours=5)

    (before,) = lines(asked("vacuum"), made, until - timedelta(microseconds=1), HOURS, LONDON)
    (then,) = lines(asked("vacuum"), made, until, HOURS, LONDON)

    assert (before.state, before.until) == ("in force", until)
    assert (then.state, then.until) == ("over", until)
    (why,) = why_not([then], until, LONDON)
    assert why.code == "check-missing"
    assert why.says == "Its suction vacuum was checked 09:00; that held until 14:00."


def test_the_newest_up_to_the_moment_decides_whatever_was_told_when() -> None:
    made = [
        CheckMade("vacuum", NINE, True),
        CheckMade("vacuum", NINE + timedelta(hours=1), False, "It is 10 kPa."),
        CheckMade("vacuum", NINE + timedelta(hours=2), True),
    ]

    def state(hours: float) -> str:
        moment = NINE + timedelta(hours=hours)
        return lines(asked("vacuum"), made, moment, HOURS, LONDON)[0].state

    assert [state(at) for at in (-1, 0, 0.99, 1, 1.99, 2)] == [
        *("missing", "in force", "in force", "failed", "failed", "in force")
    ]


def test_a_check_of_yesterday_is_no_check_of_today() -> None:
    evening = datetime(2026, 3, 3, 23, 0, tzinfo=UTC)
    failed = [CheckMade("vacuum", evening, False, "It is 10 kPa.")]

    (line,) = lines(asked("vacuum"), failed, NINE, HOURS, LONDON)

    assert line.state == "missing"
    assert day_began(NINE, LONDON) == datetime(2026, 3, 4, 0, 0, tzinfo=UTC)


def test_what_ends_the_session_ends_what_was_checked_before_it_alone() -> None:
    made = [
        CheckMade("picture", NINE, True),
        CheckMade("light", NINE, True),
        CheckMade("", NINE + timedelta(hours=1), False),
        CheckMade("light", NINE + timedelta(hours=2), True),
    ]

    found = lines(asked("picture", "light"), made, NINE + timedelta(hours=3), HOURS, LONDON)

    assert [line.state for line in found] == ["missing", "in force"]


# --- what is said -----------------------------------------------------------------------------


def test_all_that_is_missing_is_one_sentence_and_what_failed_comes_first() -> None:
    made = [
        CheckMade("edge", NINE, False),
        CheckMade("water-temperature", NINE, False, "It is 33 °C."),
    ]
    found = lines(asked("picture", "edge", "light", "water-temperature"), made, NINE, HOURS, LONDON)

    says = [(why.code, why.says) for why in why_not(found, NINE, LONDON)]

    assert says == [
        ("check-failed", "Its edge failed its check 09:00."),
        ("check-failed", "Its water temperature failed its check 09:00. It is 33 °C."),
        ("check-missing", "Its picture and light have not been checked for this session."),
    ]
    (one,) = why_not(lines(asked("light"), [], NINE, HOURS, LONDON), NINE, LONDON, "Scope 7: its")
    assert one.says == "Scope 7: its light has not been checked for this session."


def test_nothing_asked_for_stops_nothing() -> None:
    assert (
        why_not(lines((), [CheckMade("light", NINE, False)], NINE, HOURS, LONDON), NINE, LONDON)
        == []
    )


def test_neither_is_a_fault_of_the_thing_and_only_a_missing_one_may_be_set_aside() -> None:
    assert AUTHORITY["check-missing"] == ("session", True)
    assert AUTHORITY["check-failed"] == ("session", False)
