"""How long packs and scopes keep, and how long soil may wait, against guidance in print."""

from datetime import date, timedelta
from typing import Any

import pytest

from equip import rulebook
from equip.cli.check.kinds import check

NOW = date(2026, 1, 15)
MADE = date(2026, 3, 1)


def pack(book: str = "england", on: date = NOW, **told: Any) -> dict[str, Any]:
    given = {
        "made": MADE.isoformat(),
        "wrapped": True,
        "place": "store",
        "steriliser": "vacuum",
        "at": MADE.isoformat(),
        **told,
    }
    return check("pack", given, rulebook.load(book).on(on))


def after(days: int) -> str:
    return (MADE + timedelta(days=days)).isoformat()


# Source: HTM 01-05 (2013), paragraphs 2.4 k and 4.25 to 4.29, as the trade press summarises it.
# That the last day itself still passes is *common practice*: the text does not say.
@pytest.mark.parametrize(
    ("told", "last"),
    [
        ({"wrapped": True}, 365),
        ({"wrapped": True, "steriliser": "none"}, 365),
        ({"wrapped": False, "place": "clinical"}, 0),
        ({"wrapped": False, "place": "clean-room"}, 7),
        ({"wrapped": False, "place": "store"}, 7),
    ],
)
def test_england_since_2013(told: dict[str, Any], last: int) -> None:
    on_the_last = pack(**told, at=after(last))
    a_day_later = pack(**told, at=after(last + 1))

    assert on_the_last["use_by"] == after(last)
    assert (on_the_last["verdict"], a_day_later["verdict"]) == ("pass", "fail")


# Sources: HTM 01-05 (2009): 60 days, without a vacuum 21, as a professional forum quotes it;
# HTM 01-05 (2013): a year; RACGP 2023 and CDC 2008: no date, the barrier decides.
@pytest.mark.parametrize(
    ("book", "on", "steriliser", "use_by"),
    [
        ("england", date(2010, 1, 1), "vacuum", "2026-04-30"),
        ("england", date(2010, 1, 1), "none", "2026-03-22"),
        ("england", NOW, "vacuum", "2027-03-01"),
        ("australia", NOW, "vacuum", None),
        ("united-states", NOW, "none", None),
    ],
)
def test_a_pack_of_the_first_of_march_by_each_rule_in_print(
    book: str, on: date, steriliser: str, use_by: str | None
) -> None:
    assert pack(book, on, steriliser=steriliser)["use_by"] == use_by


# Source: RACGP 2023 and CDC 2008: event-related, no fixed number of days.
@pytest.mark.parametrize("book", ["australia", "united-states"])
def test_where_no_date_is_set_the_barrier_is_to_be_looked_at(book: str) -> None:
    answer = pack(book, at="2036-03-01")

    assert answer["verdict"] == "pass"
    assert [reason["code"] for reason in answer["reasons"]] == ["barrier-only"]


def scope(book: str = "england", **told: Any) -> str:
    given = {
        "optic": "flexible",
        "finished": "2026-03-02T08:00:00+00:00",
        "used": "2026-03-02T10:59:00+00:00",
        "cabinet": False,
        "processed": "disinfected",
        **told,
    }
    answer: str = check("scope", given, rulebook.load(book).on(NOW))["verdict"]
    return answer


# Source: British Society of Gastroenterology 2020, summary point 3: three hours, or a validated
# cabinet. Three hours to the second is *common practice*.
@pytest.mark.parametrize(
    ("used", "cabinet", "expected"),
    [
        ("2026-03-02T10:59:00+00:00", False, "pass"),
        ("2026-03-02T11:00:00+00:00", False, "pass"),
        ("2026-03-02T11:00:01+00:00", False, "fail"),
        ("2026-03-02T11:01:00+00:00", False, "fail"),
        ("2026-03-02T11:01:00+00:00", True, "pass"),
        ("2026-03-02T12:01:00+01:00", False, "fail"),
        ("2026-03-02T12:00:00+01:00", False, "pass"),
    ],
)
def test_a_flexible_scope_in_england(used: str, cabinet: bool, expected: str) -> None:
    assert scope(used=used, cabinet=cabinet) == expected


# Source: AUA and SUNA white paper (7 to 10 days), in the table of the AORN guideline 2022.
def test_a_flexible_scope_in_the_united_states_keeps_a_week() -> None:
    assert scope("united-states", used="2026-03-09T08:00:00+00:00") == "pass"
    assert scope("united-states", used="2026-03-09T08:01:00+00:00") == "fail"


# Source: *memory* (HTM 01-06): a soaked rigid scope is disinfected, not stored; wrapped and
# sterilised it keeps as any pack does.
def test_a_rigid_scope_soaked_is_used_at_once_and_sterilised_keeps_a_year() -> None:
    soon, late = "2026-03-02T09:00:00+00:00", "2026-03-02T09:00:01+00:00"

    assert scope(optic="rigid", used=soon) == "pass"
    assert scope(optic="rigid", used=late) == "fail"
    assert scope(optic="rigid", used=late, cabinet=True) == "fail"
    assert scope(optic="rigid", used=late, processed="sterilised-wrapped") == "pass"
    kept = {"optic": "rigid", "processed": "sterilised-wrapped"}
    assert scope(**kept, used="2027-03-02T23:59:00+00:00") == "pass"
    assert scope(**kept, used="2027-03-03T00:00:00+00:00") == "fail"


def wait(started: str, **told: Any) -> dict[str, Any]:
    ended = "2026-03-02T10:10:00+00:00"
    return check("wait", {"ended": ended, "cleaning_started": started, **told})


# Sources: HICPAC 2016 asks for both times; AAMI ST79:2010, 7.5.2, as cited in the trade press:
# 30 min; AAMI ST91: 60 min (*memory*), taken here for what was kept moist.
@pytest.mark.parametrize(
    ("started", "moist", "minutes", "verdict"),
    [
        ("2026-03-02T11:20:00+00:00", True, 70, "fail"),
        ("2026-03-02T11:10:00+00:00", True, 60, "pass"),
        ("2026-03-02T11:10:00+00:00", False, 60, "fail"),
        ("2026-03-02T10:40:00+00:00", False, 30, "pass"),
        ("2026-03-02T10:40:01+00:00", False, 30 + 1 / 60, "fail"),
        ("2026-03-02T11:40:00+01:00", False, 30, "pass"),
    ],
)
def test_the_clock_from_use_to_cleaning(
    started: str, moist: bool, minutes: float, verdict: str
) -> None:
    answer = wait(started, kept_moist=moist)

    assert answer["minutes"] == pytest.approx(minutes)
    assert answer["verdict"] == verdict
