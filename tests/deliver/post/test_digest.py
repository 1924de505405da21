"""The daily letter, whole, and what may never be missing from it."""

from datetime import date, timedelta
from pathlib import Path

from equip.deliver.post.digest import DueLine, HeadLine, digest

GOLDEN = Path(__file__).parents[2] / "golden" / "digest.txt"
MONDAY = date(2026, 2, 9)
HEADS = (HeadLine("HOME", 4711, "5c" * 32), HeadLine("WEST", 93, "0f" * 32))
LINES = (
    DueLine("Rigid endoscope E 0000 0203", "optics check", date(2026, 2, 23), "ok"),
    DueLine("Audiometer D 0000 0031", "calibration", MONDAY, "due", place="Room 2"),
    DueLine("Suction pump D 0000 0017", "service", date(2026, 1, 31), "overdue"),
    DueLine(
        "Steriliser D 0000 0024",
        "pressure report",
        date(2025, 12, 19),
        "overdue",
        stops=True,
        place="Clean room",
    ),
    DueLine("Irrigator D 0000 0048", "service", date(2026, 2, 24), "ok"),
    DueLine("Washer D 0000 0055", "quarterly test", date(2026, 2, 10), "ok", stops=True),
)


def test_the_letter_reads_as_it_was_agreed() -> None:
    subject, text = digest(
        MONDAY, "Invented Ear Clinic", LINES, HEADS, ("2 things run out of time within a day.",)
    )

    assert f"Subject: {subject}\n\n{text}" == GOLDEN.read_text(encoding="utf-8")


def test_a_quiet_day_has_its_letter_too_because_the_seals_leave_the_house_with_it() -> None:
    subject, text = digest(MONDAY, "Invented Ear Clinic", (), HEADS)

    assert subject == "Invented Ear Clinic, Mon 9 Feb: nothing due"
    assert "Nothing is overdue, and nothing falls due in the next 14 days." in text
    assert f"  HOME 4711 {'5c' * 32}\n  WEST 93 {'0f' * 32}\n" in text


def test_the_order_in_which_duties_are_handed_in_does_not_show() -> None:
    assert digest(MONDAY, "X", LINES, HEADS) == digest(MONDAY, "X", LINES[::-1], HEADS)


def test_what_is_due_by_its_count_is_due_today_whatever_its_day() -> None:
    line = DueLine("Suction pump D 0000 0017", "service", MONDAY + timedelta(days=90), "due")

    _, text = digest(MONDAY, "X", (line,), ())

    assert "Due today:\n- Suction pump D 0000 0017: service\n" in text


def test_nothing_is_said_of_seals_where_there_are_none() -> None:
    _, text = digest(MONDAY, "X", (), ())

    assert "eal" not in text
