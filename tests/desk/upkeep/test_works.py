"""Work from raised to signed off: what is lifted, what is met, what contradicts itself."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from equip.desk.act.act import Refused, acting
from equip.desk.register import items
from equip.desk.upkeep import certificates, duties, duty_acts, meter_acts, work_acts
from equip.facts import DutyTerms
from equip.rules.fitness.standing import Standing
from equip.rules.fitness.statement import NOTHING
from equip.rules.upkeep.work import Work
from equip.store.fold import rebuild
from equip.store.readings import duty_rows, item_rows, work_rows
from tests.support.pictures import png
from tests.support.playing import Play

TODAY = date(2026, 3, 4)


def did(play: Play, what: Any, *given: Any, who: str = "manager", **more: Any) -> Any:
    play.clock.passes(minutes=1)
    person = play.people[who]
    with acting(play.clinic, by=person, signed=person) as act:
        return what(act, *given, **more)


def the(play: Play, work: str) -> Work:
    found = work_rows.work_of(play.clinic.store, work)
    assert found is not None
    return found


def stands(play: Play, tag: str) -> Standing:
    found = item_rows.standing_of(play.clinic.store, tag)
    assert found is not None
    return found


def written_up(play: Play, work: str, done: date = TODAY, **more: Any) -> None:
    did(play, work_acts.write_up, work, done, "a worn seal", "tight", **more)


def test_work_goes_from_raised_to_service_and_meets_its_duty_with_its_certificate(
    play: Play,
) -> None:
    pump = play.add("suction-pump")
    terms = DutyTerms(certificate=True)
    did(play, duty_acts.set_duty, pump, "pressure examination", TODAY, terms=terms)

    work = did(
        play,
        work_acts.raise_work,
        pump,
        "the yearly examination",
        duty="pressure examination",
        out_of_use=True,
    )
    states = [the(play, work).state]
    did(play, work_acts.assign, work, firm="Bench and Sons")
    states.append(the(play, work).state)
    did(play, work_acts.send, work, "Bench and Sons", "wiped outside")
    states.append(the(play, work).state)
    away = stands(play, pump)
    did(play, work_acts.receive, work)
    states.append(the(play, work).state)
    paper = certificates.looked_at(play.clinic, b"%PDF-1.7\n%%EOF\n", "report.pdf")
    written_up(
        play, work, cost=Decimal("80"), paper=paper, issued=TODAY, not_after=date(2027, 5, 3)
    )
    states.append(the(play, work).state)
    kept = did(play, work_acts.sign_off, work, "service", meets=True)

    assert states == ["raised", "assigned", "sent", "back", "done"]
    assert (away.where, kept, the(play, work).state) == ("sent out", False, "closed")
    assert stands(play, pump).quarantines == ()
    assert the(play, work).downtime == timedelta(minutes=5)
    (due,) = duties.due_of(play.clinic, pump, TODAY)
    assert due.next_due == date(2027, 5, 3)
    (met,) = duty_rows.duties_met(play.clinic.store, pump)
    assert (met.work, len(met.certificate)) == (work, 64)
    assert rebuild.differences(play.clinic.store, play.clinic.settings.data) == []


def test_what_else_keeps_it_back_is_not_lifted_by_signing_off(play: Play) -> None:
    pump = play.add("suction-pump")
    work = did(play, work_acts.raise_work, pump, "it whistles", out_of_use=True)
    did(play, items.quarantine, pump, "a look-back holds it", "bag-it")
    written_up(play, work)

    assert did(play, work_acts.sign_off, work, "service") is True
    assert [kept.why.says for kept in stands(play, pump).quarantines] == ["a look-back holds it"]


def test_two_pieces_of_work_hold_a_thing_until_the_last_of_them(play: Play) -> None:
    pump = play.add("suction-pump")
    one = did(play, work_acts.raise_work, pump, "it whistles", out_of_use=True)
    two = did(play, work_acts.raise_work, pump, "it leaks", out_of_use=True)
    for work in (one, two):
        written_up(play, work)

    assert did(play, work_acts.sign_off, one, "service") is True
    assert did(play, work_acts.sign_off, two, "service") is False


def test_kept_back_it_is_in_quarantine_and_its_time_out_of_use_goes_on(play: Play) -> None:
    pump = play.add("suction-pump")
    work = did(play, work_acts.raise_work, pump, "it whistles")
    written_up(play, work)

    assert stands(play, pump).quarantines == ()
    assert did(play, work_acts.sign_off, work, "keep", "it whistles still") is True
    assert len(stands(play, pump).quarantines) == 1
    assert the(play, work).downtime is None
    did(play, items.lift, pump, "it was looked at again")
    assert stands(play, pump).quarantines == ()


def test_an_instrument_that_comes_back_is_as_from_outside(play: Play) -> None:
    hook = play.add("hook")
    work = did(play, work_acts.raise_work, hook, "a burr")
    did(play, work_acts.send, work, "Grinder", "washed by hand")
    did(play, work_acts.receive, work)

    found = stands(play, hook)

    assert (found.where, found.arrival) == ("here", "repaired")
    assert found.soiling is not None and found.soiling.how == "outside"
    assert play.scan("lay up", hook).tone == "no"


# --- the statement ------------------------------------------------------------------------------


def test_the_statement_says_what_is_recorded_and_is_plain_where_nothing_is(play: Play) -> None:
    hook, other, steriliser = (
        play.add("hook"),
        play.add("hook"),
        play.add("steriliser-vacuum"),
    )
    play.sterile_pack(steriliser, hook)
    ready, never = (did(play, work_acts.raise_work, tag, "sharpen") for tag in (hook, other))
    with pytest.raises(Refused, match="shows no effective decontamination"):
        did(play, work_acts.send, never, "Grinder")
    did(play, work_acts.send, never, "Grinder", "not decontaminated; the receiver agreed")
    did(play, work_acts.send, ready, "Grinder")

    good, bad = the(play, ready).sent, the(play, never).sent

    assert good is not None and bad is not None
    assert good.shown and any(line.startswith("Sterilise on 2026-03-04") for line in good.recorded)
    assert not bad.shown and NOTHING in bad.recorded


def test_a_used_instrument_is_not_shown_as_decontaminated_and_no_patient_is_named(
    play: Play,
) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    pack = play.sterile_pack(steriliser, hook)
    play.scan("start over", "123456", "start a use", pack, "finish")
    found = work_acts.known_of(play.clinic, stands(play, hook), play.clock.now)

    assert not found.shown
    assert any("Last used on a patient on 2026-03-04" in line for line in found.lines)
    token = str(play.clinic.vault.find("123456"))
    assert not any("123456" in line or token in line for line in found.lines)


def test_the_loads_of_a_steriliser_are_no_decontamination_of_it(play: Play) -> None:
    hook, steriliser = play.add("hook"), play.add("steriliser-vacuum")
    play.sterile_pack(steriliser, hook)

    found = work_acts.known_of(play.clinic, stands(play, steriliser), play.clock.now)

    assert not found.shown and NOTHING in found.lines


# --- what contradicts itself --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("done", "more", "says"),
    [
        (date(2026, 3, 5), {}, "has not come yet"),
        (date(2026, 3, 3), {}, "before it left"),
        (TODAY, {"issued": date(2026, 3, 3)}, "before 2026-03-04, when the work was done"),
        (TODAY, {"issued": date(2026, 3, 6)}, "has not come yet"),
        (TODAY, {"not_after": date(2026, 3, 1)}, "before it begins"),
        (TODAY, {"cost": Decimal(-1)}, "below nought"),
        (TODAY, {"hours": Decimal(90)}, "only goes up"),
    ],
)
def test_a_write_up_that_contradicts_the_days_or_the_readings_is_refused(
    play: Play, done: date, more: dict[str, Any], says: str
) -> None:
    pump = play.add("suction-pump")
    did(play, meter_acts.read_meter, pump, "hours", Decimal(100))
    work = did(play, work_acts.raise_work, pump, "it whistles")
    did(play, work_acts.send, work, "Bench", "wiped")
    did(play, work_acts.receive, work)

    with pytest.raises(Refused, match=says):
        written_up(play, work, done, **more)
    assert the(play, work).done is None


def test_the_day_is_that_of_the_clinic_also_in_the_hour_that_comes_twice(play: Play) -> None:
    pump = play.add("suction-pump")
    play.clock.now = datetime(2026, 10, 24, 23, 30, tzinfo=UTC)  # 00:30 of the 25th in London
    work = did(play, work_acts.raise_work, pump, "it whistles", out_of_use=True)
    written_up(play, work, date(2026, 10, 25))
    play.clock.now = datetime(2026, 10, 25, 1, 30, tzinfo=UTC)  # 01:30 for the second time

    did(play, work_acts.sign_off, work, "service")

    assert the(play, work).downtime == timedelta(hours=2)


@pytest.mark.parametrize(
    ("what", "says"),
    [
        (lambda play, work: did(play, work_acts.sign_off, work, "service"), "not been written up"),
        (lambda play, work: did(play, work_acts.receive, work), "not away"),
        (lambda play, work: did(play, work_acts.assign, work), "one of the two"),
        (lambda play, work: did(play, work_acts.assign, work, person="B999999999"), "goes by that"),
        (lambda play, work: did(play, work_acts.assign, "work-0", firm="x"), "no such work"),
        (lambda play, work: written_up(play, work, hours=Decimal("-1")), "below nought"),
    ],
)
def test_a_step_that_cannot_be_is_refused(play: Play, what: Any, says: str) -> None:
    work = did(play, work_acts.raise_work, play.add("suction-pump"), "it whistles")

    with pytest.raises(Refused, match=says):
        what(play, work)


def test_only_a_manager_signs_off_and_only_once(play: Play) -> None:
    work = did(play, work_acts.raise_work, play.add("suction-pump"), "it whistles")
    written_up(play, work)

    with pytest.raises(Refused, match="by a manager"):
        did(play, work_acts.sign_off, work, "service", who="nurse")
    with pytest.raises(Refused, match="for no duty"):
        did(play, work_acts.sign_off, work, "service", meets=True)
    did(play, work_acts.sign_off, work, "service")
    with pytest.raises(Refused, match="was signed off"):
        did(play, work_acts.sign_off, work, "service")


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"MZ\x90\x00", "neither PDF nor JPEG nor PNG"),
        (b"%PDF-1.7 and no more", "cut off"),
        (png()[:40], "certificate"),
        (b"%PDF-" + b"x" * 15_000_001, "is the most"),
    ],
)
def test_a_file_that_is_no_certificate_is_refused(play: Play, data: bytes, says: str) -> None:
    with pytest.raises(Refused, match=says):
        certificates.looked_at(play.clinic, data, "report.pdf")
