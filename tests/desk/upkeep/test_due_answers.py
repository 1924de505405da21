"""A duty as the command line answers with it."""

from datetime import date

from equip.desk.act.act import acting
from equip.desk.register import items
from equip.desk.upkeep import duty_acts
from equip.desk.upkeep.due_json import answered
from equip.desk.upkeep.duties import due, may_override
from equip.facts import DutyTerms
from tests.support.playing import Play

TODAY = date(2026, 3, 4)


def test_what_is_overdue_names_what_it_stops_what_not_and_who_may_override(play: Play) -> None:
    pump, scope = play.add("suction-pump"), play.add("microscope")
    with acting(play.clinic, by=play.people["manager"]) as act:
        for tag, grounds in ((pump, True), (scope, False)):
            duty_acts.set_duty(
                act, tag, "service", date(2026, 3, 1), every_months=12, grounds=grounds
            )

    found = [answered(one, may_override(play.clinic)) for one in due(play.clinic, TODAY)]

    stops, warns = sorted(found, key=lambda one: not one["stops_use"])
    assert stops["stops"] == "It may not be used until this is done."
    assert "not put in quarantine" in stops["does_not_stop"]
    assert stops["may_override"] == "For a use, with a reason: Mo Reed."
    assert [one["code"] for one in stops["reasons"]] == ["day-passed"]
    assert (warns["stops_use"], warns["stops"]) == (False, "It may still be used.")


def test_a_duty_by_count_has_no_day_until_real_use_lets_one_expect(play: Play) -> None:
    pump = play.add("suction-pump")
    with acting(play.clinic, by=play.people["manager"]) as act:
        duty_acts.set_duty(
            act, pump, "filter", TODAY, terms=DutyTerms(every_count=100, counts="uses")
        )
        items.set_rule(act, "forecast.fewest", "5", "as the book has it", TODAY)
    (before,) = [answered(one, []) for one in due(play.clinic, TODAY, expect=True)]

    for _ in range(10):
        play.scan("start over", "123456", pump, "finish")
        play.clock.passes(days=1)
    day = play.clinic.house.today(play.clock.now)
    (after,) = [answered(one, []) for one in due(play.clinic, day, expect=True)]

    assert (before["next_due"], before["expected"]) == (None, None)
    assert [one["code"] for one in before["reasons"]] == ["count-ahead"]
    assert (after["counted"], after["every_count"], after["counts"]) == (10, 100, "uses")
    expects = after["expected"]
    assert after["next_due"] == expects["day"]
    assert expects["earliest"] < expects["day"] < expects["latest"]
    assert expects["per_day_low"] < expects["per_day"] == 1.0 < expects["per_day_high"]
    assert date.fromisoformat(expects["day"]) == date(2026, 6, 12)
