"""The month, the twelve months and the plan on paper."""

import io
from collections.abc import Callable
from datetime import date
from decimal import Decimal

from flask.testing import FlaskClient
from pypdf import PdfReader

from equip.desk.act.act import acting
from equip.desk.upkeep import duty_acts
from equip.desk.upkeep.outlook import outlook
from equip.facts import DutyTerms
from tests.support.playing import Play

SignIn = Callable[[str], FlaskClient]
TODAY = date(2026, 3, 4)


def plan(play: Play) -> str:
    pump = play.add("suction-pump", name="Pump seven")
    with acting(play.clinic, by=play.people["manager"]) as act:
        terms = DutyTerms(cost=Decimal("120"))
        duty_acts.set_duty(
            act, pump, "service", date(2026, 3, 31), every_months=1, grounds=True, terms=terms
        )
        duty_acts.set_duty(
            act,
            pump,
            "filter",
            TODAY,
            terms=DutyTerms(every_count=500, counts="uses", already=3),
        )
    return pump


def test_twelve_months_add_up_and_what_has_no_day_is_said(play: Play, signed_in: SignIn) -> None:
    plan(play)

    seen = outlook(play.clinic, TODAY)
    page = signed_in("manager").get("/due/year").text

    assert [month.times for month in seen.months] == [1] * 12
    assert sum(month.cost for month in seen.months) == 12 * 120
    assert "no day foreseen yet" in page and "3 of 500 uses" in page


def test_a_month_is_a_calendar_and_a_plan_on_paper(play: Play, signed_in: SignIn) -> None:
    plan(play)
    nurse = signed_in("nurse")

    page = " ".join(nurse.get("/due/month/2026-04").text.split())
    paper = nurse.get("/due/month/2026-04.pdf")

    assert '<time datetime="2026-04-30"><span class="weekday">Thu</span> 30' in page
    assert page.count("Pump seven") == 1
    text = "".join(one.extract_text() for one in PdfReader(io.BytesIO(paper.data)).pages)
    assert "April 2026" in text and "Service of Suction pump, Pump seven" in text
    assert "Thu 30" in text and "120" in text
    assert paper.data == nurse.get("/due/month/2026-04.pdf").data


def test_months_that_are_not_foretold_are_not_there(play: Play, signed_in: SignIn) -> None:
    nurse = signed_in("nurse")

    for address in ("2026-02", "2027-03", "2026-13", "soon", "2026-02.pdf"):
        assert nurse.get(f"/due/month/{address}").status_code == 404


def test_many_duties_go_on_over_the_page_and_the_months_count_all_of_them(
    play: Play, signed_in: SignIn
) -> None:
    pump, nurse = play.add("suction-pump"), signed_in("nurse")
    with acting(play.clinic, by=play.people["manager"]) as act:
        for number in range(103):
            duty_acts.set_duty(act, pump, f"check {number:03}", date(2026, 3, 9), every_months=24)

    first, second = nurse.get("/due/year").text, nurse.get("/due/year?from=100").text

    assert "These are 1 to 100 of 103" in first and "Check 099" in first
    assert "Check 100" not in first and "from=100" in first
    assert "These are 101 to 103 of 103" in second and "Check 102" in second
    assert "Check 099" not in second and "Further ones" not in second
    assert [page.count('<td class="number">103</td>') for page in (first, second)] == [2, 2]
    assert nurse.get("/due/year?from=-1").status_code == 400


def test_duties_of_the_same_days_keep_their_own_cost_and_move_off_closed_days_each_by_itself(
    play: Play,
) -> None:
    sunday = date(2026, 3, 8)
    asked = {
        play.add("suction-pump"): DutyTerms(cost=Decimal(10)),
        play.add("suction-pump"): DutyTerms(cost=Decimal(20)),
        play.add("suction-pump"): DutyTerms(shift="after"),
        play.add("suction-pump"): DutyTerms(shift="before"),
    }
    with acting(play.clinic, by=play.people["manager"]) as act:
        for tag, terms in asked.items():
            duty_acts.set_duty(act, tag, "service", sunday, every_months=5, terms=terms)

    ahead = outlook(play.clinic, TODAY).ahead

    found = {tag: [(one.day, one.cost) for one in ahead if one.due.item == tag] for tag in asked}
    stays = [sunday, date(2026, 8, 8), date(2027, 1, 8)]  # a Sunday, a Saturday, a Friday
    after = [date(2026, 3, 9), date(2026, 8, 10), date(2027, 1, 8)]
    before = [date(2026, 3, 6), date(2026, 8, 7), date(2027, 1, 8)]
    assert list(found.values()) == [
        [(day, Decimal(10)) for day in stays],
        [(day, Decimal(20)) for day in stays],
        [(day, None) for day in after],
        [(day, None) for day in before],
    ]
