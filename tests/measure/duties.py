"""The list of what is due against the bare statement, and a forecast of twelve months."""

from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path
from random import Random
from typing import Any

from equip import facts
from equip.desk.clinic import Clinic
from equip.desk.duties import due
from equip.desk.outlook import outlook
from equip.facts import DutyTerms, Fact
from equip.house import open_house
from equip.scan import next_tag
from equip.settings import Settings
from equip.store import ledger
from equip.store.projections import project
from equip.store.readings.duties import DUTY_SQL
from tests.measure.lines import Line, ms
from tests.measure.rounds import medians

TODAY = date(2026, 11, 25)
_THINGS, _DUTIES = 2_000, 10
_DAYS = 91
_BEGIN = datetime(2026, 1, 5, 9, tzinfo=UTC)
_SEED = 20_262


def measure(folder: Path, rounds: int) -> list[Line]:
    """20,000 duties of 2,000 things, a tenth of them by the count of 118,000 uses."""
    now = datetime(2026, 11, 25, 12, tzinfo=UTC)
    with open_house(Settings(data=folder / "duties", site="TIMED"), lambda: now) as house:
        clinic = house.clinic
        _fill(clinic)
        times = medians(
            {
                "list": partial(due, clinic, TODAY),
                "expected": partial(due, clinic, TODAY, expect=True),
                "bare": partial(_bare, clinic),
                "year": partial(outlook, clinic, TODAY),
            },
            max(2, rounds // 3),
        )
    beside = f"{ms(times['list'])} against {ms(times['bare'])}; aim 100 ms"
    lines = [
        Line(
            "20,000 duties listed, against the bare statement",
            times["list"] / times["bare"],
            3,
            beside,
        )
    ]
    beside = f"{ms(times['expected'])}, with 2,000 counts foretold from 118,000 uses"
    ratio = times["expected"] / times["bare"]
    lines.append(Line("the same with the days that real use lets expect", ratio, None, beside))
    beside = f"{ms(times['year'])}; aim 1 s"
    ratio = times["year"] / times["bare"]
    lines.append(Line("their twelve months for 2,000 things", ratio, None, beside))
    return lines


def _bare(clinic: Clinic) -> list[Any]:
    db: Any = clinic.store.db
    return list(db.connection().execute(f"{DUTY_SQL} ORDER BY d.next_due").fetchall())


def _fill(clinic: Clinic) -> None:
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
