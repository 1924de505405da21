"""A calendar that other programs read: all-day events as RFC 5545 spells them."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime

_MOST_OCTETS = 75
_ESCAPED = {"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"}
_SPECIAL = re.compile("[\\\\;,\x00-\x1f\x7f-\x9f\ud800-\udfff]")
"""What is escaped, and what no value may hold: control characters and halves of a pair."""


@dataclass(frozen=True, slots=True)
class CalendarEvent:
    """One day. *uid* never changes; *sequence* rises when the day does; *stamp* is when any of
    it last changed."""

    uid: str
    day: date
    summary: str
    description: str
    place: str
    sequence: int
    stamp: datetime


def calendar(name: str, events: Iterable[CalendarEvent]) -> bytes:
    """The whole calendar; the same events give the same bytes."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//The Instrument Book//Upkeep//EN",
        "CALSCALE:GREGORIAN",
        f"NAME:{_text(name)}",  # RFC 7986
        "REFRESH-INTERVAL;VALUE=DURATION:PT1H",
    ]
    for event in events:
        lines += _event(event)
    lines.append("END:VCALENDAR")
    return b"".join(_folded(line) for line in lines)


def _event(event: CalendarEvent) -> list[str]:
    lines = [
        "BEGIN:VEVENT",
        f"UID:{_text(event.uid)}",
        f"DTSTAMP:{event.stamp.astimezone(UTC):%Y%m%dT%H%M%SZ}",
        f"SEQUENCE:{event.sequence}",
        # Without an end an event of a date lasts that day (RFC 5545, 3.6.1).
        f"DTSTART;VALUE=DATE:{event.day.isoformat().replace('-', '')}",
        f"SUMMARY:{_text(event.summary)}",
        f"DESCRIPTION:{_text(event.description)}",
        "TRANSP:TRANSPARENT",
        "END:VEVENT",
    ]
    if event.place:
        lines.insert(-2, f"LOCATION:{_text(event.place)}")
    return lines


def _text(text: str) -> str:
    """Escaped; a control character, which no value may hold, becomes a space."""
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    return _SPECIAL.sub(lambda found: _ESCAPED.get(found[0], " "), plain)


def _folded(line: str) -> bytes:
    """The line in pieces of at most 75 octets, no character cut in two, as a line of its own."""
    octets = line.encode()
    if len(octets) <= _MOST_OCTETS:
        return octets + b"\r\n"
    pieces, start, room = [], 0, _MOST_OCTETS
    while len(octets) - start > room:
        end = start + room
        while octets[end] & 0xC0 == 0x80:  # within a character
            end -= 1
        pieces.append(octets[start:end])
        start, room = end, _MOST_OCTETS - 1  # the blank that goes before is one octet
    pieces.append(octets[start:])
    return b"\r\n ".join(pieces) + b"\r\n"
