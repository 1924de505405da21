"""Calibrations at the desk: judged, meeting the duty, what they touch, what is refused."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from equip.desk.act.act import Refused
from equip.desk.lookback.cases import case_evidence
from equip.desk.lookback.cases.case_evidence import EvidenceSeen
from equip.desk.upkeep import certificates, duties, duty_acts
from equip.desk.upkeep.measuring import calibration_history, calibrations, in_force
from equip.desk.upkeep.measuring.calibrations import Given
from equip.facts import Calibrated, DutyTerms, PointMeasured
from equip.store.fold import rebuild
from tests.desk.people.test_competence import assess
from tests.desk.upkeep.test_works import did
from tests.support.playing import Play

TODAY = date(2026, 3, 4)
LAST_YEAR = date(2025, 3, 4)


def point(nominal: object, found: object = None, left: object = None, **more: Any) -> PointMeasured:
    def number(one: object) -> Decimal | None:
        return None if one is None else Decimal(str(one))

    return PointMeasured(
        nominal=Decimal(str(nominal)),
        limit=Decimal(more.pop("limit", "0.5")),
        found=number(found),
        left=number(left),
        **more,
    )


def calibrated(play: Play, tag: str, *points: PointMeasured, **more: Any) -> Calibrated:
    given: dict[str, Any] = {
        "quantity": "temperature",
        "unit": "°C",
        "decides": "simple",
        "done": TODAY,
        "firm": "Bench and Sons",
    }
    fact = did(play, calibrations.record, tag, Given(points=points, **(given | more)))
    assert isinstance(fact, Calibrated)
    return fact


def only(play: Play, tag: str) -> calibration_history.Quantity:
    (found,) = calibration_history.quantities(play.clinic, tag, TODAY)
    return found


def test_a_calibration_is_judged_kept_with_its_certificate_and_meets_its_duty(play: Play) -> None:
    audiometer = play.add("audiometer")
    did(play, duty_acts.set_duty, audiometer, "calibration", TODAY, every_months=12)
    paper = certificates.looked_at(play.clinic, b"%PDF-1.7\n%%EOF\n", "report.pdf")

    fact = calibrated(play, audiometer, point(70, 70.1), paper=paper, meets=True)

    assert (fact.found_is, fact.duty, len(fact.certificate)) == ("pass", "calibration", 64)
    assert [rule.id for rule in fact.rules] == ["conformity.simple"]
    (due,) = duties.due_of(play.clinic, audiometer, TODAY)
    assert due.next_due == date(2027, 3, 4)
    advice = only(play, audiometer).advice
    assert advice is not None
    assert (advice.advice, advice.months, advice.by) == ("extend", 18, date(2027, 9, 4))
    assert rebuild.differences(play.clinic.store, play.clinic.settings.data) == []


def test_told_again_it_replaces_the_record_keeps_the_file_and_meets_the_duty_once(
    play: Play,
) -> None:
    audiometer = play.add("audiometer")
    did(play, duty_acts.set_duty, audiometer, "calibration", TODAY, every_months=12)
    paper = certificates.looked_at(play.clinic, b"%PDF-1.7\n%%EOF\n", "report.pdf")
    slip = calibrated(play, audiometer, point(70, 70.1), paper=paper, meets=True)

    calibrated(play, audiometer, point(70, 70.3), quantity="Temperature", meets=True)

    (held,) = only(play, audiometer).told
    assert held.points[0].found == Decimal("70.3")
    assert (held.certificate, held.duty) == (slip.certificate, "calibration")
    (due,) = duties.due_of(play.clinic, audiometer, TODAY)
    assert due.next_due == date(2027, 3, 4)


def test_the_rules_are_those_of_the_day_it_was_done(play: Play) -> None:
    audiometer = play.add("audiometer")

    fact = calibrated(
        play, audiometer, point(70, 70.5, expanded_u=Decimal("0.1")), decides="guard-u"
    )

    assert fact.found_is == "conditional-pass"
    assert [(rule.id, rule.value) for rule in fact.rules] == [("conformity.guard-u", "1")]


# --- out of tolerance ---------------------------------------------------------------------------


def test_a_sterilisers_sensor_that_read_high_leads_to_its_cycles_judged_again(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    calibrated(play, steriliser, point(134, 134.1), done=LAST_YEAR)
    calibrated(play, steriliser, point(134, 134.7, 134))

    found = only(play, steriliser)

    assert found.next is not None
    assert (found.next.way, found.next.since, found.next.until) == (
        "judge-again",
        LAST_YEAR,
        TODAY,
    )
    assert found.next.offset_k == Decimal("-0.7")


def test_a_pressure_gauge_of_a_machine_leads_to_its_loads_by_hand(play: Play) -> None:
    steriliser = play.add("steriliser-vacuum")
    calibrated(play, steriliser, point(300, 305), unit="kPa")

    found = only(play, steriliser)

    assert found.next is not None
    assert (found.next.way, found.next.since) == ("machine", None)


def test_any_other_thing_leads_to_its_uses_since_it_was_last_in_tolerance(play: Play) -> None:
    audiometer = play.add("audiometer")
    calibrated(play, audiometer, point(70, 70.1), done=date(2026, 3, 3))
    play.scan("start over", "123456", "start a use", audiometer, "finish")
    calibrated(play, audiometer, point(70, 71))

    found = only(play, audiometer).next

    assert found is not None
    assert (found.way, found.since) == ("uses", date(2026, 3, 3))
    proposal = case_evidence.propose(
        play.clinic,
        EvidenceSeen("out-of-tolerance", audiometer, since=found.since, until=found.until),
        play.clock.now,
    )
    assert "1 use on 1 patient since it was last in tolerance" in proposal.says
    assert proposal.is_empty and proposal.asks


def test_in_tolerance_it_asks_for_nothing(play: Play) -> None:
    audiometer = play.add("audiometer")
    calibrated(play, audiometer, point(70, 70.5))

    assert only(play, audiometer).next is None


# --- what is refused ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("points", "more", "says"),
    [
        ([], {}, "No point was given"),
        ([point(37)], {}, "At 37 °C nothing was read"),
        ([point(37, 37, limit="0")], {}, "the limit is 0: give how far off"),
        ([point(37, 37), point("37.0", 37)], {}, "stands twice"),
        ([point(37, 37, expanded_u=Decimal(-1))], {}, "below nought"),
        ([point(37, 37, k=Decimal(0))], {}, "The coverage factor k is 0"),
        ([point(37, 37)], {"decides": "guard-u"}, "this decision rule needs one"),
        ([point(37, 37)], {"done": date(2026, 3, 5)}, "has not come yet"),
        ([point(37, 37)], {"issued": LAST_YEAR}, "look at both days"),
        ([point(37, 37)], {"issued": date(2026, 3, 5)}, "and today: look at both days"),
        ([point(37, 37)], {"not_after": LAST_YEAR}, "look at both days"),
        ([point(37, 37)], {"firm": " "}, "one of the two"),
        ([point(37, 37)], {"firm": "", "person": "B999"}, "Nobody who works here"),
        ([point(37, 37)], {"quantity": "  "}, "Say what was measured"),
        ([point(37, 37)], {"meets": True}, "has no duty “calibration”"),
        ([point(37, 38)], {"meets": True}, "went back out of tolerance"),
    ],
)
def test_what_contradicts_itself_or_is_missing_is_refused_with_a_sentence(
    play: Play, points: list[PointMeasured], more: dict[str, Any], says: str
) -> None:
    audiometer = play.add("audiometer")

    with pytest.raises(Refused, match=says):
        calibrated(play, audiometer, *points, **more)

    assert in_force.calibrations(play.clinic, audiometer) == []


def test_another_unit_for_the_same_quantity_is_refused(play: Play) -> None:
    audiometer = play.add("audiometer")
    calibrated(play, audiometer, point(37, 37), done=LAST_YEAR)

    with pytest.raises(Refused, match="stands in this book in °C, and °F was read"):
        calibrated(play, audiometer, point(98, 98), unit="°F")


def test_a_certificate_cannot_meet_the_duty_of_a_day_on_which_it_went_back_out_of_tolerance(
    play: Play,
) -> None:
    audiometer = play.add("audiometer")
    by_certificate = DutyTerms(certificate=True)
    did(play, duty_acts.set_duty, audiometer, "calibration", TODAY, terms=by_certificate)
    calibrated(play, audiometer, point(70, 72))

    with pytest.raises(Refused, match="its temperature went back out of tolerance"):
        did(
            play,
            duty_acts.meet_duty,
            audiometer,
            "calibration",
            TODAY,
            not_after=date(2027, 3, 4),
        )

    (due,) = duties.due_of(play.clinic, audiometer, TODAY)
    assert due.next_due == TODAY
    calibrated(play, audiometer, point(70, 72, 70.1))
    did(play, duty_acts.meet_duty, audiometer, "calibration", TODAY, not_after=date(2027, 3, 4))
    (due,) = duties.due_of(play.clinic, audiometer, TODAY)
    assert due.next_due == date(2027, 3, 4)


def test_a_calibration_by_somebody_who_was_not_competent_that_day_says_so(play: Play) -> None:
    logger, nurse = play.add("steriliser-plain"), play.people["nurse"]
    yesterday = TODAY - timedelta(days=1)
    assess(play, "nurse", "measure", since=LAST_YEAR, until=yesterday)

    now = calibrated(play, logger, point(134, 134.1), firm="", person=nurse)
    then = calibrated(play, logger, point(134, 134.1), firm="", person=nurse, done=yesterday)
    by_others = calibrated(play, logger, point(134, 134.1), done=LAST_YEAR)

    assert [each.code for each in now.lapses] == ["competence-lapsed"]
    assert f"valid until {yesterday}" in now.lapses[0].says
    assert then.lapses == by_others.lapses == ()
