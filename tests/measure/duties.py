"""The list of what is due against the bare statement, twelve months ahead, a calendar feed."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path
from random import Random
from typing import Any

from equip import facts
from equip.desk.act.links import Links
from equip.desk.clinic import Clinic
from equip.desk.post import calendars
from equip.desk.upkeep.due_list import due_list
from equip.desk.upkeep.duties import due
from equip.desk.upkeep.outlook import outlook
from equip.facts import DutyTerms, Fact
from equip.installation import open_installation
from equip.scan import next_tag
from equip.settings.settings import Settings
from equip.store.fold.project import project
from equip.store.ledger import ledger
from equip.store.readings.duty_rows import DUTY_SQL
from tests.measure.lines import Line, ms
from tests.measure.rounds import medians
from tests.measure.sizes import size

TODAY = date(2026, 11, 25)
_THINGS, _DUTIES = size(2_000, 20), 10
_DAYS = size(91, 7)
_BEGIN = datetime(2026, 1, 5, 9, tzinfo=UTC)
_SEED = 20_262
_PAGE_S, _YEAR_S = 0.1, 1.0


def measure(folder: Path, rounds: int) -> list[Line]:
    """Ten duties each of 2,000 things, a tenth of them by the count of uses, 118,000 in all."""
    now = datetime(2026, 11, 25, 12, tzinfo=UTC)
    with open_installation(
        Settings(data=folder / "duties", site="TIMED"), lambda: now
    ) as installation:
        clinic = installation.clinic
        uses = _fill(clinic)
        if len(due(clinic, TODAY)) != _THINGS * _DUTIES:
            raise RuntimeError("Not every duty is on the list: it would time something else.")
        read = _calendar(clinic, now)
        events = read().count(b"BEGIN:VEVENT")
        times = medians(
            {
                "page": partial(due_list, clinic, TODAY),
                "list": partial(due, clinic, TODAY),
                "expected": partial(due, clinic, TODAY, expect=True),
                "bare": partial(_bare, clinic),
                "year": partial(outlook, clinic, TODAY),
                "feed": read,
            },
            max(2, rounds // 3),
        )
    bare, page, whole = times["bare"], times["page"], times["list"]
    expected, year, feed = times["expected"], times["year"], times["feed"]
    every, things = f"{_THINGS * _DUTIES:,}", f"{_THINGS:,}"
    foretold = f"{ms(expected)}, with {things} counts foretold from {uses:,} uses"
    return [
        Line(f"a page of {every} duties, against 100 ms", page / _PAGE_S, 1, ms(page)),
        Line("the same, against the bare statement for all", page / bare, 3, ms(bare)),
        Line(f"all {every} listed, against it", whole / bare, 3, ms(whole)),
        Line("the same with the days that use lets expect", expected / bare, None, foretold),
        Line(f"twelve months for {things} things, against a second", year / _YEAR_S, 1, ms(year)),
        Line("the same, against the bare statement", year / bare, None, ms(year)),
        Line(f"a calendar of {events:,} events, against it", feed / bare, None, ms(feed)),
    ]


def _calendar(clinic: Clinic, now: datetime) -> Callable[[], bytes]:
    """The site's calendar as a program of somebody's reads it, again and again."""
    links = Links("https://book.clinic.example", b"a secret that opens nothing")
    calendars.change(clinic, "site-TIMED", is_open=True)
    address = links.calendar("site-TIMED", 1)
    signature = address.rsplit("/", 1)[1].removesuffix(".ics")

    def read() -> bytes:
        written = calendars.read(clinic, links, "site-TIMED", signature, now)
        assert written is not None
        return written

    return read


def _bare(clinic: Clinic) -> list[Any]:
    db: Any = clinic.store.db
    return list(db.connection().execute(f"{DUTY_SQL} ORDER BY d.next_due").fetchall())


def _fill(clinic: Clinic) -> int:
    """All of it in the ledger and folded; how many uses that are."""
    random, tags, tag = Random(_SEED), [], next_tag("D", 0)
    for _ in range(_THINGS):
        tags.append(tag)
        tag = next_tag("D", int(tag[1:9]))
    told: list[Fact] = []
    for item in tags:
        told.append(
            facts.ItemAdded(
                at=_BEGIN, by="", act="a", item=item, type="suction-pump", arrival="factory-new"
            )
        )
        told.extend(_duty(random, item, number) for number in range(_DUTIES))
    for back in range(_DAYS, 0, -1):
        day = datetime(2026, 11, 25, 10, tzinfo=UTC) - timedelta(days=back)
        if day.weekday() < 5:
            told += [
                facts.Used(
                    at=day + timedelta(seconds=n), by="", act="u", use="u", item=item, patient="t"
                )
                for n, item in enumerate(tags)
                if random.random() < 0.9
            ]
    store = clinic.store
    store.run("PRAGMA synchronous = OFF")
    for first in range(0, len(told), 5_000):
        with store.writing():
            entries = ledger.append(store, "TIMED", told[first : first + 5_000], told[-1].at)
            project(store, entries)
    return sum(isinstance(fact, facts.Used) for fact in told)


def _duty(random: Random, item: str, number: int) -> Fact:
    by_count = number == 0
    anchor = TODAY + timedelta(days=random.randint(-20, 400))
    return facts.DutySet(
        at=_BEGIN,
        by="",
        act="d",
        item=item,
        duty=f"duty {number}",
        anchor=anchor,
        every_months=0 if by_count else random.choice((1, 3, 6, 12)),
        grounds=number == 1,
        terms=DutyTerms(every_count=random.randint(80, 900), counts="uses") if by_count else None,
    )
