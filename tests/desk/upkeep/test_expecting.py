"""Real use as it is counted for a pace: on which day of the clinic each use was."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from equip.desk.upkeep.pace import paces
from tests.support.playing import Play


@pytest.mark.parametrize(
    ("zone", "midnight"),
    [
        ("Europe/London", datetime(2026, 3, 3, tzinfo=UTC)),
        ("Asia/Kolkata", datetime(2026, 3, 2, 18, 30, tzinfo=UTC)),  # half an hour off
        ("Asia/Kathmandu", datetime(2026, 3, 2, 18, 15, tzinfo=UTC)),  # three quarters off
        ("America/St_Johns", datetime(2026, 3, 3, 3, 30, tzinfo=UTC)),
    ],
)
def test_a_use_right_after_midnight_is_of_the_new_day_in_any_zone(
    play: Play, zone: str, midnight: datetime
) -> None:
    pump = play.add("suction-pump")
    for minutes in (-5, 5):
        play.clock.now = midnight + timedelta(minutes=minutes)
        play.scan("start over", "123456", pump, "finish")
    play.clock.now = datetime(2026, 3, 5, 12, tzinfo=UTC)
    play.clinic.house.zone = ZoneInfo(zone)

    seen = paces(play.clinic, date(2026, 3, 5)).seen[pump, "uses"]

    assert (seen.first, seen.last) == (date(2026, 3, 2), date(2026, 3, 3))
    assert seen.weekdays == [1, 1, 0, 0, 0, 0, 0]
