"""A calendar comes back from another reader as it went in, whatever stands in it."""

from datetime import UTC, date, datetime

import icalendar
from hypothesis import given
from hypothesis import strategies as st

from equip.deliver.post.calendar import CalendarEvent, calendar

STAMP = datetime(2026, 3, 4, 12, 0, 5, tzinfo=UTC)
TEXT = st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=200)


def event(summary: str, place: str = "", day: date = date(2026, 3, 31)) -> CalendarEvent:
    return CalendarEvent("a1b2@instrument-book", day, summary, "Two\nlines", place, 3, STAMP)


@given(TEXT, TEXT, st.dates())
def test_any_text_comes_back_and_no_line_is_too_long(summary: str, place: str, day: date) -> None:
    written = calendar("Harbour, Ear; Care", [event(summary, place, day)])

    [back] = icalendar.Calendar.from_ical(written).events
    assert str(back["SUMMARY"]) == summary
    assert str(back.get("LOCATION", "")) == place
    assert str(back["DESCRIPTION"]) == "Two\nlines"
    assert (back["DTSTART"].dt, back["DTSTAMP"].dt, back["SEQUENCE"]) == (day, STAMP, 3)
    lines = written.split(b"\r\n")
    assert lines[-1] == b"" and b"\n" not in b"".join(lines)
    assert max(map(len, lines)) <= 75
    for line in lines:
        line.decode()  # no character is cut in two


def test_a_line_break_in_a_name_adds_no_line_of_its_own() -> None:
    written = calendar("x", [event("pump\r\nEND:VCALENDAR\x00\x0b")])

    [back] = icalendar.Calendar.from_ical(written).events
    assert str(back["SUMMARY"]) == "pump\nEND:VCALENDAR  "


def test_a_calendar_with_nothing_in_it_is_still_one() -> None:
    assert icalendar.Calendar.from_ical(calendar("x", [])).events == []
