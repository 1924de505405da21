"""Times and spans as they are said at the bench, at their edges."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equip.rules.wording import day, several, span, when

LONDON = ZoneInfo("Europe/London")
SYDNEY = ZoneInfo("Australia/Sydney")


@pytest.mark.parametrize(
    ("moment", "now", "says"),
    [
        (datetime(2026, 3, 4, 10, 4), datetime(2026, 3, 4, 18, 0), "10:04"),  # noqa: DTZ001
        (datetime(2026, 3, 4, 0, 0), datetime(2026, 3, 4, 23, 59), "00:00"),  # noqa: DTZ001
        (datetime(2026, 3, 3, 23, 59), datetime(2026, 3, 4, 0, 0), "yesterday 23:59"),  # noqa: DTZ001
        (datetime(2026, 3, 2, 23, 59), datetime(2026, 3, 4, 0, 0), "Mon 2 Mar 23:59"),  # noqa: DTZ001
        (datetime(2025, 12, 31, 9, 5), datetime(2026, 1, 1, 9, 5), "yesterday 09:05"),  # noqa: DTZ001
        (datetime(2025, 12, 30, 9, 5), datetime(2026, 1, 1, 9, 5), "Tue 30 Dec 2025 09:05"),  # noqa: DTZ001
        (datetime(2024, 2, 29, 9, 5), datetime(2026, 3, 4, 9, 5), "Thu 29 Feb 2024 09:05"),  # noqa: DTZ001
        (datetime(2026, 3, 4, 18, 1), datetime(2026, 3, 4, 18, 0), "18:01"),  # noqa: DTZ001
        (datetime(2026, 3, 5, 2, 0), datetime(2026, 3, 4, 18, 0), "Thu 5 Mar 02:00"),  # noqa: DTZ001
    ],
)
def test_a_moment_is_said_as_shortly_as_now_allows(
    moment: datetime, now: datetime, says: str
) -> None:
    there = [one.replace(tzinfo=LONDON).astimezone(UTC) for one in (moment, now)]

    assert when(*there, LONDON) == says


def test_yesterday_is_the_clinics_and_not_that_of_utc() -> None:
    moment = datetime(2026, 3, 3, 12, 30, tzinfo=UTC)  # 23:30 on the 3rd in Sydney
    now = datetime(2026, 3, 3, 13, 30, tzinfo=UTC)  # 00:30 on the 4th

    assert when(moment, now, SYDNEY) == "yesterday 23:30"
    assert when(moment, now, LONDON) == "12:30"


def test_after_the_clocks_change_it_is_still_yesterday() -> None:
    moment = datetime(2026, 3, 28, 23, 30, tzinfo=LONDON)
    now = datetime(2026, 3, 29, 3, 0, tzinfo=LONDON)

    assert when(moment, now, LONDON) == "yesterday 23:30"


def test_a_date_of_this_year_goes_without_its_year() -> None:
    now = datetime(2026, 6, 1, tzinfo=LONDON)

    assert day(datetime(2026, 11, 18, tzinfo=LONDON), now) == "Wed 18 Nov"
    assert day(datetime(2025, 11, 18, tzinfo=LONDON), now) == "Tue 18 Nov 2025"
    assert day(datetime(2027, 1, 1, tzinfo=LONDON), now) == "Fri 1 Jan 2027"


@pytest.mark.parametrize(
    ("seconds", "says"),
    [
        (0, "0 s"),
        (0.4, "0 s"),
        (59, "59 s"),
        (59.6, "1 min"),
        (60, "1 min"),
        (61, "1 min 01 s"),
        (148, "2 min 28 s"),
        (3599, "59 min 59 s"),
        (3599.7, "1 h"),
        (3600, "1 h"),
        (3 * 3600 + 5 * 60, "3 h 05 min"),
        (24 * 3600 - 1, "23 h 59 min"),
        (24 * 3600, "1 day"),
        (25 * 3600, "1 day 1 h"),
        (48 * 3600, "2 days"),
        (52 * 3600, "2 days 4 h"),
        (365 * 86_400, "365 days"),
    ],
)
def test_a_span_is_said_in_the_two_units_that_matter(seconds: float, says: str) -> None:
    assert span(seconds) == says


@given(st.floats(0, 1e9))
def test_a_span_never_says_sixty_of_anything(seconds: float) -> None:
    words = span(seconds).split()

    assert not {"60", "24"} & {
        n
        for n, unit in zip(words[::2], words[1::2], strict=True)
        if (unit in ("s", "min") and n == "60") or (unit == "h" and n == "24")
    }


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], ""),
        (["a"], "a"),
        (["a", "b"], "a and b"),
        (["a", "b", "c"], "a, b and c"),
        (["a", "b", "c", "d"], "a, b, c and d"),
    ],
)
def test_a_list_is_said_as_people_say_it(words: list[str], says: str) -> None:
    assert several(words) == says


@given(st.timedeltas(timedelta(0), timedelta(days=1000)))
def test_a_moment_always_ends_with_its_time_of_day(ago: timedelta) -> None:
    now = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)

    said = when(now - ago, now, LONDON)

    assert said.endswith(f"{(now - ago).astimezone(LONDON):%H:%M}")
