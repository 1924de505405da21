"""The wait from use to cleaning: its limit itself passes, whatever offset the stamps carry."""

from datetime import UTC, datetime, timedelta, timezone

from hypothesis import given
from hypothesis import strategies as st

from equip.rules.fitness.waiting import why_too_late
from equip.rules.verdict import worst

ENDED = datetime(2026, 3, 2, 10, 10, tzinfo=UTC)
LIMITS = st.integers(0, 600)
OFFSETS = st.integers(-12 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))


@given(LIMITS, OFFSETS)
def test_the_limit_passes_and_a_moment_more_fails_in_any_zone(limit: int, zone: timezone) -> None:
    last = (ENDED + timedelta(minutes=limit)).astimezone(zone)

    assert why_too_late(ENDED, last, limit) == []
    assert worst(why_too_late(ENDED, last + timedelta(microseconds=1), limit)) == "fail"


def test_a_late_start_says_how_long_and_what_to_do() -> None:
    [reason] = why_too_late(ENDED, ENDED + timedelta(minutes=70), 60)

    assert reason.says == (
        "It waited for cleaning more than the 60 min allowed (1 h 10 min). "
        "Follow its maker's instructions for delayed cleaning."
    )
